"""Moving a sample to the batch that it was really read of: a later word, by whom and why. Both batches show it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlite_utils import Database

from . import ledger, results
from .connect import one, write
from .errors import NotFound, StoreError
from .records import insert, is_there
from .result_changes import Cause
from .times import to_text
from .who import Who


class MovedMeanwhile(StoreError):
    """The sample is not in the batch any more out of which it was to be moved."""


@dataclass(frozen=True)
class Move:
    """A move, with what its ids stand for; received_at is stored UTC text."""

    id: str
    sample_id: str
    kind: str
    from_batch_id: str
    from_code: str
    from_product: str
    to_batch_id: str
    to_code: str
    to_product: str
    reason: str
    person_name: str
    received_at: str


def add_move(
    db: Database, move_id: str, sample_id: str, from_batch_id: str, to_batch_id: str, reason: str, who: Who,
    now: datetime,
) -> None:  # fmt: skip
    """Move a sample from one batch to another, and work both out again.

    Storing the same again does nothing. What is judged, and by which target, follows the batch it is in now
    (judged_by.target_of); what stands behind its meter and whose hands it came from stays with the sample. One that
    comes to stand beside a sample in doubt is not taken for its reading again: that is for the look-back.
    AlreadyThere: the id is taken by another move. NotFound: there is no such sample or batch. MovedMeanwhile: it is in
    another batch than from_batch_id by now. ValueError: both batches are the same.
    """
    content = {
        "sample_id": sample_id, "from_batch_id": from_batch_id, "to_batch_id": to_batch_id, "reason": reason,
    }  # fmt: skip
    if from_batch_id == to_batch_id:
        raise ValueError("it is there already")
    with write(db):
        if is_there(db, "sample_move", move_id, content):
            return
        sample = one(db, "SELECT batch_id FROM sample WHERE id = ?", (sample_id,))
        if sample is None or one(db, "SELECT 1 FROM batch WHERE id = ?", (to_batch_id,)) is None:
            raise NotFound(sample_id if sample is None else to_batch_id)
        if sample["batch_id"] != from_batch_id:
            raise MovedMeanwhile(sample_id)
        moment, by = to_text(now), (now, who.person_id, who.tablet_id)
        made = {"person_id": who.person_id, "tablet_id": who.tablet_id, "made_at": moment, "received_at": moment}
        insert(db, "sample_move", {"id": move_id, **content, **made})
        ledger.note(db, "sample moved", "sample_move", move_id, *by)
        db.conn.execute("UPDATE sample SET batch_id = ? WHERE id = ?", (to_batch_id, sample_id))
        ledger.note(db, "sample follows its move", "sample", sample_id, *by)
        for batch_id in (from_batch_id, to_batch_id):
            results.recompute(db, batch_id, cause=Cause("sample_move", move_id, who, now))


def first_batch(db: Database, sample_id: str) -> str | None:
    """The batch that a sample was stored with, if it has been moved since; None if not."""
    row = one(
        db, "SELECT from_batch_id FROM sample_move WHERE sample_id = ? ORDER BY rowid LIMIT 1", (sample_id,)
    )
    return row["from_batch_id"] if row else None


_MOVE = (
    "SELECT m.id, m.sample_id, s.kind, m.from_batch_id, f.code AS from_code, fp.name AS from_product, m.to_batch_id,"
    " t.code AS to_code, tp.name AS to_product, m.reason, w.name AS person_name, m.received_at FROM sample_move m"
    " JOIN sample s ON s.id = m.sample_id JOIN person w ON w.id = m.person_id"
    " JOIN batch f ON f.id = m.from_batch_id JOIN product fp ON fp.id = f.product_id"
    " JOIN batch t ON t.id = m.to_batch_id JOIN product tp ON tp.id = t.product_id"
)
# Of every sample that ever was in the batch: one that came in by a move is in it now, or has left by another.
_OF_BATCH = (
    "m.sample_id IN (SELECT id FROM sample WHERE batch_id = :batch"
    " UNION SELECT sample_id FROM sample_move WHERE from_batch_id = :batch)"
)


def list_moves(db: Database, batch_id: str) -> dict[str, list[Move]]:
    """sample id -> all its moves, oldest first, of the samples that are or were in a batch and have been moved."""
    found: dict[str, list[Move]] = {}
    for row in db.query(f"{_MOVE} WHERE {_OF_BATCH} ORDER BY m.rowid", {"batch": batch_id}):
        found.setdefault(row["sample_id"], []).append(Move(**row))
    return found


def moved_away(db: Database, batch_id: str) -> list[str]:
    """Ids of the samples that were in a batch and are in another one now, in the order of storing."""
    rows = db.query(
        "SELECT id FROM sample WHERE batch_id <> :batch AND id IN"
        " (SELECT sample_id FROM sample_move WHERE from_batch_id = :batch) ORDER BY rowid",
        {"batch": batch_id},
    )
    return [row["id"] for row in rows]
