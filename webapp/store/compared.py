"""What a comparison's readings come to, coffee by coffee, and its outcome with the targets it made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlite_utils import Database

from webapp import measure

from . import ledger, products, spreads
from .comparisons import SIDES, Comparison, ComparisonSample, SideName, list_samples
from .connect import one, write
from .errors import AlreadyThere, StoreError
from .products import TargetBand
from .records import insert
from .times import to_text
from .who import Who

OutcomeWord = Literal["carry", "move", "not_comparable"]


class TargetsChanged(StoreError):
    """Targets that were to be moved have got a newer version meanwhile; `product_ids` names the products."""

    def __init__(self, product_ids: Sequence[str]) -> None:
        super().__init__(*product_ids)
        self.product_ids = tuple(product_ids)


@dataclass(frozen=True)
class CoffeeValue:
    """One coffee on one side: the mean of its fills in scale units (None: not read yet), and how many fills."""

    value: float | None = None
    fills: int = 0


@dataclass(frozen=True)
class MovedTarget:
    """A product's next target version. `base`: the version that was shown when it was chosen."""

    product_id: str
    base: str
    bands: tuple[TargetBand, ...]
    whole_method_id: str | None
    ground_method_id: str | None


@dataclass(frozen=True)
class NewOutcome:
    """What a lead concludes. `bias` (b minus a) and `bias_give` (its give or take) in scale units."""

    id: str
    comparison_id: str
    outcome: OutcomeWord
    coffees: int
    bias: float
    bias_give: float
    reason: str


@dataclass(frozen=True)
class Outcome(NewOutcome):
    """The same as it is stored; `target_version_ids` that it made."""

    person_name: str
    made_at: str
    received_at: str
    target_version_ids: tuple[str, ...]


def sigmas_of(db: Database, comparison: Comparison, side: SideName) -> measure.Sigmas:
    """What is known of the spread of the method on one side."""
    scale = comparison.scale
    span = (scale.upper - scale.lower) / 100
    return spreads.sigmas_for(db, comparison.side(side).method.id, scale.id, comparison.kind, span)


def fills_of(samples: Sequence[ComparisonSample], planned: int, sigma_r: float, step: float) -> list[float]:
    """The value of every fill that has a reading that counts, in scale units (measure.fill_value)."""
    found = []
    for sample in samples:
        by_fill: dict[int, list[float]] = {}
        for reading in sample.readings:
            if not reading.void_reason:
                by_fill.setdefault(reading.fill_no, []).append(reading.value / 100)
        found += [measure.fill_value(by_fill[no], planned, sigma_r, step, final=True).value for no in sorted(by_fill)]
    return found


def values(db: Database, comparison: Comparison) -> dict[tuple[int, SideName], CoffeeValue]:
    """(coffee's number, side) -> the mean of all its fills. Voided readings do not count.

    Several samples of one coffee and side count together. What came after the outcome was stored is left out: the
    outcome rests on what was there.
    """
    found = fill_values(db, comparison)
    return {place: CoffeeValue(measure.mean(fills) if fills else None, len(fills)) for place, fills in found.items()}


def fill_values(db: Database, comparison: Comparison) -> dict[tuple[int, SideName], list[float]]:
    """(coffee's number, side) -> the value of each of its fills in scale units; see `values`."""
    closed = concluded_at(db, comparison.id)
    samples = [s for s in list_samples(db, comparison.id) if closed is None or s.received_at <= closed]
    scale, found = comparison.scale, {}
    # The starting assumption, not what the bench has learnt: the same numbers come out whenever it is looked at.
    sigma_r, _sigma_f = measure.assumed_sigmas(comparison.kind, (scale.upper - scale.lower) / 100)
    for coffee in comparison.coffees:
        for side in SIDES:
            own = [sample for sample in samples if (sample.coffee_no, sample.side) == (coffee.no, side)]
            found[coffee.no, side] = fills_of(own, comparison.readings, sigma_r, scale.step / 100)
    return found


def concluded_at(db: Database, comparison_id: str) -> str | None:
    """When a lead concluded it (stored UTC text), by an outcome or, of two people, by a sign-off; else None."""
    row = one(
        db,
        "SELECT received_at FROM comparison_outcome WHERE comparison_id = :id"
        " UNION ALL SELECT received_at FROM signoff WHERE comparison_id = :id",
        {"id": comparison_id},
    )
    return row["received_at"] if row else None


def complete(comparison: Comparison, there: dict[tuple[int, SideName], CoffeeValue]) -> list[int]:
    """The numbers of the coffees that are read on both sides with as many fills as planned."""
    return [
        coffee.no for coffee in comparison.coffees
        if all(there[coffee.no, side].fills >= comparison.fills for side in SIDES)
    ]  # fmt: skip


def add_outcome(
    db: Database, new: NewOutcome, moved: Sequence[MovedTarget], target_reason: str, who: Who, now: datetime
) -> None:
    """Store the outcome once, and the target versions that it makes, all of them or nothing.

    TargetsChanged: a product's targets are not those that were shown. AlreadyThere: the comparison has another
    outcome. `target_reason` stands in the history of each product.
    """
    with write(db):
        there = find_outcome(db, new.comparison_id)
        if there is not None:
            if (there.id, there.outcome, there.reason) != (new.id, new.outcome, new.reason):
                raise AlreadyThere(new.comparison_id)
            return
        in_force = {m.product_id: products.target_in_force(db, m.product_id) for m in moved}
        changed = [m.product_id for m in moved if in_force[m.product_id].id != m.base]
        if changed:
            raise TargetsChanged(changed)
        row = {
            "id": new.id, "comparison_id": new.comparison_id, "outcome": new.outcome, "coffees": new.coffees,
            "bias": new.bias, "bias_give": new.bias_give, "reason": new.reason, "person_id": who.person_id,
            "tablet_id": who.tablet_id, "made_at": to_text(now), "received_at": to_text(now),
        }  # fmt: skip
        insert(db, "comparison_outcome", row)
        for target in moved:
            before = in_force[target.product_id]
            version_id = products.add_target_version(
                db, target.product_id, before.scale.id, before.rule, before.confidence, target.whole_method_id,
                target.ground_method_id, target.bands, target_reason, who, now,
            )  # fmt: skip
            made = {"outcome_id": new.id, "target_version_id": version_id, "product_id": target.product_id}
            insert(db, "comparison_target", made)
        ledger.note(db, "comparison concluded", "comparison_outcome", new.id, now, who.person_id, who.tablet_id)


def find_outcome(db: Database, comparison_id: str) -> Outcome | None:
    """The outcome of a comparison, or None while it has none."""
    row = one(
        db,
        "SELECT o.id, o.comparison_id, o.outcome, o.coffees, o.bias, o.bias_give, o.reason, p.name AS person_name,"
        " o.made_at, o.received_at FROM comparison_outcome o JOIN person p ON p.id = o.person_id"
        " WHERE o.comparison_id = ?",
        (comparison_id,),
    )
    if row is None:
        return None
    made = db.query(
        "SELECT target_version_id AS id FROM comparison_target WHERE outcome_id = ? ORDER BY rowid", (row["id"],)
    )
    return Outcome(**row, target_version_ids=tuple(version["id"] for version in made))
