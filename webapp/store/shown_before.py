"""What a product has shown before: what a new reading of it is held against."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from sqlite_utils import Database

from . import times

if TYPE_CHECKING:
    from .methods import MethodVersion

# How long before its method version was made a batch may have been roasted, and still be read by it.
ROASTED_BEFORE = timedelta(days=30)


def shown_before(db: Database, product_id: str, kind: str, scale_id: str, version: MethodVersion) -> list[float]:
    """The last 30 results of this product, kind and scale by one method version, newest first, in scale units.

    What was read by another version, or ground at another setting than it names, is nothing to compare with. Batches
    roasted long before the version was made are not looked through: a version that nobody has used yet would have
    every one of them read.
    """
    since = times.to_text(times.from_text(version.made_at) - ROASTED_BEFORE)
    return [
        row["value"]
        for row in db.query(
            "SELECT r.value FROM batch b JOIN part_result r ON r.batch_id = b.id AND r.kind = ? WHERE b.product_id = ?"
            " AND b.roasted_at >= ? AND r.scale_id = ? AND r.method_version_id = ?"
            " AND r.apart_why IS NULL AND b.blend IS NULL ORDER BY b.roasted_at DESC LIMIT 30",
            (kind, product_id, since, scale_id, version.id),
        )
    ]
