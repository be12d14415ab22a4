"""Correcting what was written down of a batch: only what is otherwise, with what stood before, by whom and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlite_utils import Database

from . import ledger, results, trend_states
from .connect import one, write
from .errors import AlreadyThere, NotFound, StoreError
from .records import insert
from .result_changes import Cause
from .site import get_site
from .times import from_text, local_day, to_text
from .triggers import BATCH_FACTS
from .who import Who

# What a batch's place in a product's run hangs on.
PLACE = ("product_id", "roasted_at")
# What each is called in the batch's own table; the day follows from when it was roasted.
TYPED_FACTS = tuple(fact for fact in BATCH_FACTS if fact != "day")


class NothingChanged(StoreError):
    """The batch's facts are those already."""


class ChangedMeanwhile(StoreError):
    """Somebody has corrected the batch since the form was opened."""


@dataclass(frozen=True)
class FactChange:
    """One fact before and after, as it is stored (batches.NewBatch has the units)."""

    fact: str
    before: str | int | None
    after: str | int | None


@dataclass(frozen=True)
class BatchCorrection:
    """A correction of a batch's facts; received_at is stored UTC text, facts in the order of BATCH_FACTS."""

    id: str
    batch_id: str
    reason: str
    person_name: str
    received_at: str
    facts: tuple[FactChange, ...] = ()


def add_batch_correction(
    db: Database, correction_id: str, batch_id: str, facts: Mapping[str, str | int | None], reason: str, who: Who,
    now: datetime, seen: str = "",
) -> None:  # fmt: skip
    """Put right what was written down of a batch, and work it out again.

    facts: what should stand, by TYPED_FACTS; only what is otherwise is stored. seen: the id of the batch's newest
    correction when the form was opened, "" for none. Storing the same again does nothing.
    AlreadyThere: the id is taken by another correction. NotFound: no such batch. ChangedMeanwhile: see there.
    NothingChanged: all of it stands already. ValueError: no such fact.
    """
    if set(facts) - set(TYPED_FACTS):
        raise ValueError("no such fact")
    with write(db):
        if _is_stored(db, correction_id, batch_id, facts, reason):
            return
        batch = one(db, "SELECT * FROM batch WHERE id = ?", (batch_id,))
        if batch is None:
            raise NotFound(batch_id)
        if seen != newest_id(db, batch_id):
            raise ChangedMeanwhile(batch_id)
        wanted = dict(facts)
        if "roasted_at" in wanted:
            wanted["day"] = local_day(from_text(wanted["roasted_at"]), get_site(db).time_zone)
        changed = {fact: wanted[fact] for fact in BATCH_FACTS if fact in wanted and wanted[fact] != batch[fact]}
        if not changed:
            raise NothingChanged(batch_id)
        _insert(db, correction_id, batch, changed, reason, who, now)
        results.recompute(db, batch_id, cause=Cause("batch_correction", correction_id, who, now))
        if any(fact in changed for fact in PLACE):
            _refresh_trends(db, batch_id, {batch["product_id"], changed.get("product_id", batch["product_id"])})


def _is_stored(db: Database, correction_id: str, batch_id: str, facts: Mapping, reason: str) -> bool:
    there = one(db, "SELECT batch_id, reason FROM batch_correction WHERE id = ?", (correction_id,))
    if there is None:
        return False
    stored = {change.fact: change.after for change in _facts(db, correction_id) if change.fact != "day"}
    same = all(fact in facts and facts[fact] == after for fact, after in stored.items())
    if (there["batch_id"], there["reason"]) != (batch_id, reason) or not same:
        raise AlreadyThere(correction_id)
    return True


def _insert(
    db: Database, correction_id: str, batch: dict, changed: dict, reason: str, who: Who, now: datetime
) -> None:
    moment, by = to_text(now), (now, who.person_id, who.tablet_id)
    insert(db, "batch_correction", {
        "id": correction_id, "batch_id": batch["id"], "reason": reason, "person_id": who.person_id,
        "tablet_id": who.tablet_id, "made_at": moment, "received_at": moment,
    })  # fmt: skip
    for fact, after in changed.items():
        row = {"correction_id": correction_id, "fact": fact, "before": batch[fact], "after": after}
        insert(db, "batch_correction_fact", row)
    ledger.note(db, "batch corrected", "batch_correction", correction_id, *by)
    # The names come from BATCH_FACTS.
    to = ", ".join(f"{fact} = :{fact}" for fact in changed)
    db.conn.execute(f"UPDATE batch SET {to} WHERE id = :id", {**changed, "id": batch["id"]})
    ledger.note(db, "batch follows its correction", "batch", batch["id"], *by)


def _refresh_trends(db: Database, batch_id: str, product_ids: set[str]) -> None:
    """Another product or another place in its run: all of the products that it is and was of, and of those whose
    frozen limits begin or end with it, is looked at again."""
    rows = db.query(
        "SELECT DISTINCT product_id FROM trend_baseline WHERE first_batch_id = :batch OR last_batch_id = :batch",
        {"batch": batch_id},
    )
    for product_id in sorted(product_ids | {row["product_id"] for row in rows}):
        trend_states.refresh(db, product_id, trend_states.KINDS)


def newest_id(db: Database, batch_id: str) -> str:
    """The id of a batch's newest correction, "" if it has none."""
    row = one(db, "SELECT id FROM batch_correction WHERE batch_id = ? ORDER BY rowid DESC LIMIT 1", (batch_id,))
    return row["id"] if row else ""


def list_batch_corrections(db: Database, batch_id: str) -> list[BatchCorrection]:
    """All corrections of a batch's facts, oldest first."""
    rows = db.query(
        "SELECT c.id, c.batch_id, c.reason, w.name AS person_name, c.received_at FROM batch_correction c"
        " JOIN person w ON w.id = c.person_id WHERE c.batch_id = ? ORDER BY c.rowid",
        (batch_id,),
    )
    return [BatchCorrection(**row, facts=_facts(db, row["id"])) for row in list(rows)]


def _facts(db: Database, correction_id: str) -> tuple[FactChange, ...]:
    rows = db.query("SELECT fact, before, after FROM batch_correction_fact WHERE correction_id = ?", (correction_id,))
    return tuple(sorted((FactChange(**row) for row in rows), key=lambda change: BATCH_FACTS.index(change.fact)))
