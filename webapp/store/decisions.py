"""Decisions: what becomes of a batch. Append-only; the newest stands, the earlier ones stay visible."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlite_utils import Database

from . import ledger, results
from .connect import one, write
from .errors import AlreadyThere
from .times import to_text
from .who import Who


@dataclass(frozen=True)
class Decision:
    """What, why, by whom, and the verdict that stood at that moment."""

    id: str
    batch_id: str
    what: str
    reason: str
    verdict: str
    person_id: str
    person_name: str
    tablet_name: str
    made_at: str
    received_at: str


def add_decision(
    db: Database, decision_id: str, batch_id: str, what: str, reason: str, who: Who, now: datetime
) -> None:
    """Store a decision once, with the verdict as it stands. AlreadyThere: the id is taken by another one."""
    with write(db):
        there = one(db, "SELECT batch_id, what, reason FROM decision WHERE id = ?", (decision_id,))
        if there:
            if there != {"batch_id": batch_id, "what": what, "reason": reason}:
                raise AlreadyThere(decision_id)
            return
        result = results.get_batch_result(db, batch_id)
        moment = to_text(now)
        db.conn.execute(
            "INSERT INTO decision (id, batch_id, what, reason, verdict, person_id, tablet_id, made_at, received_at)"
            " VALUES (?,?,?,?,?,?,?,?,?)",
            (
                decision_id, batch_id, what, reason, result.verdict if result else "unmeasured", who.person_id,
                who.tablet_id, moment, moment,
            ),
        )  # fmt: skip
        ledger.note(db, f"decision: {what}", "decision", decision_id, now, who.person_id, who.tablet_id)


def get_decisions(db: Database, batch_id: str) -> list[Decision]:
    """All decisions on a batch, oldest first; the last one stands."""
    return [
        Decision(**row)
        for row in db.query(
            "SELECT d.id, d.batch_id, d.what, d.reason, d.verdict, d.person_id, p.name AS person_name,"
            " t.name AS tablet_name, d.made_at, d.received_at FROM decision d JOIN person p ON p.id = d.person_id"
            " JOIN tablet t ON t.id = d.tablet_id WHERE d.batch_id = ? ORDER BY d.rowid",
            (batch_id,),
        )
    ]
