"""Claims: "I am Ada now", said on a tablet without a network. A PIN shows later whether it was true.

A tablet holds nothing that a PIN could be tried out on, so without a server it can only note who says they took
over. The claim and each proof of it are facts of their own; neither is ever changed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlite_utils import Database

from . import ledger
from .connect import one, write
from .errors import AlreadyThere, NotFound
from .records import insert, new_id
from .sessions import CONFIRMED_FOR
from .times import to_text
from .who import Sent, Who


@dataclass(frozen=True)
class Claim:
    """Who somebody said they were, on which tablet and when (believed up to now; `tablet_clock` if that was ahead).

    `confirmed_at`: when that person's PIN first confirmed it, or None.
    """

    id: str
    person_id: str
    tablet_id: str
    sent_by: str
    claimed_at: str
    tablet_clock: str | None
    tablet_seq: int | None
    received_at: str
    person_name: str
    tablet_name: str
    confirmed_at: str | None


SELECT = (
    "SELECT c.*, p.name AS person_name, t.name AS tablet_name,"
    " (SELECT min(confirmed_at) FROM claim_confirmed WHERE claim_id = c.id) AS confirmed_at"
    " FROM person_claim c JOIN person p ON p.id = c.person_id JOIN tablet t ON t.id = c.tablet_id"
)


def add_claim(db: Database, claim_id: str, claimed_at: str, who: Who, sent: Sent, now: datetime) -> Claim:
    """Store a claim once. `who`: the person claimed, on this tablet. AlreadyThere: the id claims somebody else."""
    with write(db):
        there = find_claim(db, claim_id)
        if there is not None:
            if there.person_id != who.person_id:
                raise AlreadyThere(claim_id)
            return there
        row = {"id": claim_id, "person_id": who.person_id, "tablet_id": who.tablet_id, "sent_by": sent.by}
        row |= {"claimed_at": claimed_at, "tablet_clock": sent.clock, "tablet_seq": sent.seq}
        insert(db, "person_claim", row | {"received_at": to_text(now)})
        ledger.note(db, "person claimed without a PIN", "person_claim", claim_id, now, who.person_id, who.tablet_id)
        return get_claim(db, claim_id)


def find_claim(db: Database, claim_id: str) -> Claim | None:
    """The claim, or None."""
    row = one(db, f"{SELECT} WHERE c.id = ?", (claim_id,))
    return Claim(**row) if row else None


def get_claim(db: Database, claim_id: str) -> Claim:
    """The claim. NotFound if there is none."""
    found = find_claim(db, claim_id)
    if found is None:
        raise NotFound(claim_id)
    return found


def get_claims(db: Database, claim_ids: Iterable[str | None]) -> dict[str, Claim]:
    """id -> claim, for those of the ids that are not None."""
    return {claim_id: get_claim(db, claim_id) for claim_id in sorted({i for i in claim_ids if i})}


def open_claims(db: Database, tablet_id: str) -> list[Claim]:
    """Claims made on this tablet that no PIN has confirmed yet, oldest first."""
    rows = db.query(
        f"{SELECT} WHERE c.tablet_id = ? AND NOT EXISTS (SELECT 1 FROM claim_confirmed WHERE claim_id = c.id)"
        " ORDER BY c.claimed_at, c.id",
        (tablet_id,),
    )
    return [Claim(**row) for row in rows]


def confirm_claim(db: Database, claim_id: str, tablet_id: str, now: datetime) -> Claim:
    """Note that the person claimed has just entered their PIN on this tablet; call it only behind pin_guard.

    Sent again within ten minutes it notes nothing more; later it is a proof of its own. NotFound: no such claim.
    """
    with write(db):
        found = get_claim(db, claim_id)
        if not proven_on(db, claim_id, tablet_id, now):
            proof = {"id": new_id(), "claim_id": claim_id, "tablet_id": tablet_id}
            insert(db, "claim_confirmed", proof | {"confirmed_at": to_text(now)})
            ledger.note(db, "claim confirmed by PIN", "claim_confirmed", proof["id"], now, found.person_id, tablet_id)
        return get_claim(db, claim_id)


def proven_on(db: Database, claim_id: str, tablet_id: str, now: datetime) -> bool:
    """Whether the claim was confirmed on this tablet within the last ten minutes: as good as a PIN entered just now."""
    since = to_text(now - CONFIRMED_FOR)
    row = one(
        db,
        "SELECT 1 AS there FROM claim_confirmed WHERE claim_id = ? AND tablet_id = ? AND confirmed_at > ?",
        (claim_id, tablet_id, since),
    )
    return row is not None
