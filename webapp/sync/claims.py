"""The handler for records of kind "claim": somebody said, on a tablet without a network, that they took over."""

from __future__ import annotations

from datetime import datetime

from sqlite_utils import Database

from webapp.store import claims
from webapp.store.claims import Claim
from webapp.ui.tablet_records import TabletRecord


class TabletClaims:
    """See ui/tablet_records.Handler. A claim is taken from anybody: it says who is said to be there, no more."""

    def versions(self, db: Database, record: TabletRecord) -> tuple[dict, dict] | None:
        """Who is claimed: stored, and sent."""
        there = claims.find_claim(db, record.id)
        if there is None:
            return None
        ours = {"person": {"id": there.person_id, "name": there.person_name}}
        return ours, {"person": {"id": record.person.id, "name": record.person.name}}

    def store(self, db: Database, record: TabletRecord, now: datetime) -> list[str]:
        """Store it."""
        claims.add_claim(db, record.id, record.made_at, record.who, record.sent, now)
        return []

    def shown(self, db: Database, record: TabletRecord) -> dict:
        """The claim, and whether a PIN has confirmed it."""
        return content(claims.get_claim(db, record.id))


def content(claim: Claim) -> dict:
    """A claim for the tablet."""
    return {
        "claim_id": claim.id,
        "person": {"id": claim.person_id, "name": claim.person_name},
        "claimed_at": claim.claimed_at,
        "confirmed_at": claim.confirmed_at,
    }
