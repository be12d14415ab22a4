"""By which target version a sample is judged: the one stored with it, or that of the product it belongs to now."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from sqlite_utils import Database

from . import products, times
from .connect import one

if TYPE_CHECKING:
    from .products import Target
    from .samples import Sample


def targets_of(
    db: Database, batch_id: str, newest: Mapping[str, Sample], known: Mapping[str, Target] | None = None
) -> dict[str, Target | None]:
    """kind -> what it is judged by: the target version stored with its newest sample. known: id -> target version, for
    those that were read already.

    Where that one is another product's (the sample was moved here, or the batch's product was corrected) it is what
    this product's samples were judged by when it was read. What was stored without a target stays without.
    """
    versions = {s.target_version_id for s in newest.values()} - {None}
    found = {version: (known or {}).get(version) or products.get_target(db, version) for version in versions}
    targets = {kind: found.get(s.target_version_id) for kind, s in newest.items()}
    batch = one(db, "SELECT product_id, roasted_at FROM batch WHERE id = ?", (batch_id,))
    return {
        kind: target if target is None or target.product_id == batch["product_id"]
        else target_of(db, newest[kind], batch["product_id"], batch["roasted_at"])
        for kind, target in targets.items()
    }  # fmt: skip


def target_of(db: Database, sample: Sample, product_id: str, roasted_at: str) -> Target | None:
    """The target of a product in force when a sample was read, for one that was stored with another product's.

    roasted_at: of its batch (stored UTC text). See products.target_when_read for how far clocks are believed.
    """
    moments = (times.from_text(text) for text in (sample.made_at, roasted_at, sample.received_at))
    return products.target_when_read(db, product_id, *moments)
