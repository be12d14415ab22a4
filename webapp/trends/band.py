"""A band from history: which batches it is made from, what it would be, and what it would have meant."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from flask_babel import gettext as _
from sqlite_utils import Database
from werkzeug.datastructures import MultiDict

from webapp.measure import Band, Rule, judge
from webapp.measure.capability import Capability
from webapp.measure.charts import LEAST_BASELINE
from webapp.measure.normality import Normality, normality_of
from webapp.measure.standing import stand
from webapp.measure.tolerance import CONFIDENCE, COVERAGE, LEAST_REFERENCE, Proposal, propose_band
from webapp.store import baselines, gear, kind_months, methods, products, results, trends
from webapp.store.baselines import Baseline
from webapp.store.gear import Scale
from webapp.store.products import Product, Target
from webapp.store.trends import Kind, Trend, TrendPoint, Wanted
from webapp.trends import filters
from webapp.trends.filters import Asked

SHARES = (90, 95, 99)
SIZES = (30, 100, 500)
# What each band would have meant is told for so many of the newest results.
JUDGED = 100
# So many letters of a batch's id stand for it in an address, which may not grow long.
MARK = 8


@dataclass(frozen=True)
class Choice:
    """What the form asks for. baseline: its batches; coverage, confidence: percent; without, within: marks of batches
    that are left out, or taken in although they are left out by default. typed: as it stands in the form."""

    asked: Asked
    baseline: bool
    coverage: int
    confidence: int
    without: frozenset[str]
    within: frozenset[str]

    def takes(self, point: TrendPoint) -> bool:
        """Whether a batch counts: by default those that were read on a proven meter."""
        mark = point.batch_id[:MARK]
        return mark not in self.without if point.proven else mark in self.within


@dataclass(frozen=True)
class Meant:
    """What a band says of one batch."""

    point: TrendPoint
    verdict: str
    side: str


@dataclass(frozen=True)
class Judged:
    """A band beside the other one. able: of the reference batches, None below two of them; meant: of the newest
    results, oldest first, by the product's rule and each batch's own u."""

    band: Band
    able: Capability | None
    meant: tuple[Meant, ...]

    def count(self, verdict: str, side: str = "") -> int:
        """How many of them."""
        return sum(one.verdict == verdict and (not side or one.side == side) for one in self.meant)


@dataclass(frozen=True)
class Found:
    """Everything of the page. trend: the batches to choose from; used: those that count; proposal None with too few;
    present None where the targets have no band for what was read so (why: 'scale', 'method', 'none'); unsteady: how
    often something signals among those that count; baseline: the frozen one, if there is one."""

    choice: Choice
    trend: Trend
    scale: Scale | None
    target: Target | None
    used: tuple[TrendPoint, ...]
    proposal: Proposal | None
    normality: Normality | None
    present: Judged | None
    why: Literal["", "scale", "method", "none"]
    proposed: Judged | None
    unsteady: int
    baseline: Baseline | None

    @property
    def step(self) -> float:
        """The scale's resolution, in scale units."""
        return self.scale.step / 100

    @property
    def missing(self) -> int:
        """Batches that are still needed."""
        return max(0, LEAST_REFERENCE - len(self.used))


def read(args: MultiDict, zone: str) -> Choice:
    """From the address; what is none of the offered shares is the usual one."""
    shares = [
        int(args.get(name, "")) if args.get(name, "") in map(str, SHARES) else round(usual * 100)
        for name, usual in (("coverage", COVERAGE), ("confidence", CONFIDENCE))
    ]
    marks = [frozenset(text[:MARK] for text in args.getlist(name)) for name in ("without", "within")]
    return Choice(filters.read(args, zone), args.get("stretch") == "baseline", *shares, *marks)


def gather(db: Database, product: Product, kind: Kind, choice: Choice) -> Found:
    """Everything of a product and kind."""
    wanted = Wanted() if choice.asked.problems else choice.asked.wanted
    trend = trends.get_trend(db, product.id, kind, wanted, min(choice.asked.most, SIZES[-1]))
    target = products.target_in_force(db, product.id)
    if not trend.points:
        return Found(choice, trend, None, target, (), None, None, None, "", None, 0, None)
    baseline = baselines.find_baseline(
        db, baselines.Place(product.id, kind, trend.scale_id, trend.method_version_id)
    )  # fmt: skip
    if baseline and choice.baseline:
        trend = stretch_of(db, product, kind, baseline)
    scale = gear.get_scale(db, trend.scale_id)
    used = tuple(point for point in trend.points if choice.takes(point))
    values, step = [point.value for point in used], scale.step / 100
    proposal = None
    if len(used) >= LEAST_REFERENCE:
        proposal = propose_band(values, step, choice.coverage / 100, choice.confidence / 100)
    present, why = band_in_force(db, target, kind, trend)
    newest = trends.get_trend(db, product.id, kind, Wanted(method_version_id=trend.method_version_id), JUDGED).points
    rule = target.as_rule() if target else Rule()
    return Found(
        choice, trend, scale, target, used, proposal, normality_of(values, step) if proposal else None,
        judged(present, used, newest, rule, scale) if present else None, why,
        judged(as_band(proposal), used, newest, rule, scale) if proposal else None, signals_in(values, scale), baseline,
    )  # fmt: skip


def stretch_of(db: Database, product: Product, kind: Kind, baseline: Baseline) -> Trend:
    """The batches of a frozen baseline."""
    # The end of a stretch is not included, and its last batch is: one more letter comes after it.
    wanted = Wanted(
        method_version_id=baseline.place.method_version_id, since=baseline.first_roasted_at,
        until=f"{baseline.last_roasted_at}~",
    )  # fmt: skip
    return trends.get_trend(db, product.id, kind, wanted)


def band_in_force(db: Database, target: Target | None, kind: Kind, trend: Trend) -> tuple[Band | None, str]:
    """(the band that batches read as these are judged by now, or None; why there is none)."""
    if target is None or kind not in target.bands:
        return None, "none"
    if target.scale.id != trend.scale_id:
        return None, "scale"
    method_id = None
    if kind != "difference":
        method_id = methods.get_version(db, trend.method_version_id).method_id
    band = results.band_of(target, kind, trend.scale_id, method_id)
    return band, "" if band else "method"


def as_band(proposal: Proposal) -> Band:
    """As measure judges by it."""
    return Band(float(proposal.lower), float(proposal.centre), float(proposal.upper))


def judged(band: Band, used, newest, rule: Rule, scale: Scale) -> Judged:
    """What a band means for the batches it is made from, and for the newest ones."""
    values = [point.value for point in used]
    able = kind_months.held(values, (band.lower, band.centre, band.upper), scale) if len(values) > 1 else None
    meant = []
    for point in newest:
        found = judge(point.value, point.u, band, rule, scale.lighter)
        meant.append(Meant(point, found.verdict, found.side or ""))
    return Judged(band, able, tuple(meant))


def signals_in(values: list[float], scale: Scale) -> int:
    """How often something signals among batches by their own limits; 0 with too few of them to say."""
    if len(values) < LEAST_BASELINE:
        return 0
    found = stand([value * scale.lighter for value in values], scale.step / 100, None).run
    return len(found.episodes) + len(found.drifts)


def reason(found: Found) -> str:
    """What a new version of the targets says about where its band comes from."""
    first, last = found.used[0], found.used[-1]
    return _(
        "Band from %(num)d batches, %(first)s to %(last)s: %(coverage)d %% of all, %(confidence)d %% sure.",
        num=len(found.used), first=first.code, last=last.code, coverage=found.choice.coverage,
        confidence=found.choice.confidence,
    )  # fmt: skip
