"""Checking a meter on its plate, looking at a check, and the rule that says when one is due."""

from __future__ import annotations

import uuid

from flask import flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.gear import check_service as service
from webapp.gear.blueprint import gear
from webapp.gear.check_forms import CheckForm, RuleForm, tidy_starts
from webapp.store import checks, look_backs, meter_rules, meter_state
from webapp.store import gear as store
from webapp.ui.access import open_to, who
from webapp.ui.meter_words import meter_line


@gear.route("/gear/meters/<uuid:meter_id>/check", methods=["GET", "POST"])
@open_to("trainee")
def check(meter_id):
    """Read the plate: as found, and as left if the meter was adjusted."""
    db = get_db()
    meter = store.get_meter(db, str(meter_id))
    page = service.gather(db, meter, request.form.get("plate"))
    if page is None or not page.plate.usable:
        return render_template("gear/no_plate.html", meter=meter)
    form, problems = check_form(page), []
    if request.method == "POST":
        valid, problems = form.validate(), service.missing_steps(form)
        if valid and not problems:
            made = checks.add_check(db, service.new_check(form, page, g.now), who(), g.now)
            return redirect(url_for("gear.check_result", check_id=made.id), code=303)
    line = meter_line(meter, meter_state.standing(db, meter.id, g.now), g.now)
    shown = render_template("gear/check.html", form=form, page=page, problems=problems, line=line)
    return shown, 422 if request.method == "POST" else 200


def check_form(page: service.CheckPage) -> CheckForm:
    """The form as posted, or empty."""
    form = CheckForm(id=str(uuid.uuid4()), meter=page.meter.id, plate=page.plate.id)
    form.use(page.meter.scale, page.plate, page.planned)
    return form


@gear.get("/gear/checks/<uuid:check_id>")
@open_to("trainee")
def check_result(check_id):
    """What a check says, and everything recorded about it."""
    db = get_db()
    made = checks.get_check(db, str(check_id))
    meter = store.get_meter(db, made.meter_id)
    waiting = look_backs.open_count(db, made)
    line = meter_line(meter, meter_state.standing(db, meter.id, g.now), g.now)
    return render_template("gear/check_result.html", check=made, meter=meter, waiting=waiting, line=line)


@gear.route("/gear/meters/<uuid:meter_id>/rule", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def rule(meter_id):
    """When a meter is to be checked, from now on."""
    db = get_db()
    meter = store.get_meter(db, str(meter_id))
    now = meter_rules.rule_in_force(db, meter.id)
    form = RuleForm(**(rule_values(now) if now else {"planned": service.PLANNED, "warm_up": 10}))
    if form.validate_on_submit():
        starts = " ".join(tidy_starts(form.shift_starts.data)) if form.due.data == "shift" else ""
        every = form.every.data if form.due.data in ("hours", "samples") else None
        meter_rules.add_rule(
            db, meter.id, form.due.data, every, starts, 60 * (form.warm_up.data or 0), form.planned.data,
            form.reason.data, who(), g.now, id=form.id.data,
        )  # fmt: skip
        flash(_("It is stored when %(name)s is to be checked.", name=meter.name))
        return redirect(url_for("gear.meter", meter_id=meter.id), code=303)
    return render_template("gear/rule.html", form=form, meter=meter, now=now), 422 if form.errors else 200


def rule_values(now: meter_rules.MeterRule) -> dict:
    """The form's fields from the rule in force."""
    return {
        "due": now.due, "shift_starts": now.shift_starts, "every": now.every, "warm_up": now.warm_up_s // 60,
        "planned": now.planned_readings,
    }  # fmt: skip
