"""What the run of a product says: limits, signals, advice, capability. Lighter counts as above, whichever way the scale
runs; everything that is shown is turned back to the scale's own numbers."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

from sqlite_utils import Database

from webapp.measure import advice, capability
from webapp.measure.advice import Advice, Run
from webapp.measure.capability import Capability
from webapp.measure.charts import LEAST_BASELINE, Limits, limits_of, moving_ranges
from webapp.measure.rules import REACH
from webapp.store import gear, trends
from webapp.store.gear import Scale
from webapp.store.trends import Kind, Trend, Wanted

Band = tuple[float | None, float, float | None]
# Of all that may stand in the logs, as much as can be read along one axis: what matters least goes first.
MOST_EVENTS = 20
LEAST_FIRST = (
    "cleaned", "person", "machine", "meter", "adjusted", "lot", "targets", "aligned", "setting", "failed", "burrs",
)  # fmt: skip


@dataclass(frozen=True)
class Event:
    """Something that happened. before: index of the first point that was roasted after it; what: as in
    store.trends.Happening, or 'lot', 'person', 'machine', 'meter' where one comes for the first time; at: as stored."""

    before: int
    at: str
    what: str
    name: str


@dataclass(frozen=True)
class Signalled:
    """A signal to be told. rule: 1 to 4, 0 for the running mean; point: where it fired; since: the first point that it
    counts; until: where it was last seen; lighter: to which side; near: the events around its beginning."""

    rule: int
    point: int
    since: int
    until: int
    lighter: bool
    near: tuple[Event, ...]


@dataclass(frozen=True)
class Looked:
    """A run that was looked at. values, limits: mirrored where the scale's smaller numbers are lighter (way -1).

    bands: target version id -> its band, in the scale's numbers; band: the newest point's, None without one.
    left_out: events that were left out because there are too many.
    """

    scale: Scale | None
    trend: Trend
    way: int
    values: tuple[float, ...]
    ranges: tuple[float, ...]
    limits: Limits | None
    run: Run | None
    advice: Advice
    capability: Capability | None
    bands: dict[str, Band]
    band: Band | None
    events: tuple[Event, ...]
    left_out: int
    signals: tuple[Signalled, ...]

    @property
    def missing(self) -> int:
        """Batches that are still needed before anything can be said."""
        return max(0, LEAST_BASELINE - len(self.values))


def look_at(db: Database, product_id: str, kind: Kind, wanted: Wanted, most: int) -> Looked:
    """The newest ``most`` wanted results of a product and kind, and all that they say."""
    trend = trends.get_trend(db, product_id, kind, wanted, most)
    if not trend.points:
        return Looked(None, trend, 1, (), (), None, None, Advice("too_few"), None, {}, None, (), 0, ())
    scale = gear.get_scale(db, trend.scale_id)
    way, step = scale.lighter, scale.step / 100
    values = [point.value * way for point in trend.points]
    bands = trends.bands_of(db, [p.target_version_id for p in trend.points if p.target_version_id], kind)
    band = bands.get(trend.points[-1].target_version_id or "")
    limits = limits_of(values, step) if len(values) > 1 else None
    run = advice.look(values, limits) if limits else None
    able = held(values, band, way, step) if band and len(values) >= LEAST_BASELINE else None
    said = advice.advise(run, len(values), limits.values, able) if limits else Advice("too_few")
    events = events_of(db, product_id, trend)
    kept = fewer(events)
    return Looked(
        scale, trend, way, tuple(values), tuple(moving_ranges(values)), limits, run, said, able, bands, band, kept,
        len(events) - len(kept), signals_of(run, events) if limits and limits.frozen else (),
    )  # fmt: skip


def held(values: list[float], band: Band, way: int, step: float) -> Capability:
    """Capability against a band that is mirrored with the values."""
    lower, _centre, upper = band
    ends = (lower, upper) if way > 0 else tuple(None if end is None else -end for end in (upper, lower))
    return capability.capability_of(values, *ends, step)


def events_of(db: Database, product_id: str, trend: Trend) -> list[Event]:
    """What the logs say, and who and what is met for the first time, in order of time."""
    points, found = trend.points, []
    for what in ("lot", "person", "machine", "meter"):
        name = what if what == "lot" else f"{what}_name"
        seen = {getattr(points[0], name)}
        for no, point in enumerate(points):
            value = getattr(point, name)
            if value and value not in seen:
                seen.add(value)
                found.append(Event(no, point.roasted_at, what, value))
    times = [point.roasted_at for point in points]
    for one in trends.list_happenings(db, product_id, trend):
        found.append(Event(bisect_left(times, one.at), one.at, one.what, one.name))
    return sorted(found, key=lambda event: (event.before, event.at, event.what))


def fewer(events: list[Event]) -> tuple[Event, ...]:
    """As many events as can be read: of those that matter most the newest, in order of time."""
    by_weight = sorted(events, key=lambda event: (LEAST_FIRST.index(event.what), event.before), reverse=True)
    kept = by_weight[:MOST_EVENTS]
    return tuple(event for event in events if event in kept)


def signals_of(run: Run, events: list[Event]) -> tuple[Signalled, ...]:
    """Every episode of the rules and every excursion of the running mean, newest first."""
    found = [
        (one.signals[0].rule, one.signals[0].point, one.first, one.last, one.side == "above") for one in run.episodes
    ]
    for point, side in run.drifts:
        until = next((no for no in range(point, len(run.average)) if run.average[no].signal != side), len(run.average))
        found.append((0, point, point, until - 1, side == "above"))
    found.sort(key=lambda one: (one[1], one[0]), reverse=True)
    return tuple(Signalled(*one, near=near(events, one[2] - REACH, one[1])) for one in found)


def near(events: list[Event], since: int, until: int) -> tuple[Event, ...]:
    """The events between two points."""
    return tuple(event for event in events if since <= event.before <= until)
