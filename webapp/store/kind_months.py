"""One kind of a product in one month: mean, share in band, capability, and what signalled, as it stood at its end."""

from __future__ import annotations

from dataclasses import dataclass

from sqlite_utils import Database

from webapp.measure import mean
from webapp.measure.capability import Capability, capability_of, wilson
from webapp.measure.charts import LEAST_BASELINE
from webapp.measure.standing import Standing, frozen_limits, stand

from . import baselines, gear, months, signal_notes, trend_rules, trends
from .gear import Scale
from .months import Month
from .signal_notes import Note
from .trends import MOST, Kind, Trend, TrendPoint, Wanted

# The trend's page judges so many of the newest results, and so does a month, from its end back.
USUAL = 100

Band = tuple[float | None, float, float | None]


@dataclass(frozen=True)
class Fired:
    """A signal of the month. rule: 1 to 4, 0 for the running mean; lighter: to which side; notes: oldest first."""

    rule: int
    lighter: bool
    point: TrendPoint
    notes: tuple[Note, ...]

    @property
    def closed(self) -> bool:
        """Whether its newest note says that nothing is left to do."""
        return bool(self.notes) and self.notes[-1].closed


@dataclass(frozen=True)
class KindMonth:
    """A kind in a month, from the results that were read as the month's last one.

    run: up to the month's end, for what came before it; band: the last batch's; bands: version id -> band; judged,
    inside: batches with a band of their own, and how many of them lay in it, with the interval of the share;
    capability: against the last band, None below 20 batches or without one; otherwise: results by another method or on
    another scale; version_id: the method version.
    """

    kind: Kind
    scale: Scale
    points: tuple[TrendPoint, ...]
    run: Trend
    mean: float
    band: Band | None
    bands: dict[str, Band]
    judged: int
    inside: int
    share: tuple[float, float] | None
    capability: Capability | None
    standing: Standing
    signals: tuple[Fired, ...]
    apart: int
    otherwise: int
    version_id: str

    @property
    def few(self) -> bool:
        """Whether there are too few batches for an index."""
        return len(self.points) < LEAST_BASELINE


def look(db: Database, product_id: str, kind: Kind, month: Month) -> KindMonth | None:
    """A kind in a month; None if nothing of it was read in it."""
    within = trends.get_trend(db, product_id, kind, Wanted(since=month.since, until=month.until), MOST)
    if not within.points:
        return None
    scale, points = gear.get_scale(db, within.scale_id), within.points
    before = Wanted(method_version_id=within.method_version_id, until=month.until)
    run = trends.get_trend(db, product_id, kind, before, max(USUAL, len(points) + within.apart))
    versions = [one.target_version_id for one in run.points if one.target_version_id]
    bands = trends.bands_of(db, versions, kind) if versions else {}
    band = bands.get(points[-1].target_version_id or "")
    judged = [one for one in points if (one.target_version_id or "") in bands]
    inside = sum(lies_in(one.value, bands[one.target_version_id], scale) for one in judged)
    standing = stand_at_end(db, product_id, kind, run, scale, band)
    return KindMonth(
        kind, scale, points, run, mean([one.value for one in points]), band, bands, len(judged), inside,
        wilson(inside, len(judged)) if judged else None,
        held([one.value for one in points], band, scale) if band and len(points) >= LEAST_BASELINE else None,
        standing, fired(db, product_id, kind, run, standing, scale, month), within.apart,
        months.count_parts(db, product_id, kind, month) - len(points) - within.apart, within.method_version_id,
    )  # fmt: skip


def lies_in(value: float, band: Band, scale: Scale) -> bool:
    """Whether a value lies in its band; on a limit it does, up to a billionth of a step."""
    lower, _centre, upper = band
    allowed = 1e-9 * scale.step / 100
    return (lower is None or value >= lower - allowed) and (upper is None or value <= upper + allowed)


def ends_of(band: Band | None, scale: Scale) -> tuple[float | None, float | None] | None:
    """The limits of a band, lighter as above."""
    if band is None:
        return None
    lower, _centre, upper = band
    return (lower, upper) if scale.lighter > 0 else tuple(None if end is None else -end for end in (upper, lower))


def held(values: list[float], band: Band, scale: Scale) -> Capability:
    """What values in order of time say of a band."""
    return capability_of([value * scale.lighter for value in values], *ends_of(band, scale), scale.step / 100)


def stand_at_end(
    db: Database, product_id: str, kind: Kind, run: Trend, scale: Scale, band: Band | None
) -> Standing:  # fmt: skip
    """How the run stood at the month's end: by frozen limits from their stretch on, else by its own."""
    place = baselines.Place(product_id, kind, run.scale_id, run.method_version_id)
    baseline, frozen, start = baselines.find_baseline(db, place), None, 0
    if baseline:
        start = sum(point.roasted_at < baseline.first_roasted_at for point in run.points)
        if start < len(run.points):
            there = baseline.limits
            frozen = frozen_limits(there.batches, there.centre * scale.lighter, there.sigma)
    rules = trend_rules.current(db)
    values = [point.value * scale.lighter for point in run.points]
    return stand(values, scale.step / 100, ends_of(band, scale), rules.rules, rules.average, frozen, start)


def fired(
    db: Database, product_id: str, kind: Kind, run: Trend, standing: Standing, scale: Scale, month: Month
) -> tuple[Fired, ...]:  # fmt: skip
    """The signals that fired in the month, in order, with their notes; none from limits of too few batches."""
    if standing.run is None or standing.limits is None or not standing.limits.frozen:
        return ()
    notes = signal_notes.by_signal(signal_notes.list_notes(db, product_id, kind))
    found = [(one.signals[0].point, one.signals[0].rule, one.side == "above") for one in standing.run.episodes]
    found += [(point, 0, side == "above") for point, side in standing.run.drifts]
    made = []
    for at, rule, lighter in sorted(found):
        point = run.points[at]
        if point.roasted_at >= month.since:
            there = notes.get((point.batch_id, "lighter" if lighter else "darker"), [])
            made.append(Fired(rule, lighter, point, tuple(there)))
    return tuple(made)
