"""Precision studies: their plans (from precision_plans.py), the fills that were read, and what a lead made of them.

Readings are integer hundredths of a scale unit. A fill and an outcome are facts: written once, never changed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields
from datetime import datetime
from typing import Literal

from sqlite_utils import Database

from . import ledger, methods
from .connect import one, write
from .errors import AlreadyThere, NotFound, StoreError
from .precision_plans import (
    NewPlace,
    NewStudy,
    Place,
    Study,
    add_study,
    get_study,
    list_open,
    list_studies,
)
from .readings import NewReading
from .records import insert
from .times import to_text
from .who import TYPED, Sent, Who

__all__ = [
    "AnothersPlace", "Fill", "NewFill", "NewOutcome", "NewPlace", "NewStudy", "Outcome", "OutcomeWord", "Place",
    "Study", "accepted_for", "add_fill", "add_outcome", "add_study", "counted_fills", "find_fill", "find_outcome",
    "get_study", "list_fills", "list_open", "list_studies", "values",
]  # fmt: skip

OutcomeWord = Literal["accepted", "set_aside"]


class AnothersPlace(StoreError):
    """A fill was read by somebody else than the person whose place it is."""


@dataclass(frozen=True)
class NewFill:
    """One fill as the form hands it over; every reading's fill_no is 1, since the place is the fill."""

    id: str
    study_id: str
    place_no: int
    note: str
    made_at: str
    readings: tuple[NewReading, ...]


@dataclass(frozen=True)
class Fill:
    """The same as it is stored; `sent_by` to `tablet_seq` as in who.Sent."""

    id: str
    study_id: str
    place_no: int
    note: str
    person_id: str
    person_name: str
    role: str
    made_at: str
    received_at: str
    sent_by: str | None
    claim_id: str | None
    tablet_clock: str | None
    tablet_seq: int | None
    readings: tuple[NewReading, ...]

    @property
    def counted(self) -> list[float]:
        """The readings that count, in scale units, as they were read."""
        return [reading.value / 100 for reading in self.readings if not reading.void_reason]


@dataclass(frozen=True)
class NewOutcome:
    """What a lead makes of a study. `persons`, `fills` and `readings` say what was used of it.

    The sigmas are standard deviations in scale units with their degrees of freedom: those of reading and fill are
    there exactly if it is accepted; `sigma_p` is None with one person.
    """

    id: str
    study_id: str
    outcome: OutcomeWord
    persons: int
    fills: int
    readings: int
    sigma_r: float | None
    df_r: float | None
    sigma_f: float | None
    df_f: float | None
    sigma_p: float | None
    reason: str


@dataclass(frozen=True)
class Outcome(NewOutcome):
    """The same as it is stored."""

    person_name: str
    made_at: str
    received_at: str


def add_fill(db: Database, new: NewFill, who: Who, now: datetime, sent: Sent = TYPED) -> None:
    """Store a fill once. A second fill of one place is stored, too: `counted_fills` says which one counts.

    AlreadyThere: the id is taken by other content. NotFound: the study has no such place. AnothersPlace: it is not
    the place of `who`. `sent`: how it came.
    """
    with write(db):
        there = find_fill(db, new.id)
        if there is not None:
            if _content(there) != _content(new) or there.person_id != who.person_id:
                raise AlreadyThere(new.id)
            return
        place = one(
            db, "SELECT preparer_id FROM precision_place WHERE study_id = ? AND no = ?", (new.study_id, new.place_no)
        )
        if place is None:
            raise NotFound(new.study_id)
        if place["preparer_id"] != who.person_id:
            raise AnothersPlace(new.place_no)
        row = {
            "id": new.id, "study_id": new.study_id, "place_no": new.place_no, "note": new.note,
            "person_id": who.person_id, "role": who.role, "tablet_id": who.tablet_id, "made_at": new.made_at,
            "received_at": to_text(now),
        }  # fmt: skip
        insert(db, "precision_fill", row | sent.columns())
        for reading in new.readings:
            insert(
                db, "precision_reading",
                {"fill_id": new.id, "no": reading.no, "value": reading.value, "typed": reading.typed,
                 "void_reason": reading.void_reason, "confirmed": int(reading.confirmed)},
            )  # fmt: skip
        ledger.note(db, "fill of a study read", "precision_fill", new.id, now, who.person_id, who.tablet_id)


def _content(fill: Fill | NewFill) -> tuple:
    """What makes two fills the same: everything but when the tablet says it was."""
    readings = sorted((r.no, r.value, r.typed, r.void_reason, r.confirmed) for r in fill.readings)
    return fill.study_id, fill.place_no, fill.note, readings


_FILL = (
    "SELECT f.id, f.study_id, f.place_no, f.note, f.person_id, p.name AS person_name, f.role, f.made_at, f.received_at,"
    " f.sent_by, f.claim_id, f.tablet_clock, f.tablet_seq FROM precision_fill f JOIN person p ON p.id = f.person_id"
)


