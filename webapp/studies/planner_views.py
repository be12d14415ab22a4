"""The planner: how many fills and readings, what they cost, and making them the method's next version."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.store import gear, methods
from webapp.store.connect import write
from webapp.store.errors import NotFound
from webapp.store.methods import MethodVersion
from webapp.studies import planner_page
from webapp.studies.blueprint import studies
from webapp.studies.planner_page import FIELDS, ApplyForm, CostForm
from webapp.ui.access import open_to, who
from webapp.ui.record_fields import changed_meanwhile


def planner_of(version: MethodVersion, form: ApplyForm, status: int = 200):
    """The page; without a table where a number in the address is none."""
    db = get_db()
    meters = [meter for meter in gear.list_meters(db) if meter.active]
    likely = planner_page.likely_meter(db, version, meters)
    if likely is None:
        return render_template("studies/planner_empty.html", version=version)
    costs = CostForm.asked(request.args, meters, likely, version)
    planned = planner_page.gather(db, version, costs, g.now) if costs.validate() else None
    kept = {name: request.args[name] for name in FIELDS if name in request.args}
    page = render_template("studies/planner.html", version=version, costs=costs, form=form, it=planned, kept=kept)
    return page, status if planned else 422


def in_force(method_id) -> MethodVersion:
    """The version that a plan is made for."""
    found = methods.version_in_force(get_db(), str(method_id))
    if found is None:
        raise NotFound(method_id)
    return found


@studies.get("/studies/planner/<uuid:method_id>")
@open_to("lead")
def planner(method_id):
    """Give or take and minutes of every plan."""
    version = in_force(method_id)
    return planner_of(version, ApplyForm(formdata=None, data={"base": version.id}))


@studies.post("/studies/planner/<uuid:method_id>")
@open_to("lead", confirmed=True)
def apply_plan(method_id):
    """Make a plan the method's next version, with the same preparation."""
    db, form = get_db(), ApplyForm()
    # In one transaction: the version that is copied is the one in force.
    with write(db):
        version = in_force(method_id)
        sent_again = form.validate() and version.id == form.id.data
        if not sent_again:
            if form.errors or changed_meanwhile(form, version) or form.same_as(version):
                return planner_of(version, form, 422)
            fills, readings = form.chosen()
            methods.add_version(
                db, version.method_id, version.dish, readings, fills, version.grinder_setting_id, version.steps,
                form.reason.data, who(), g.now, form.id.data,
            )  # fmt: skip
            flash(_("The new version is stored. Samples from now on are prepared by it."))
    return redirect(url_for("gear.method", method_id=method_id), code=303)
