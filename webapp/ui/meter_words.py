"""How a meter stands, in words: before a sample is read, on a result, and on the meter's own page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from flask_babel import ngettext

from webapp.store.gear import Meter
from webapp.store.meter_state import FINE, Standing
from webapp.store.times import from_text, to_text
from webapp.ui.filters import clock, day_and_clock, site_zone


@dataclass(frozen=True)
class MeterLine:
    """What the bench says about a meter. fine: it is proven, or nobody asks; text: the sentence ("" for nobody asks);
    can_check: it has a plate to be checked on."""

    meter: Meter
    fine: bool
    text: str
    can_check: bool


def meter_line(meter: Meter, stands: Standing, now: datetime) -> MeterLine:
    """See MeterLine."""
    return MeterLine(meter, stands.state in FINE, standing_text(stands, now), meter.usable_plate is not None)


def when(moment: datetime | str, now: datetime) -> str:
    """A clock time for today, else with the day."""
    at = from_text(moment) if isinstance(moment, str) else moment
    zone, text = site_zone(), moment if isinstance(moment, str) else to_text(moment)
    return clock(text) if at.astimezone(zone).date() == now.astimezone(zone).date() else day_and_clock(text)


def standing_text(stands: Standing, now: datetime) -> str:
    """A meter's standing in one or two short sentences; "" where nobody asks for checks and none was made."""
    last = stands.last
    done = last and _("Checked %(time)s by %(name)s.", time=when(last.made_at, now), name=last.person_name)
    if stands.state is None:
        return ""
    if stands.state == "missing":
        return _("Not checked yet.")
    if stands.state == "failed":
        return _("The last check failed: %(time)s, %(name)s.", time=when(last.made_at, now), name=last.person_name)
    if stands.state == "overdue":
        return f"{_('A check is due.')} {done}"
    return f"{done} {next_text(stands, now)}".strip()


def next_text(stands: Standing, now: datetime) -> str:
    """When the next check is due, or ""."""
    if stands.due_at is not None:
        return _("Next check: %(time)s.", time=when(stands.due_at, now))
    if stands.samples_left is not None:
        return ngettext(
            "Next check after %(num)d more sample.", "Next check after %(num)d more samples.", stands.samples_left
        )
    return ""


NOT_PROVEN = {
    "missing": _l("Meter not proven: it was not checked."),
    "overdue": _l("Meter not proven: its check was overdue."),
    "failed": _l("Meter not proven: its last check had failed."),
    "doubted": _l("Meter not proven: the check after this reading failed."),
}


def not_proven_text(state: str | None) -> str:
    """Why a result rests on a meter that is not proven; "" if it is."""
    return str(NOT_PROVEN.get(state, ""))
