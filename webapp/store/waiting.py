"""The batches of every product that wait for a decision, as the strip says it of one day."""

from __future__ import annotations

from dataclasses import dataclass

from sqlite_utils import Database

from .strip_days import StripBatch


@dataclass(frozen=True)
class Waiting:
    """How many batches of a product wait, and the one that has waited longest."""

    batches: int
    oldest_id: str


# Only what can wait at all is looked at: what is in band, proven and signed is most of every day.
_MAY_WAIT = """
SELECT b.id, b.product_id, b.code, b.roasted_at, r.verdict, r.meter_state, r.hands_state, d.what,
  d.verdict AS decided_on
FROM batch b CROSS JOIN batch_result r ON r.batch_id = b.id
LEFT JOIN decision d ON d.rowid = (SELECT max(x.rowid) FROM decision x WHERE x.batch_id = b.id)
WHERE b.day >= ? AND (r.verdict IN ('undecided', 'outside') OR r.hands_state = 'waiting'
  OR coalesce(r.meter_state, 'proven') NOT IN ('proven', 'accepted') OR d.what = 'hold')
ORDER BY b.day, b.roasted_at
"""


def list_waiting(db: Database, since: str) -> dict[str, Waiting]:
    """product id -> what waits among its batches roasted since a day (`2026-05-14`); without those where none does."""
    found: dict[str, list[str]] = {}
    for row in db.query(_MAY_WAIT, (since,)):
        batch = StripBatch(
            row["id"], row["code"], row["roasted_at"], "", "", "", row["verdict"], None, (), {}, row["what"],
            row["decided_on"], None, row["meter_state"], None, row["hands_state"],
        )  # fmt: skip
        if batch.waits:
            found.setdefault(row["product_id"], []).append(row["id"])
    return {product_id: Waiting(len(ids), ids[0]) for product_id, ids in found.items()}
