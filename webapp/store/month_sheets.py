"""What a month's list of batches tells of each: its values, beside what months.get_batches has."""

from __future__ import annotations

from typing import NamedTuple

from sqlite_utils import Database

from .months import Month


class PartValue(NamedTuple):
    """A kind of a batch: value and standard uncertainty in scale units, its scale's step in hundredths."""

    value: float
    u: float
    step: int


def list_values(db: Database, product_id: str, month: Month) -> dict[str, dict[str, PartValue]]:
    """Batch id -> kind -> value, for every batch of a product in a month that has been read."""
    found: dict[str, dict[str, PartValue]] = {}
    for row in db.query(_VALUES, (product_id, month.since, month.until)):
        found.setdefault(row["batch_id"], {})[row["kind"]] = PartValue(row["value"], row["u"], row["step"])
    return found


_VALUES = """
SELECT r.batch_id, r.kind, r.value, r.u, s.step FROM batch b CROSS JOIN part_result r ON r.batch_id = b.id
CROSS JOIN scale s ON s.id = r.scale_id
WHERE b.product_id = ? AND b.roasted_at >= ? AND b.roasted_at < ? AND r.apart_why IS NULL
"""