def find_fill(db: Database, fill_id: str) -> Fill | None:
    """One fill, or None."""
    return next(iter(_fills(db, "f.id = ?", (fill_id,))), None)


def list_fills(db: Database, study_id: str) -> list[Fill]:
    """All fills of a study as they were stored, oldest first; also second ones and those that came too late."""
    return _fills(db, "f.study_id = ?", (study_id,))


def _fills(db: Database, where: str, values: Sequence) -> list[Fill]:
    """Fills with their readings, in two questions however many there are."""
    rows = list(db.query(f"{_FILL} WHERE {where} ORDER BY f.rowid", values))
    readings: dict[str, list[NewReading]] = {}
    for row in db.query(
        "SELECT r.fill_id, r.no, r.value, r.typed, r.void_reason, r.confirmed FROM precision_reading r"
        f" JOIN precision_fill f ON f.id = r.fill_id WHERE {where} ORDER BY r.fill_id, r.no",
        values,
    ):
        fill_id, confirmed = row.pop("fill_id"), bool(row.pop("confirmed"))
        readings.setdefault(fill_id, []).append(NewReading(1, **row, confirmed=confirmed))
    return [Fill(**row, readings=tuple(readings.get(row["id"], ()))) for row in rows]


def counted_fills(db: Database, study_id: str) -> dict[int, Fill]:
    """Place's number -> the fill that counts there: the first that was stored, and none that came after the outcome,
    since the outcome rests on what was there."""
    outcome, found = find_outcome(db, study_id), {}
    for fill in list_fills(db, study_id):
        if outcome is None or fill.received_at <= outcome.received_at:
            found.setdefault(fill.place_no, fill)
    return found


def values(db: Database, study: Study) -> dict[str, list[list[float]]]:
    """Person's id -> their fills in the order of fill_no -> the readings that count, in scale units.

    Everybody of the plan is there; a fill that is not read is empty, as is one without a reading that counts.
    """
    there, found = counted_fills(db, study.id), {}
    for place in sorted(study.places, key=lambda place: (place.preparer_id, place.fill_no)):
        fill = there.get(place.no)
        found.setdefault(place.preparer_id, []).append(fill.counted if fill else [])
    return found


def add_outcome(db: Database, new: NewOutcome, who: Who, now: datetime) -> None:
    """Store what became of a study, once. AlreadyThere: it has another outcome. NotFound: there is no such study."""
    with write(db):
        there = find_outcome(db, new.study_id)
        if there is not None:
            if any(getattr(there, field.name) != getattr(new, field.name) for field in fields(NewOutcome)):
                raise AlreadyThere(new.study_id)
            return
        if not one(db, "SELECT 1 FROM precision_study WHERE id = ?", (new.study_id,)):
            raise NotFound(new.study_id)
        made = {"person_id": who.person_id, "tablet_id": who.tablet_id, "made_at": to_text(now)}
        insert(db, "precision_outcome", {**asdict(new), **made, "received_at": to_text(now)})
        what = "precision study accepted" if new.outcome == "accepted" else "precision study set aside"
        ledger.note(db, what, "precision_outcome", new.id, now, who.person_id, who.tablet_id)


_OUTCOME = (
    "SELECT o.id, o.study_id, o.outcome, o.persons, o.fills, o.readings, o.sigma_r, o.df_r, o.sigma_f, o.df_f,"
    " o.sigma_p, o.reason, p.name AS person_name, o.made_at, o.received_at"
    " FROM precision_outcome o JOIN person p ON p.id = o.person_id"
)


def find_outcome(db: Database, study_id: str) -> Outcome | None:
    """What became of a study, or None while nothing has."""
    row = one(db, f"{_OUTCOME} WHERE o.study_id = ?", (study_id,))
    return Outcome(**row) if row else None


def accepted_for(
    db: Database, method_version_id: str, scale_id: str, until: str | None = None
) -> Outcome | None:
    """The newest accepted study that a method version on a scale goes by, or None. `until`: stored by then (UTC text).

    That is a study of this version, or of another version of the method that prepares the sample in the same way
    (methods.same_preparation): planned numbers of fills and readings change neither how far two readings of a fill
    lie apart nor how far two fills do.
    """
    rows = db.query(
        "SELECT o.study_id, s.method_version_id FROM precision_outcome o"
        " JOIN precision_study s ON s.id = o.study_id JOIN method_version v ON v.id = s.method_version_id"
        " WHERE v.method_id = (SELECT method_id FROM method_version WHERE id = ?) AND s.scale_id = ?"
        " AND o.outcome = 'accepted' AND o.received_at <= ? ORDER BY o.received_at DESC, o.rowid DESC",
        (method_version_id, scale_id, until or "9999"),
    )
    for row in list(rows):
        if row["method_version_id"] == method_version_id or methods.same_preparation(
            methods.get_version(db, row["method_version_id"]), methods.get_version(db, method_version_id)
        ):
            return find_outcome(db, row["study_id"])
    return None
