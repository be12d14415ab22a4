"""What a lead does for people: add, change, set a PIN, let somebody try again."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.people.blueprint import people
from webapp.people.forms import NewPersonForm, NewPinForm, PersonForm
from webapp.people.words import ROLE_WORDS, wait_words
from webapp.store import people as store
from webapp.store import pin_guard
from webapp.store.errors import AlreadyThere
from webapp.ui.access import open_to, who


def back_to_list():
    """Where every change ends."""
    return redirect(url_for("people.list_people"), code=303)


def waits() -> dict[str, str]:
    """Person id -> the wait in words, for those who have one."""
    found = pin_guard.waiting(get_db(), g.now)
    return {s.removeprefix("person:"): wait_words(left) for s, left in found.items() if s.startswith("person:")}


@people.get("/people")
@open_to("lead")
def list_people():
    """Everybody, those who work here first."""
    everybody = store.list_people(get_db(), active_only=False)
    return render_template("people/list.html", people=everybody, roles=ROLE_WORDS, waits=waits())


@people.route("/people/new", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def new_person():
    """Somebody new, who types their own first PIN."""
    form = NewPersonForm(role="trainee")
    if form.validate_on_submit():
        try:
            store.add_person(get_db(), form.name.data, form.role.data, form.pin.data, who(), g.now)
        except AlreadyThere:
            form.name.errors = [_("There is somebody of this name. Add a letter, so that the two can be told apart.")]
        else:
            flash(_("%(name)s can sign in now.", name=form.name.data))
            return back_to_list()
    return render_template("people/new_person.html", form=form)


@people.route("/people/<uuid:person_id>", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def person(person_id):
    """Name, role, and whether they work here."""
    there = store.get_person(get_db(), str(person_id))
    form = PersonForm(name=there.name, role=there.role, active=there.active)
    if form.validate_on_submit() and changed(there.id, form):
        flash(_("%(name)s is changed.", name=form.name.data))
        return back_to_list()
    return render_template("people/person.html", form=form, person=there, wait=waits().get(there.id))


def changed(person_id: str, form: PersonForm) -> bool:
    """Store the change, or say beside the field why not."""
    try:
        store.change_person(
            get_db(), person_id, form.name.data, form.role.data, form.active.data, who(), g.now
        )
    except AlreadyThere:
        form.name.errors = [_("There is somebody of this name. Add a letter, so that the two can be told apart.")]
    except store.LastLead:
        field = form.role if form.active.data else form.active
        field.errors = [_("This is the only lead left. Make somebody else a lead first.")]
    else:
        return True
    return False


@people.route("/people/<uuid:person_id>/pin", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def new_pin(person_id):
    """A new PIN for somebody who has forgotten theirs; it ends their sessions."""
    there = store.get_person(get_db(), str(person_id))
    form = NewPinForm()
    if form.validate_on_submit():
        keep = g.session.token_hash if there.id == g.session.person_id else None
        store.set_pin(get_db(), there.id, form.pin.data, who(), g.now, keep_session=keep)
        pin_guard.unlock_person(get_db(), there.id, who(), g.now)
        flash(_("%(name)s has a new PIN.", name=there.name))
        return back_to_list()
    return render_template("people/new_pin.html", form=form, person=there)


@people.post("/people/<uuid:person_id>/unlock")
@open_to("lead", confirmed=True)
def unlock(person_id):
    """End the wait after wrong PINs."""
    there = store.get_person(get_db(), str(person_id))
    pin_guard.unlock_person(get_db(), there.id, who(), g.now)
    flash(_("%(name)s can try again now.", name=there.name))
    return back_to_list()
