"""Machines and grinders; and renaming, retiring and bringing back whatever has a name."""

from __future__ import annotations

from flask import abort, flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.gear.blueprint import gear
from webapp.gear.forms import NamedForm, SettingForm
from webapp.gear.grinder_views import page_content
from webapp.gear.instruments import back_to_gear, names
from webapp.store import gear as store
from webapp.store import methods
from webapp.store.errors import NotFound
from webapp.ui.access import at_least, open_to, who


def everything_named(kind: str) -> list[tuple[str, str]]:
    """(id, name) of every machine, meter, grinder or method there is."""
    db = get_db()
    match kind:
        case "machine":
            return names(store.list_machines(db, active_only=False))
        case "meter":
            return names(store.list_meters(db, active_only=False))
        case "grinder":
            return names(store.list_grinders(db, active_only=False))
        case _:
            return [(method.method_id, method.name) for method in methods.list_methods(db, active_only=False)]


def page_of(kind: str, record_id: str) -> str:
    """The address of its page."""
    return url_for(f"gear.{kind}", **{f"{kind}_id": record_id})


@gear.route("/gear/machines/new", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def new_machine():
    """A new roasting machine."""
    form = NamedForm(others=everything_named("machine"))
    if form.validate_on_submit():
        store.add_machine(get_db(), form.name.data, who(), g.now, id=form.id.data)
        flash(_("The machine %(name)s is stored.", name=form.name.data))
        return back_to_gear("machines")
    return render_template("gear/new_machine.html", form=form)


@gear.get("/gear/machines/<uuid:machine_id>")
@open_to("trainee")
def machine(machine_id):
    """A machine."""
    return render_template("gear/machine.html", machine=store.get_machine(get_db(), str(machine_id)))


@gear.route("/gear/grinders/new", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def new_grinder():
    """A new grinder; its page then asks for the first setting."""
    form = NamedForm(others=everything_named("grinder"))
    if form.validate_on_submit():
        store.add_grinder(get_db(), form.name.data, who(), g.now, id=form.id.data)
        flash(_("The grinder %(name)s is stored. Now add the setting you grind samples at.", name=form.name.data))
        return redirect(page_of("grinder", form.id.data), code=303)
    return render_template("gear/new_grinder.html", form=form)


def grinder_page(there: store.Grinder, form: SettingForm | None):
    """A grinder with its settings and, for a lead, a field for one more."""
    return render_template("gear/grinder.html", grinder=there, form=form, **page_content(there))


@gear.get("/gear/grinders/<uuid:grinder_id>")
@open_to("trainee")
def grinder(grinder_id):
    """A grinder and its settings."""
    there = store.get_grinder(get_db(), str(grinder_id))
    return grinder_page(there, SettingForm() if at_least("lead") else None)


@gear.post("/gear/grinders/<uuid:grinder_id>")
@open_to("lead", confirmed=True)
def new_setting(grinder_id):
    """One more setting."""
    there = store.get_grinder(get_db(), str(grinder_id))
    form = SettingForm(settings=names(there.settings))
    if not form.validate_on_submit():
        return grinder_page(there, form)
    store.add_grinder_setting(get_db(), there.id, form.name.data, who(), g.now, id=form.id.data)
    flash(_("The setting %(name)s is stored.", name=form.name.data))
    return redirect(page_of("grinder", there.id), code=303)


KINDS = "any(machine, meter, grinder, method)"


@gear.route(f"/gear/<{KINDS}:kind>/<uuid:record_id>/name", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def rename(kind, record_id):
    """Another name for the same thing."""
    there = dict(everything_named(kind)).get(str(record_id))
    if there is None:
        raise NotFound(record_id)
    form = NamedForm(others=[pair for pair in everything_named(kind) if pair[0] != str(record_id)], name=there)
    if form.validate_on_submit():
        store.rename(get_db(), kind, str(record_id), form.name.data, who(), g.now)
        flash(_("The name is changed."))
        return redirect(page_of(kind, str(record_id)), code=303)
    return render_template("gear/rename.html", form=form, name=there, back=page_of(kind, str(record_id)))


@gear.post(f"/gear/<{KINDS}:kind>/<uuid:record_id>/use")
@open_to("lead", confirmed=True)
def set_use(kind, record_id):
    """Retire it, or bring it back."""
    use = request.form.get("use")
    if use not in ("0", "1"):
        abort(400)
    if use == "1":
        store.bring_back(get_db(), kind, str(record_id), who(), g.now)
        flash(_("It is back in use."))
    else:
        store.retire(get_db(), kind, str(record_id), who(), g.now)
        flash(_("It is retired. What was recorded with it stays."))
    return redirect(page_of(kind, str(record_id)), code=303)
