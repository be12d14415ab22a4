"""Meter checks: readings of a reference plate, as found and, after an adjustment, as left.

Readings are integer hundredths; what is worked out from them (meter_check_result) is in scale units, can be rebuilt,
and is decided on unrounded values.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from sqlite_utils import Database

from webapp import measure

from . import ledger, meter_state, results
from .connect import one, write
from .errors import AlreadyThere, NotFound
from .records import insert
from .times import to_text
from .who import TYPED, Sent, Who

STEPS = ("warm", "clean", "plate", "seat")
READING_FIELDS = ("stage", "no", "value", "typed", "void_reason", "confirmed")


@dataclass(frozen=True)
class CheckReading:
    """One reading of the plate, in hundredths. stage: "found" or "left"; the rest as new_samples.NewReading."""

    stage: str
    no: int
    value: int
    typed: str
    void_reason: str = ""
    confirmed: bool = False


@dataclass(frozen=True)
class NewCheck:
    """What the check form hands over. `plate_typed`: the number read off the plate; `steps`: (name, when) ticked."""

    id: str
    meter_id: str
    plate_id: str
    plate_typed: str
    adjusted: bool
    note: str
    made_at: str
    readings: tuple[CheckReading, ...]
    steps: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Worked:
    """What readings of a plate say, in scale units: mean deviation from the assigned value as found, the standard
    deviation of those readings (None for one), and the mean deviation as left (None: not adjusted).

    passed: within the tolerance as found. proven: within it when the check was over.
    """

    found: float
    found_sd: float | None
    left_off: float | None
    passed: bool
    proven: bool


@dataclass(frozen=True)
class Check:
    """A stored check with what it says. `assigned` and `tolerance` in hundredths, those of its plate value."""

    id: str
    meter_id: str
    plate_id: str
    plate_name: str
    plate_typed: str
    assigned: int
    tolerance: int
    adjusted: bool
    note: str
    person_id: str
    person_name: str
    role: str
    tablet_name: str
    made_at: str
    received_at: str
    sent_by: str | None
    sent_by_name: str | None
    claim_id: str | None
    tablet_clock: str | None
    tablet_seq: int | None
    found: float
    found_sd: float | None
    left_off: float | None
    passed: bool
    proven: bool
    readings: tuple[CheckReading, ...] = ()
    steps: tuple[tuple[str, str], ...] = ()


def work_out(readings: Iterable[CheckReading], adjusted: bool, assigned: int, tolerance: int) -> Worked:
    """The check's numbers. Exact, so a mean on the tolerance itself has passed. ValueError without a reading that
    counts, as found or (if adjusted) as left."""
    counted = {"found": [], "left": []}
    for reading in readings:
        if not reading.void_reason:
            counted[reading.stage].append(reading.value)
    stages = ("found", "left") if adjusted else ("found",)
    if not all(counted[stage] for stage in stages):
        raise ValueError("a check needs a reading that counts")
    off = {stage: Fraction(sum(counted[stage]), len(counted[stage])) - assigned for stage in stages}
    fine = {stage: abs(off[stage]) <= tolerance for stage in stages}
    units = [value / 100 for value in counted["found"]]
    return Worked(
        float(off["found"] / 100),
        measure.standard_deviation(units) if len(units) > 1 else None,
        float(off["left"] / 100) if adjusted else None,
        fine["found"],
        fine[stages[-1]],
    )


def add_check(db: Database, new: NewCheck, who: Who, now: datetime, sent: Sent = TYPED) -> Check:
    """Store a check once; returns it. Results of samples that it throws another light on are worked out again.

    AlreadyThere: the id is taken by other content. NotFound: the plate is not one of the meter's. ValueError: no
    reading that counts.
    """
    with write(db):
        if there := find_check(db, new.id):
            if not _same(there, new):
                raise AlreadyThere(new.id)
            return there
        plate = one(db, "SELECT assigned, tolerance FROM plate WHERE id = ? AND meter_id = ?",
                    (new.plate_id, new.meter_id))  # fmt: skip
        if plate is None:
            raise NotFound(new.plate_id)
        worked = work_out(new.readings, new.adjusted, plate["assigned"], plate["tolerance"])
        row = {name: getattr(new, name) for name in ("id", "meter_id", "plate_id", "plate_typed", "note", "made_at")}
        row |= {
            "adjusted": int(new.adjusted), "person_id": who.person_id, "role": who.role, "tablet_id": who.tablet_id,
            "received_at": to_text(now),
        }  # fmt: skip
        insert(db, "meter_check", row | sent.columns())
        for reading in new.readings:
            fields = {name: getattr(reading, name) for name in READING_FIELDS}
            fields["confirmed"] = int(reading.confirmed)
            insert(db, "meter_check_reading", {"check_id": new.id, **fields})
        for step, done_at in new.steps:
            insert(db, "meter_check_step", {"check_id": new.id, "step": step, "done_at": done_at})
        _keep(db, new.id, new.meter_id, new.made_at, plate["tolerance"], worked)
        ledger.note(db, "meter checked", "meter_check", new.id, now, who.person_id, who.tablet_id)
        for batch_id in meter_state.touched_by_check(db, new.meter_id, new.made_at, worked.passed):
            results.recompute(db, batch_id)
        return find_check(db, new.id)


def _keep(db: Database, check_id: str, meter_id: str, made_at: str, tolerance: int, worked: Worked) -> None:
    insert(db, "meter_check_result", {
        "check_id": check_id, "meter_id": meter_id, "made_at": made_at, "found": worked.found,
        "found_sd": worked.found_sd, "left_off": worked.left_off, "tolerance": tolerance / 100,
        "passed": int(worked.passed), "proven": int(worked.proven),
    })  # fmt: skip


def _same(there: Check, new: NewCheck) -> bool:
    names = ("meter_id", "plate_id", "plate_typed", "adjusted", "note")
    return (
        all(getattr(there, name) == getattr(new, name) for name in names)
        and sorted(there.readings, key=_place) == sorted(new.readings, key=_place)
        and {step for step, _at in there.steps} == {step for step, _at in new.steps}
    )


def _place(reading: CheckReading) -> tuple[str, int]:
    return reading.stage, reading.no


_CHECK = (
    "SELECT c.id, c.meter_id, c.plate_id, p.name AS plate_name, c.plate_typed, p.assigned, p.tolerance, c.adjusted,"
    " c.note, c.person_id, w.name AS person_name, c.role, t.name AS tablet_name, c.made_at, c.received_at, c.sent_by,"
    " x.name AS sent_by_name, c.claim_id, c.tablet_clock, c.tablet_seq, r.found, r.found_sd, r.left_off, r.passed,"
    " r.proven FROM meter_check c JOIN meter_check_result r ON r.check_id = c.id JOIN plate p ON p.id = c.plate_id"
    " JOIN person w ON w.id = c.person_id JOIN tablet t ON t.id = c.tablet_id LEFT JOIN person x ON x.id = c.sent_by"
)


def _checks(db: Database, where: str, values: tuple) -> Iterator[Check]:
    for row in list(db.query(f"{_CHECK} WHERE {where}", values)):
        flags = {name: bool(row[name]) for name in ("adjusted", "passed", "proven")}
        readings = db.query("SELECT * FROM meter_check_reading WHERE check_id = ? ORDER BY stage, no", (row["id"],))
        steps = db.query("SELECT step, done_at FROM meter_check_step WHERE check_id = ? ORDER BY done_at", (row["id"],))
        yield Check(
            **row | flags,
            readings=tuple(
                CheckReading(r["stage"], r["no"], r["value"], r["typed"], r["void_reason"], bool(r["confirmed"]))
                for r in readings
            ),
            steps=tuple((s["step"], s["done_at"]) for s in steps),
        )


def find_check(db: Database, check_id: str) -> Check | None:
    """One check, or None."""
    return next(_checks(db, "c.id = ?", (check_id,)), None)


def get_check(db: Database, check_id: str) -> Check:
    """One check. NotFound if there is none."""
    if (found := find_check(db, check_id)) is None:
        raise NotFound(check_id)
    return found


def list_checks(db: Database, meter_id: str, most: int = 500) -> list[Check]:
    """A meter's checks, newest first, `most` of them."""
    return list(_checks(db, "c.meter_id = ? ORDER BY c.made_at DESC, c.rowid DESC LIMIT ?", (meter_id, most)))


