"""The drift page of a meter, and what other pages show of it."""

from __future__ import annotations

from flask import render_template

from webapp.db import get_db
from webapp.gear.blueprint import gear
from webapp.gear.drift import drift as gather
from webapp.gear.off_plate import off_plate
from webapp.store import gear as store
from webapp.store.check_history import PastCheck, history
from webapp.ui.access import open_to

gear.add_app_template_filter(off_plate)


@gear.app_template_global()
def last_checks(meter_id: str) -> list[PastCheck]:
    """The last five checks of a meter, newest first."""
    return history(get_db(), meter_id, 5)[::-1]


@gear.get("/gear/meters/<uuid:meter_id>/drift")
@open_to("trainee")
def drift(meter_id):
    """Every check of a meter as a chart and as a table, and what it says."""
    return render_template("gear/drift.html", it=gather(get_db(), store.get_meter(get_db(), str(meter_id))))
