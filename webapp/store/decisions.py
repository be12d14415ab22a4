"""Decisions: what becomes of a batch. Append-only; the newest stands, the earlier ones stay visible."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlite_utils import Database

from . import ledger, results, waiting
from .connect import one, write
from .records import insert, is_there
from .times import to_text
from .who import TYPED, Sent, Who


@dataclass(frozen=True)
class Decision:
    """What, why, by whom, and the verdict that stood when it was stored; `sent_by` to `tablet_seq` as in who.Sent.

    role: of the person then; None in records older than that was kept. customer: of a concession, where one was named.
    supersedes: the id of the decision that stood until then. blend_id: the blend that the batch went into. reread: it
    asked for another reading, and there is one since.
    """

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
    sent_by: str | None
    sent_by_name: str | None
    claim_id: str | None
    tablet_clock: str | None
    tablet_seq: int | None
    role: str | None = None
    customer: str | None = None
    supersedes: str | None = None
    blend_id: str | None = None
    reread: bool = False

    @property
    def by_lead(self) -> bool:
        """Whether a lead made it: what is older than roles were kept is taken for a lead's where only a lead could."""
        return self.role == "lead" or (self.role is None and self.what in ("reject", "concession"))


SELECT = (
    "SELECT d.id, d.batch_id, d.what, d.reason, d.verdict, d.person_id, p.name AS person_name, t.name AS tablet_name,"
    " d.made_at, d.received_at, d.sent_by, x.name AS sent_by_name, d.claim_id, d.tablet_clock, d.tablet_seq,"
    f" d.role, d.customer, d.supersedes, d.blend_id, {waiting.REREAD} AS reread"
    " FROM decision d JOIN person p ON p.id = d.person_id JOIN tablet t ON t.id = d.tablet_id"
    " LEFT JOIN person x ON x.id = d.sent_by"
)


def add_decision(
    db: Database, decision_id: str, batch_id: str, what: str, reason: str, who: Who, now: datetime,
    sent: Sent = TYPED, made_at: str | None = None, *, customer: str | None = None, blend_id: str | None = None,
) -> None:  # fmt: skip
    """Store a decision once, with the verdict as it stands, in the place of the one that stood until now.

    `sent`: how it came. `made_at`: when it was made (stored UTC text); None: now. `customer`: who accepts a concession.
    `blend_id`: the blend that the batch goes into, with "blend" alone. AlreadyThere: the id is taken by another one.
    """
    content = {"batch_id": batch_id, "what": what, "reason": reason, "customer": customer, "blend_id": blend_id}
    with write(db):
        if is_there(db, "decision", decision_id, content):
            return
        result, last = results.get_batch_result(db, batch_id), last_decision(db, batch_id)
        row = content | {
            "id": decision_id, "verdict": result.verdict if result else "unmeasured", "person_id": who.person_id,
            "tablet_id": who.tablet_id, "made_at": made_at or to_text(now), "received_at": to_text(now),
            "role": who.role, "supersedes": last.id if last else None,
        }  # fmt: skip
        insert(db, "decision", row | sent.columns())
        ledger.note(db, f"decision: {what}", "decision", decision_id, now, who.person_id, who.tablet_id)
        waiting.refresh(db, batch_id)


def get_decisions(db: Database, batch_id: str) -> list[Decision]:
    """All decisions on a batch, oldest first; the last one stands."""
    return [_decision(row) for row in db.query(f"{SELECT} WHERE d.batch_id = ? ORDER BY d.rowid", (batch_id,))]


def _decision(row: dict) -> Decision:
    return Decision(**row | {"reread": bool(row["reread"])})


def last_decision(db: Database, batch_id: str) -> Decision | None:
    """The decision that stands; None while there is none."""
    row = one(db, f"{SELECT} WHERE d.batch_id = ? ORDER BY d.rowid DESC LIMIT 1", (batch_id,))
    return _decision(row) if row else None


def find_decision(db: Database, decision_id: str) -> Decision | None:
    """One decision, or None."""
    row = one(db, f"{SELECT} WHERE d.id = ?", (decision_id,))
    return _decision(row) if row else None
