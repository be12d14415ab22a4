"""A person's own page: habits at the bench, and their PIN."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.people.blueprint import people
from webapp.people.forms import HabitsForm, OwnPinForm
from webapp.people.words import ROLE_WORDS, pin_refused
from webapp.store.people import get_person, set_habits, set_pin
from webapp.store.pin_guard import check_pin
from webapp.store.signoffs import signed_for
from webapp.ui.access import open_to, who


def to_own_page():
    """Where every change ends."""
    return redirect(url_for("people.me"), code=303)


@people.route("/me", methods=["GET", "POST"])
@open_to("trainee")
def me():
    """Automatic point and short checklist, on or off. A trainee has it to choose after a sign-off, for its kind."""
    person = get_person(get_db(), g.session.person_id)
    form = HabitsForm(auto_point=person.auto_point, short_checklist=person.short_checklist)
    signed = signed_for(get_db(), person.id, g.now) if person.role == "trainee" else ()
    if person.role == "trainee" and not signed:
        del form.short_checklist
    if form.validate_on_submit():
        short = "short_checklist" in form and form.short_checklist.data
        set_habits(get_db(), person.id, form.auto_point.data, short, who(), g.now)
        flash(_("Your choices are stored."))
        return to_own_page()
    return render_template("people/me.html", form=form, person=person, role=ROLE_WORDS[person.role], signed=signed)


@people.route("/me/pin", methods=["GET", "POST"])
@open_to("trainee")
def own_pin():
    """A new PIN, after the old one. Sessions elsewhere end."""
    form = OwnPinForm()
    if form.validate_on_submit():
        outcome = check_pin(get_db(), g.session.person_id, g.tablet.id, form.pin_now.data, g.now)
        if outcome.ok:
            keep = g.session.token_hash
            set_pin(get_db(), g.session.person_id, form.pin.data, who(), g.now, keep_session=keep)
            flash(_("Your new PIN counts from now on."))
            return to_own_page()
        form.pin_now.errors = [pin_refused(outcome, g.session.name)]
    return render_template("people/own_pin.html", form=form)
