"""Countersignatures: somebody signed off stands behind a trainee's samples of a batch. Append-only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlite_utils import Database

from . import hands, ledger, results, samples
from .connect import one, write
from .errors import AlreadyThere
from .records import insert
from .samples import Sample
from .times import to_text
from .who import TYPED, Sent, Who


class NotTheirs(ValueError):
    """Samples that this person cannot countersign: their own, another batch's, or none that a trainee has read."""


@dataclass(frozen=True)
class Countersignature:
    """Who stands behind which samples; `sent_by` to `tablet_seq` as in who.Sent."""

    id: str
    batch_id: str
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
    sample_ids: tuple[str, ...]


def waiting_samples(db: Database, batch_id: str) -> list[Sample]:
    """The samples that count into a batch's result and wait for a countersignature, in the order of storing."""
    return hands.waiting(db, results.counting(db, batch_id, samples.get_samples(db, batch_id)))


def add_countersignature(
    db: Database, sign_id: str, batch_id: str, sample_ids: Sequence[str], note: str, who: Who, now: datetime,
    sent: Sent = TYPED, made_at: str | None = None,
) -> None:  # fmt: skip
    """Store it once, and work the batch out again.

    `sent`: how it came. `made_at`: when it was made (stored UTC text); None: now. NotTheirs: see there. AlreadyThere:
    the id is taken by another one.
    """
    chosen = tuple(sorted(set(sample_ids)))
    with write(db):
        there = find_countersignature(db, sign_id)
        if there is not None:
            if (there.batch_id, there.sample_ids, there.note) != (batch_id, chosen, note):
                raise AlreadyThere(sign_id)
            return
        _require_theirs(db, batch_id, chosen, who)
        row = {
            "id": sign_id, "batch_id": batch_id, "note": note, "person_id": who.person_id, "role": who.role,
            "tablet_id": who.tablet_id, "made_at": made_at or to_text(now), "received_at": to_text(now),
        }  # fmt: skip
        insert(db, "countersignature", row | sent.columns())
        for sample_id in chosen:
            insert(db, "countersigned_sample", {"countersignature_id": sign_id, "sample_id": sample_id})
        ledger.note(db, "countersigned", "countersignature", sign_id, now, who.person_id, who.tablet_id)
        # A sample may have been moved to another batch since it was on the page.
        marks = ", ".join("?" * len(chosen))
        rows = list(db.query(f"SELECT DISTINCT batch_id FROM sample WHERE id IN ({marks})", chosen))
        for row in rows:
            results.recompute(db, row["batch_id"])


def _require_theirs(db: Database, batch_id: str, chosen: Sequence[str], who: Who) -> None:
    if not chosen or who.role == "trainee":
        raise NotTheirs(batch_id)
    for sample_id in chosen:
        row = one(db, "SELECT batch_id, person_id, role FROM sample WHERE id = ?", (sample_id,))
        if row is None or row["role"] != "trainee":
            raise NotTheirs(sample_id)
        was_here = "SELECT 1 FROM sample_move WHERE sample_id = ? AND from_batch_id = ?"
        if row["batch_id"] != batch_id and not one(db, was_here, (sample_id, batch_id)):
            raise NotTheirs(sample_id)
        if row["person_id"] == who.person_id:
            raise NotTheirs(sample_id)


def mark_older(db: Database) -> None:
    """Mark what trainees have read on a bench that is older than countersignatures, as `rebuild-results` would.

    Where anything is marked, countersigned or signed off it has been done: an interrupted upgrade is finished by the
    next.
    """
    done = ("batch_result WHERE hands_state IS NOT NULL", "countersignature", "signoff")
    if any(one(db, f"SELECT 1 FROM {rows} LIMIT 1") for rows in done):
        return
    with write(db):
        for row in list(db.query("SELECT DISTINCT batch_id FROM sample WHERE role = 'trainee'")):
            results.recompute(db, row["batch_id"])


_SIGN = (
    "SELECT c.id, c.batch_id, c.note, c.person_id, p.name AS person_name, c.role, t.name AS tablet_name, c.made_at,"
    " c.received_at, c.sent_by, x.name AS sent_by_name, c.claim_id, c.tablet_clock, c.tablet_seq"
    " FROM countersignature c JOIN person p ON p.id = c.person_id JOIN tablet t ON t.id = c.tablet_id"
    " LEFT JOIN person x ON x.id = c.sent_by"
)


def find_countersignature(db: Database, sign_id: str) -> Countersignature | None:
    """One countersignature, or None."""
    row = one(db, f"{_SIGN} WHERE c.id = ?", (sign_id,))
    return _sign(db, row) if row else None


def list_countersignatures(db: Database, batch_id: str) -> list[Countersignature]:
    """All of a batch, oldest first: those given here, and those that came with a sample which was moved here."""
    with_samples = (
        "SELECT k.countersignature_id FROM countersigned_sample k JOIN sample s ON s.id = k.sample_id"
        " WHERE s.batch_id = :batch"
    )
    rows = db.query(
        f"{_SIGN} WHERE c.batch_id = :batch OR c.id IN ({with_samples}) ORDER BY c.rowid", {"batch": batch_id}
    )
    return [_sign(db, row) for row in list(rows)]


def _sign(db: Database, row: dict) -> Countersignature:
    rows = db.query(
        "SELECT sample_id FROM countersigned_sample WHERE countersignature_id = ? ORDER BY sample_id", (row["id"],)
    )
    return Countersignature(**row, sample_ids=tuple(one["sample_id"] for one in rows))
