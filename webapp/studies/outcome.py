"""What a comparison comes to, for the lead: the numbers, the drawings, the words, and the targets that could move."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from flask_babel import gettext as _
from sqlite_utils import Database

from webapp import measure
from webapp.measure import compare
from webapp.store import compared, products
from webapp.store.compared import MovedTarget, Outcome
from webapp.store.comparisons import Coffee, Comparison, list_samples
from webapp.store.products import Product, Target, TargetBand
from webapp.studies import drawing
from webapp.studies.service import targets_in_force
from webapp.ui.numbers import decimal_mark


@dataclass(frozen=True)
class Pair:
    """One complete coffee: both values in scale units."""

    coffee: Coffee
    a: float
    b: float


@dataclass(frozen=True)
class Move:
    """A product whose targets could move. `trouble`: why they cannot, or ''; `other_method`: they were made by
    another method than side a's."""

    product: Product
    target: Target
    band: TargetBand
    moved: TargetBand
    trouble: str
    other_method: bool
    difference_stays: bool


@dataclass(frozen=True)
class Findings:
    """Everything for the page. `result` is None while fewer coffees are complete than it takes."""

    comparison: Comparison
    pairs: list[Pair]
    missing: int
    result: compare.Comparison | None
    differences: drawing.Differences | None
    lines: drawing.Lines | None
    moves: list[Move]
    outcome: Outcome | None
    seen: int

    @property
    def fine(self) -> Decimal:
        """Statistics are shown to a tenth of the scale's step."""
        return Decimal(self.comparison.scale.step) / 1000

    def number(self, value: float) -> str:
        """A value in scale units."""
        return measure.show_value(value, self.fine, decimal_mark())

    def signed(self, value: float) -> str:
        """A difference in scale units."""
        return measure.show_signed(value, self.fine, decimal_mark())

    def give(self, value: float) -> str:
        """An uncertainty in scale units."""
        return measure.show_give_or_take(value, self.fine, decimal_mark())

    def slope(self, value: float) -> str:
        """A slope, which has no unit."""
        return measure.show_value(value, Decimal("0.001"), decimal_mark())

    @property
    def dark_to_light(self) -> list[Pair]:
        """The coffees as they lie along the scale."""
        return sorted(self.pairs, key=lambda pair: (pair.a + pair.b) * self.comparison.scale.lighter)


def gather(db: Database, comparison: Comparison) -> Findings:
    """Look at all that was read so far, or was there when the outcome was stored."""
    there = compared.values(db, comparison)
    complete = compared.complete(comparison, there)
    pairs = [
        Pair(coffee, there[coffee.no, "a"].value, there[coffee.no, "b"].value)
        for coffee in comparison.coffees if coffee.no in complete
    ]  # fmt: skip
    missing = max(0, compare.LEAST_COFFEES - len(pairs))
    outcome, seen = compared.find_outcome(db, comparison.id), len(list_samples(db, comparison.id))
    if missing:
        return Findings(comparison, pairs, missing, None, None, None, [], outcome, seen)
    a, b = [pair.a for pair in pairs], [pair.b for pair in pairs]
    bound, step, lighter = comparison.bound / 100, comparison.scale.step / 100, comparison.scale.lighter
    result = compare.comparison_outcome(a, b, bound)
    return Findings(
        comparison, pairs, 0, result, drawing.differences(a, b, result.agreement, bound, step, lighter),
        drawing.lines(a, b, result.line, step, lighter),
        moves(db, comparison, result.bias) if result.outcome == "move" else [], outcome, seen,
    )  # fmt: skip


def moves(db: Database, comparison: Comparison, bias: float) -> list[Move]:
    """The products in use whose targets are on this scale and have a band of this kind."""
    found = []
    for product, target in targets_in_force(db):
        band = target.bands.get(comparison.kind)
        if band is None or target.scale.id != comparison.scale.id:
            continue
        moved = moved_band(band, bias, comparison.scale.step)
        other = target.method_id(comparison.kind) != comparison.a.method.method_id
        trouble = trouble_with(comparison, moved, other)
        found.append(Move(product, target, band, moved, trouble, other, "difference" in target.bands))
    return found


def moved_band(band: TargetBand, bias: float, step: int) -> TargetBand:
    """Every limit and the target moved by the bias (scale units), rounded half to even to the step (hundredths)."""

    def shifted(hundredths: int | None) -> int | None:
        if hundredths is None:
            return None
        return int(measure.round_half_even(Decimal(hundredths) / 100 + Decimal(bias), Decimal(step) / 100) * 100)

    return replace(band, lower=shifted(band.lower), centre=shifted(band.centre), upper=shifted(band.upper))


def trouble_with(comparison: Comparison, moved: TargetBand, other_method: bool) -> str:
    """Why a band cannot be moved, or ''."""
    numbers = [n for n in (moved.lower, moved.centre, moved.upper) if n is not None]
    if comparison.what == "methods" and other_method:
        return _("Prepared by another method: this comparison says nothing about it.")
    if min(numbers) < comparison.scale.lower or max(numbers) > comparison.scale.upper:
        return _("It would leave the scale. Change these targets by hand.")
    if len(set(numbers)) < len(numbers):
        return _("The band is too narrow to be moved on this scale. Change these targets by hand.")
    return ""


def moved_target(comparison: Comparison, move: Move, base: str) -> MovedTarget:
    """The product's next version. After a comparison of two methods it names the method of side b."""
    bands = tuple(move.moved if band is move.band else band for band in move.target.bands.values())
    methods = {kind: move.target.method_id(kind) for kind in ("whole", "ground")}
    if comparison.what == "methods":
        methods[comparison.kind] = comparison.b.method.method_id
    return MovedTarget(move.product.id, base, bands, methods["whole"], methods["ground"])


def made_by(db: Database, outcome: Outcome) -> Sequence[tuple[Product, Target]]:
    """The target versions that an outcome made, each with its product."""
    versions = [products.get_target(db, version_id) for version_id in outcome.target_version_ids]
    return [(products.get_product(db, version.product_id), version) for version in versions]


def direction(comparison: Comparison, bias: float) -> str:
    """'lighter', 'darker' or 'same': how side b reads."""
    if bias == 0:
        return "same"
    return "lighter" if (bias > 0) == (comparison.scale.lighter > 0) else "darker"
