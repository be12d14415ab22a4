"""Baselines: limits of a product's run that a lead froze from steady batches, for those that come after. Append-only.

The newest word of a product, kind, scale and method version counts: what is read otherwise has limits of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlite_utils import Database

from . import ledger, trend_states
from .connect import one, write
from .records import insert, is_there
from .times import to_text
from .trends import Kind
from .who import Who


@dataclass(frozen=True)
class Place:
    """Which run the limits are for."""

    product_id: str
    kind: Kind
    scale_id: str
    method_version_id: str


@dataclass(frozen=True)
class Frozen:
    """The stretch, and what it came to: the first and last of `batches` (20 or more) steady ones; their centre and
    sigma in the scale's own numbers (not mirrored), as measure.charts gives them."""

    first_batch_id: str
    last_batch_id: str
    batches: int
    centre: float
    sigma: float


@dataclass(frozen=True)
class NewBaseline:
    """limits None: given up, which needs a reason; the run then has its own limits again."""

    id: str
    place: Place
    limits: Frozen | None
    reason: str


@dataclass(frozen=True)
class Baseline(NewBaseline):
    """The same as it is stored. first_roasted_at, last_roasted_at: when its stretch began and ended, '' if given up."""

    person_name: str
    made_at: str
    first_roasted_at: str
    last_roasted_at: str


PLACE = tuple(Place.__dataclass_fields__)
LIMITS = tuple(Frozen.__dataclass_fields__)


def add_baseline(db: Database, new: NewBaseline, who: Who, now: datetime) -> None:
    """Store it once. AlreadyThere: the id is taken, with other content. ValueError: given up without a reason."""
    if new.limits is None and not new.reason.strip():
        raise ValueError("it needs a reason")
    content = {name: getattr(new.place, name) for name in PLACE}
    content |= {name: getattr(new.limits, name) if new.limits else None for name in LIMITS}
    content |= {"what": "frozen" if new.limits else "given_up", "reason": new.reason}
    with write(db):
        if is_there(db, "trend_baseline", new.id, content):
            return
        moment = to_text(now)
        by = {"person_id": who.person_id, "tablet_id": who.tablet_id, "made_at": moment, "received_at": moment}
        insert(db, "trend_baseline", {"id": new.id, **content, **by})
        ledger.note(
            db, f"baseline: {content['what']}", "trend_baseline", new.id, now, who.person_id, who.tablet_id
        )  # fmt: skip
        trend_states.refresh(db, new.place.product_id, [new.place.kind])


_BASELINE = (
    "SELECT t.*, p.name AS person_name, coalesce(f.roasted_at, '') AS first_roasted_at,"
    " coalesce(l.roasted_at, '') AS last_roasted_at FROM trend_baseline t JOIN person p ON p.id = t.person_id"
    " LEFT JOIN batch f ON f.id = t.first_batch_id LEFT JOIN batch l ON l.id = t.last_batch_id"
)


def find_baseline(db: Database, place: Place) -> Baseline | None:
    """The limits that are frozen for a run now; None: there are none, or they were given up."""
    row = one(
        db,
        f"{_BASELINE} WHERE t.product_id = ? AND t.kind = ? AND t.scale_id = ? AND t.method_version_id = ?"
        " ORDER BY t.made_at DESC, t.rowid DESC LIMIT 1",
        (place.product_id, place.kind, place.scale_id, place.method_version_id),
    )
    return _baseline(row) if row and row["what"] == "frozen" else None


def frozen_elsewhere(db: Database, place: Place) -> Baseline | None:
    """The newest limits that are frozen for the same product and kind, read by another method version or on another
    scale: they say nothing of this run. None: there are none."""
    newest: dict[Place, Baseline] = {}
    for word in list_baselines(db, place.product_id, place.kind):
        newest.setdefault(word.place, word)
    return next((word for word in newest.values() if word.limits and word.place != place), None)


def list_baselines(db: Database, product_id: str, kind: Kind) -> list[Baseline]:
    """Every word on a product's limits of one kind, newest first."""
    rows = db.query(
        f"{_BASELINE} WHERE t.product_id = ? AND t.kind = ? ORDER BY t.made_at DESC, t.rowid DESC", (product_id, kind)
    )
    return [_baseline(row) for row in rows]


def _baseline(row: dict) -> Baseline:
    limits = Frozen(**{name: row[name] for name in LIMITS}) if row["what"] == "frozen" else None
    return Baseline(
        row["id"], Place(**{name: row[name] for name in PLACE}), limits, row["reason"], row["person_name"],
        row["made_at"], row["first_roasted_at"], row["last_roasted_at"],
    )  # fmt: skip