def rebuild(db: Database, *, store: bool = False) -> list[str]:
    """The checks whose stored numbers differ from what their readings give; mends them if `store`."""
    changed = []
    with write(db):
        for row in list(db.query("SELECT c.id, c.meter_id, c.made_at, c.adjusted, p.assigned, p.tolerance FROM"
                                 " meter_check c JOIN plate p ON p.id = c.plate_id ORDER BY c.id")):  # fmt: skip
            taken = db.query("SELECT * FROM meter_check_reading WHERE check_id = ?", (row["id"],))
            readings = [CheckReading(r["stage"], r["no"], r["value"], r["typed"], r["void_reason"]) for r in taken]
            worked = work_out(readings, bool(row["adjusted"]), row["assigned"], row["tolerance"])
            there = one(db, "SELECT * FROM meter_check_result WHERE check_id = ?", (row["id"],))
            wanted = (worked.found, worked.found_sd, worked.left_off, int(worked.passed), int(worked.proven))
            names = ("found", "found_sd", "left_off", "passed", "proven")
            if there is None or not all(map(results.same, wanted, (there[name] for name in names))):
                changed.append(f"meter check {row['id']}")
                if store:
                    db.conn.execute("DELETE FROM meter_check_result WHERE check_id = ?", (row["id"],))
                    _keep(db, row["id"], row["meter_id"], row["made_at"], row["tolerance"], worked)
    return changed
