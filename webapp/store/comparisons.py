"""Comparisons: two meters, grinders, settings, method versions or people (sides a and b) on the same coffees.

Side a is what the targets were made with, side b what will be used from now on. Of two people side a is the one signed
off already, side b the trainee; all else is the same, and each side is read by its own person alone. Readings are
integer hundredths of a scale unit, as is the bound. A comparison, its samples and its outcome are facts: written once,
never changed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from sqlite_utils import Database

from . import gear, ledger, methods
from .comparison_shapes import (
    SIDES,
    Coffee,
    Comparison,
    ComparisonSample,
    NewComparison,
    NewComparisonSample,
    NewSide,
    Side,
    SideName,
    What,
)
from .connect import one, write
from .errors import AlreadyThere, NotFound
from .gear import Setting
from .readings import NewReading
from .records import insert
from .times import to_text
from .who import TYPED, Sent, Who

__all__ = [
    "SIDES", "Coffee", "Comparison", "ComparisonSample", "NewComparison", "NewComparisonSample", "NewSide", "Side",
    "SideName", "What", "add_comparison", "add_sample", "find_sample", "get_comparison", "list_comparisons",
    "list_open", "list_samples",
]  # fmt: skip


def add_comparison(db: Database, new: NewComparison, who: Who, now: datetime) -> None:
    """Store a plan once. ValueError for two sides that are the same, two people with other gear each, a meter on
    another scale, a method of another kind, or two coffees of one name; AlreadyThere if the id is taken by another
    plan; NotFound for unknown gear.

    Sent again, the same plan may come with other random codes and another order: the first ones stand.
    """
    _require_sound(db, new)
    row = {
        "name": new.name, "what": new.what, "kind": new.kind, "scale_id": new.scale_id, "a_meter_id": new.a.meter_id,
        "b_meter_id": new.b.meter_id, "a_method_version_id": new.a.method_version_id,
        "b_method_version_id": new.b.method_version_id, "a_setting_id": new.a.setting_id,
        "b_setting_id": new.b.setting_id, "fills": new.fills, "readings": new.readings, "bound": new.bound,
        "blind": int(new.blind), "a_person_id": new.a.person_id, "b_person_id": new.b.person_id,
    }  # fmt: skip
    with write(db):
        there = one(db, "SELECT * FROM comparison WHERE id = ?", (new.id,))
        if there:
            names = {coffee.name for coffee in _coffees(db, new.id)}
            if any(there[name] != value for name, value in row.items()) or names != {c.name for c in new.coffees}:
                raise AlreadyThere(new.id)
            return
        made = {"person_id": who.person_id, "tablet_id": who.tablet_id, "made_at": to_text(now)}
        insert(db, "comparison", {"id": new.id, **row, **made, "received_at": to_text(now)})
        for coffee in new.coffees:
            insert(
                db, "comparison_coffee",
                {"comparison_id": new.id, "no": coffee.no, "name": coffee.name, "code": coffee.code,
                 "first": coffee.first},
            )  # fmt: skip
        ledger.note(db, "comparison planned", "comparison", new.id, now, who.person_id, who.tablet_id)


def _require_sound(db: Database, new: NewComparison) -> None:
    if new.a == new.b:
        raise ValueError("both sides are the same")
    people = [side.person_id for side in (new.a, new.b)]
    if (new.what == "people") != all(people) or (new.what != "people" and any(people)):
        raise ValueError("people are on both sides or on none")
    if new.what == "people" and (people[0] == people[1] or replace(new.a, person_id=None) != replace(
        new.b, person_id=None
    )):  # fmt: skip
        raise ValueError("two people are compared with the same gear")
    for side in (new.a, new.b):
        if gear.get_meter(db, side.meter_id).scale.id != new.scale_id:
            raise ValueError("the meters are not on this scale")
        if methods.get_version(db, side.method_version_id).kind != new.kind:
            raise ValueError("a method of another kind")
    if not new.coffees or len({coffee.name.casefold() for coffee in new.coffees}) != len(new.coffees):
        raise ValueError("a coffee stands there twice, or there is none")


_COMPARISON = (
    "SELECT c.*, p.name AS person_name, ap.name AS a_person_name, bp.name AS b_person_name FROM comparison c"
    " JOIN person p ON p.id = c.person_id LEFT JOIN person ap ON ap.id = c.a_person_id"
    " LEFT JOIN person bp ON bp.id = c.b_person_id"
)


def get_comparison(db: Database, comparison_id: str) -> Comparison:
    """The plan. NotFound if there is none."""
    row = one(db, f"{_COMPARISON} WHERE c.id = ?", (comparison_id,))
    if row is None:
        raise NotFound(comparison_id)
    return _comparison(db, row)


def list_comparisons(db: Database, *, of_people: bool = False) -> list[Comparison]:
    """Every plan, newest first: those of two people, or all others."""
    where = "c.what = 'people'" if of_people else "c.what <> 'people'"
    rows = list(db.query(f"{_COMPARISON} WHERE {where} ORDER BY c.made_at DESC, c.rowid DESC"))
    return [_comparison(db, row) for row in rows]


def list_open(db: Database) -> list[Comparison]:
    """Every plan that has no outcome and no sign-off yet, newest first."""
    rows = db.query(
        f"{_COMPARISON} WHERE NOT EXISTS (SELECT 1 FROM comparison_outcome o WHERE o.comparison_id = c.id)"
        " AND NOT EXISTS (SELECT 1 FROM signoff s WHERE s.comparison_id = c.id)"
        " ORDER BY c.made_at DESC, c.rowid DESC"
    )
    return [_comparison(db, row) for row in list(rows)]


def _comparison(db: Database, row: dict) -> Comparison:
    a, b = (_side(db, row, name) for name in SIDES)
    return Comparison(
        row["id"], row["name"], row["what"], row["kind"], gear.get_scale(db, row["scale_id"]), a, b, row["fills"],
        row["readings"], row["bound"], bool(row["blind"]), _coffees(db, row["id"]), row["person_name"],
        row["made_at"],
    )  # fmt: skip


def _side(db: Database, row: dict, name: SideName) -> Side:
    setting = one(
        db,
        "SELECT s.id, s.name, g.name AS grinder FROM grinder_setting s JOIN grinder g ON g.id = s.grinder_id"
        " WHERE s.id = ?",
        (row[f"{name}_setting_id"],),
    )
    return Side(
        gear.get_meter(db, row[f"{name}_meter_id"]),
        methods.get_version(db, row[f"{name}_method_version_id"]),
        Setting(setting["id"], setting["name"]) if setting else None,
        setting["grinder"] if setting else None,
        row[f"{name}_person_id"],
        row[f"{name}_person_name"],
    )


def _coffees(db: Database, comparison_id: str) -> tuple[Coffee, ...]:
    rows = db.query(
        "SELECT no, name, code, first FROM comparison_coffee WHERE comparison_id = ? ORDER BY no", (comparison_id,)
    )
    return tuple(Coffee(**row) for row in rows)


# Samples ---------------------------------------------------------------------------------------------

_SAMPLE = (
    "SELECT s.id, s.comparison_id, s.coffee_no, s.side, s.note, s.person_id, p.name AS person_name, s.role, s.made_at,"
    " s.received_at, s.sent_by, s.claim_id, s.tablet_clock, s.tablet_seq"
    " FROM comparison_sample s JOIN person p ON p.id = s.person_id"
)


def add_sample(db: Database, new: NewComparisonSample, who: Who, now: datetime, sent: Sent = TYPED) -> None:
    """Store one coffee's readings on one side, once. AlreadyThere: the id is taken by other content.

    NotFound if the plan has no such coffee. `sent`: how it came.
    """
    with write(db):
        there = find_sample(db, new.id)
        if there is not None:
            if _content(there) != _content(new):
                raise AlreadyThere(new.id)
            return
        if not one(
            db, "SELECT 1 FROM comparison_coffee WHERE comparison_id = ? AND no = ?", (new.comparison_id, new.coffee_no)
        ):
            raise NotFound(new.comparison_id)
        row = {
            "id": new.id, "comparison_id": new.comparison_id, "coffee_no": new.coffee_no, "side": new.side,
            "note": new.note, "person_id": who.person_id, "role": who.role, "tablet_id": who.tablet_id,
            "made_at": new.made_at, "received_at": to_text(now),
        }  # fmt: skip
        insert(db, "comparison_sample", row | sent.columns())
        for reading in new.readings:
            insert(
                db, "comparison_reading",
                {"sample_id": new.id, "fill_no": reading.fill_no, "no": reading.no, "value": reading.value,
                 "typed": reading.typed, "void_reason": reading.void_reason, "confirmed": int(reading.confirmed)},
            )  # fmt: skip
        ledger.note(db, "compared coffee read", "comparison_sample", new.id, now, who.person_id, who.tablet_id)


def _content(sample: ComparisonSample | NewComparisonSample) -> tuple:
    """What makes two samples the same: everything but when the tablet says it was."""
    readings = sorted((r.fill_no, r.no, r.value, r.typed, r.void_reason, r.confirmed) for r in sample.readings)
    return sample.comparison_id, sample.coffee_no, sample.side, sample.note, readings


def find_sample(db: Database, sample_id: str) -> ComparisonSample | None:
    """One sample, or None."""
    return next(iter(_samples(db, "s.id = ?", (sample_id,))), None)


def list_samples(db: Database, comparison_id: str) -> list[ComparisonSample]:
    """All samples of a comparison, oldest first."""
    return _samples(db, "s.comparison_id = ?", (comparison_id,))


def _samples(db: Database, where: str, values: Sequence) -> list[ComparisonSample]:
    rows = list(db.query(f"{_SAMPLE} WHERE {where} ORDER BY s.rowid", values))
    return [ComparisonSample(**row, readings=tuple(_readings(db, row["id"]))) for row in rows]


def _readings(db: Database, sample_id: str) -> Iterable[NewReading]:
    rows = db.query(
        "SELECT fill_no, no, value, typed, void_reason, confirmed FROM comparison_reading WHERE sample_id = ?"
        " ORDER BY fill_no, no",
        (sample_id,),
    )
    return [NewReading(**row | {"confirmed": bool(row["confirmed"])}) for row in rows]
