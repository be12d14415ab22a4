"""Methods: the list, one with its steps, making and editing one."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.gear.blueprint import gear
from webapp.gear.defaults import install_default_methods
from webapp.gear.method_forms import MOST_STEPS, MethodForm, VersionForm, form_data, rearranged
from webapp.gear.method_use import spread_lines, used_by
from webapp.store import gear as gear_store
from webapp.store import methods as store
from webapp.store.connect import write
from webapp.store.errors import NotFound
from webapp.ui.access import open_to, who
from webapp.ui.record_fields import changed_meanwhile


@gear.get("/methods")
@open_to("trainee")
def methods():
    """Every method, by kind; for a bench without any, the two that come with the app."""
    db = get_db()
    return render_template(
        "gear/methods.html",
        methods=store.list_methods(db, active_only=False),
        grinders=[grinder for grinder in gear_store.list_grinders(db) if grinder.settings],
    )


@gear.post("/methods/defaults")
@open_to("lead", confirmed=True)
def install_defaults():
    """Store the two methods that come with the app, once."""
    db = get_db()
    setting = request.form.get("setting") or None
    known = {setting.id for grinder in gear_store.list_grinders(db) for setting in grinder.settings}
    with write(db):
        if not store.list_methods(db):
            install_default_methods(db, who(), g.now, setting if setting in known else None)
            flash(_("Both methods are stored. They are yours now: change them as your bench needs."))
    return redirect(url_for("gear.methods"), code=303)


def method_page(versions: list[store.MethodVersion], shown: store.MethodVersion):
    """One version of a method, with the list of all."""
    db = get_db()
    return render_template(
        "gear/method.html",
        method=shown,
        versions=versions,
        products=used_by(db, shown.method_id),
        spreads=spread_lines(db, shown),
    )


@gear.get("/methods/<uuid:method_id>")
@open_to("trainee")
def method(method_id):
    """The version in force, with every step as it will appear."""
    versions = store.list_versions(get_db(), str(method_id))
    return method_page(versions, versions[0])


@gear.get("/methods/<uuid:method_id>/versions/<int:no>")
@open_to("trainee")
def method_version(method_id, no):
    """An earlier version."""
    versions = store.list_versions(get_db(), str(method_id))
    shown = next((version for version in versions if version.no == no), None)
    if shown is None:
        raise NotFound(no)
    return method_page(versions, shown)


@gear.route("/methods/new", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def new_method():
    """A new method. The buttons of a step rearrange the form and store nothing."""
    db = get_db()
    sent = rearranged(request.form)
    others = [(there.method_id, there.name) for there in store.list_methods(db, active_only=False)]
    data = {"planned_readings": 3, "planned_fills": 1}
    form = MethodForm(sent, others=others, data=data) if sent else MethodForm(others=others, data=data)
    form.offer_settings(gear_store.list_grinders(db))
    if sent is None and form.validate_on_submit():
        args = form.version()
        store.add_method(db, form.name.data, form.kind.data, **args, who=who(), now=g.now, id=form.id.data)
        flash(_("The method %(name)s is stored.", name=form.name.data))
        return redirect(url_for("gear.method", method_id=form.id.data), code=303)
    return method_form_page(form, None, sent is not None)


@gear.route("/methods/<uuid:method_id>/edit", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def edit_method(method_id):
    """The next version of a method. The buttons of a step rearrange the form and store nothing."""
    db = get_db()
    now = store.version_in_force(db, str(method_id))
    sent = rearranged(request.form)
    form = VersionForm(sent, data=form_data(now)) if sent else VersionForm(data=form_data(now))
    form.offer_settings(gear_store.list_grinders(db))
    if now.kind == "whole":
        del form.setting
    if sent is None and form.validate_on_submit() and not changed_meanwhile(form, now):
        store.add_version(
            db, now.method_id, **form.version(), reason=form.reason.data, who=who(), now=g.now, id=form.id.data
        )
        flash(_("The new version is stored. Samples from now on are prepared by it."))
        return redirect(url_for("gear.method", method_id=now.method_id), code=303)
    return method_form_page(form, now, sent is not None)


def method_form_page(form: VersionForm, method: store.MethodVersion | None, rearranged_now: bool):
    """The form, and whether it was only rearranged just now."""
    return render_template(
        "gear/method_form.html", form=form, method=method, rearranged=rearranged_now, most_steps=MOST_STEPS
    )
