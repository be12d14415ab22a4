"""From a filled check form to a stored check, and how a meter stands, in words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.gear.check_forms import CheckForm
from webapp.store import checks, gear, meter_rules
from webapp.store.checks import CheckReading, NewCheck
from webapp.store.gear import Meter, Plate
from webapp.store.meter_rules import MeterRule
from webapp.store.times import claimed_time

PLANNED = 3


@dataclass(frozen=True)
class CheckPage:
    """A meter, the plate value that it is checked against, and its rule (None: nobody asks for checks)."""

    meter: Meter
    plate: Plate
    rule: MeterRule | None

    @property
    def planned(self) -> int:
        """Readings of the plate."""
        return self.rule.planned_readings if self.rule else PLANNED

    @property
    def warm_up_s(self) -> int:
        """Seconds to warm up; 0: at once."""
        return self.rule.warm_up_s if self.rule else 0


def gather(db: Database, meter: Meter, plate_id: str | None = None) -> CheckPage | None:
    """The page for a meter's check; None where it has no plate to be checked on.

    plate_id: the value that a running check began with (it finishes on its own), if it is one of the meter's.
    """
    plates = gear.list_plates(db, meter.id)
    began = next((plate for plate in plates if plate.id == plate_id), None)
    plate = began or (plates[0] if plates else None)
    return CheckPage(meter, plate, meter_rules.rule_in_force(db, meter.id)) if plate else None


def missing_steps(form: CheckForm) -> list[str]:
    """A message for each step that is not ticked."""
    names = {
        "warm": _("Warm up"), "clean": _("Clean the window"), "plate": _("Take the plate"), "seat": _("Seat the plate"),
    }  # fmt: skip
    pairs = zip(checks.STEPS, form.steps, strict=True)
    return [_("This step is not ticked: %(title)s", title=names[name]) for name, row in pairs if not row.form.done.data]


def new_check(form: CheckForm, page: CheckPage, now: datetime, made_at: str | None = None) -> NewCheck:
    """The check that a valid form makes. `made_at`: when it was made (None: as the form says)."""
    readings = tuple(
        CheckReading(stage, no, row.form.value.data, row.form.value.raw_data[0].strip(), "", bool(row.form.sure.data))
        for stage, rows in form.stages
        for no, row in enumerate(rows, 1)
        if row.form.value.data is not None
    )
    steps = tuple(
        (name, claimed_time(row.form.at.data, now))
        for name, row in zip(checks.STEPS, form.steps, strict=True)
        if row.form.done.data
    )
    return NewCheck(
        form.id.data, page.meter.id, page.plate.id, form.plate_typed.data, bool(form.adjusted.data),
        form.note.data or "", made_at or claimed_time(form.made_at.data, now), readings, steps,
    )  # fmt: skip
