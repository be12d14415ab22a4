"""When a meter is to be checked, in versions: the bench's own rule, set by a lead."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from sqlite_utils import Database

from . import ledger
from .connect import one, write
from .records import insert, is_there, new_id
from .times import from_text, to_text
from .who import Who

Due = Literal["never", "shift", "hours", "samples"]
CLOCK = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9]")


@dataclass(frozen=True)
class MeterRule:
    """due       by what a check is due: the start of a shift, hours since the last one, samples since, or never
    every        hours or samples; None otherwise
    shift_starts the site's clock times at which shifts begin, as "06:00 14:00"; "" unless by shift
    warm_up_s    seconds the meter warms up before a check
    """

    id: str
    meter_id: str
    no: int
    due: Due
    every: int | None
    shift_starts: str
    warm_up_s: int
    planned_readings: int
    reason: str
    made_at: str
    person_name: str | None


def add_rule(
    db: Database, meter_id: str, due: Due, every: int | None, shift_starts: str, warm_up_s: int, planned_readings: int,
    reason: str, who: Who, now: datetime, id: str | None = None,
) -> str:  # fmt: skip
    """A meter's next rule, in force from now on; returns its id. AlreadyThere: the id is taken by another rule.

    ValueError for shift starts that are no clock times in order, or an `every` that does not go with `due`.
    """
    starts = shift_starts.split()
    if due == "shift" and (not starts or starts != sorted(set(starts)) or not all(map(CLOCK.fullmatch, starts))):
        raise ValueError("shift starts are clock times in order")
    if (due in ("hours", "samples")) != (every is not None):
        raise ValueError("how many hours or samples?")
    content = {
        "meter_id": meter_id, "due": due, "every": every, "shift_starts": " ".join(starts), "warm_up_s": warm_up_s,
        "planned_readings": planned_readings, "reason": reason,
    }  # fmt: skip
    rule_id = id or new_id()
    with write(db):
        if not is_there(db, "meter_rule", rule_id, content):
            newest = one(db, "SELECT max(no) AS no FROM meter_rule WHERE meter_id = ?", (meter_id,))
            made = {"no": (newest["no"] or 0) + 1, "person_id": who.person_id, "made_at": to_text(now)}
            insert(db, "meter_rule", {"id": rule_id, **content, **made})
            ledger.note(db, "meter check rule set", "meter_rule", rule_id, now, who.person_id, who.tablet_id)
    return rule_id


_RULE = (
    "SELECT r.id, r.meter_id, r.no, r.due, r.every, r.shift_starts, r.warm_up_s, r.planned_readings, r.reason,"
    " r.made_at, p.name AS person_name FROM meter_rule r LEFT JOIN person p ON p.id = r.person_id WHERE r.meter_id = ?"
)


def rule_in_force(db: Database, meter_id: str, at: datetime | None = None) -> MeterRule | None:
    """The rule in force at a moment (None: now): the last one set by then. None: nobody has asked for checks yet."""
    when = "9999" if at is None else to_text(at)
    row = one(db, f"{_RULE} AND r.made_at <= ? ORDER BY r.no DESC LIMIT 1", (meter_id, when))
    return MeterRule(**row) if row else None


def list_rules(db: Database, meter_id: str) -> list[MeterRule]:
    """Every rule of a meter, newest first."""
    return [MeterRule(**row) for row in db.query(f"{_RULE} ORDER BY r.no DESC", (meter_id,))]


def shift_after(moment: datetime, starts: str, zone: str) -> datetime:
    """The first start of a shift after `moment`, by the site's clock. `starts`: as in MeterRule, not empty.

    On the night when the clock is put forward a start that does not exist counts an hour later.
    """
    site = ZoneInfo(zone)
    day = moment.astimezone(site).date()
    clocks = [time.fromisoformat(text) for text in starts.split()]
    coming = [datetime.combine(day + timedelta(days=more), clock, site) for more in (0, 1, 2) for clock in clocks]
    return min(found for found in (start.astimezone(moment.tzinfo) for start in coming) if found > moment)


def due_at(due: Due, every: int | None, shift_starts: str, checked_at: str, zone: str) -> datetime | None:
    """When the next check is due after one at `checked_at` (stored UTC text); None where no clock decides it.

    due, every, shift_starts: as in MeterRule.
    """
    if due == "hours":
        return from_text(checked_at) + timedelta(hours=every)
    return shift_after(from_text(checked_at), shift_starts, zone) if due == "shift" else None
