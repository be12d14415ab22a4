"""What the run of a product says: limits, signals, advice, capability. Lighter counts as above, whichever way the scale
runs; everything that is shown is turned back to the scale's own numbers."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from sqlite_utils import Database

from webapp.measure.advice import Advice, Run
from webapp.measure.capability import Capability
from webapp.measure.charts import LEAST_BASELINE, Limits, moving_ranges
from webapp.measure.control import EwmaPoint
from webapp.measure.rules import REACH
from webapp.measure.standing import Ends, Standing, frozen_limits, stand
from webapp.store import baselines, gear, hands, signal_notes, trend_rules, trends
from webapp.store.baselines import Baseline, Place
from webapp.store.gear import Scale
from webapp.store.signal_notes import Note, Side
from webapp.store.trend_events import Event, events_of, fewer, near
from webapp.store.trend_rules import EVERYTHING, Rules
from webapp.store.trends import Kind, Trend, TrendPoint, Wanted

Band = tuple[float | None, float, float | None]
# Of all that may stand in the logs, as much as can be read along one axis.
MOST_EVENTS = 20


@dataclass(frozen=True)
class Signalled:
    """A signal to be told. rule: 1 to 4, 0 for the running mean; point: where it fired; since: the first point that it
    counts; until: where it was last seen; lighter: to which side; near: the events around its beginning; note: the
    newest one about it, None without any."""

    rule: int
    point: int
    since: int
    until: int
    lighter: bool
    near: tuple[Event, ...]
    note: Note | None = None

    @property
    def side(self) -> Side:
        """To which side, in a word."""
        return "lighter" if self.lighter else "darker"

    @property
    def closed(self) -> bool:
        """Whether somebody said that nothing is left to do about it."""
        return self.note is not None and self.note.closed


@dataclass(frozen=True)
class Looked:
    """A run that was looked at. values, limits: mirrored where the scale's smaller numbers are lighter (way -1).

    bands: target version id -> its band, in the scale's numbers; band: the newest point's, None without one.
    left_out: events that were left out because there are too many; happened: all of them. rules: what is
    listened for. baseline: whose frozen limits judge it, from the point ``start`` on; None: the limits are those of the
    values. passed: limits that are frozen for this run and do not judge here (see ``frozen_for``). elsewhere: limits
    that are frozen for another method version or scale, where there are none for this. waiting: batches whose reading
    waits for a countersignature. earlier: the newest note of each signal that does not fire any more.
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
    rules: Rules = EVERYTHING
    baseline: Baseline | None = None
    passed: Baseline | None = None
    start: int = 0
    waiting: frozenset[str] = frozenset()
    earlier: tuple[Note, ...] = ()
    elsewhere: Baseline | None = None
    happened: tuple[Event, ...] = ()

    @property
    def years(self) -> bool:
        """Whether a day needs its year, since the batches are of more than one."""
        return years_of(self.trend.points)

    @property
    def missing(self) -> int:
        """Batches that are still needed before anything can be said."""
        return 0 if self.baseline else max(0, LEAST_BASELINE - len(self.values))

    @property
    def standing(self) -> Signalled | None:
        """The signal that the advice is about."""
        about = (self.advice.rule, self.advice.point)
        return next((one for one in self.signals if (one.rule, one.point) == about), None)

    def average_at(self, no: int) -> EwmaPoint | None:
        """The running mean and its limits at a point, mirrored as the values; None: it is off, or not judged there."""
        there = bool(self.run and self.run.average and self.limits.frozen and no >= self.start)
        return self.run.average[no - self.start] if there else None


def look_at(db: Database, product_id: str, kind: Kind, wanted: Wanted, most: int) -> Looked:
    """The newest ``most`` wanted results of a product and kind, and all that they say."""
    trend, rules = trends.get_trend(db, product_id, kind, wanted, most, beside=True), trend_rules.current(db)
    notes = signal_notes.list_notes(db, product_id, kind)
    if not trend.points:
        return Looked(None, trend, 1, (), (), None, None, Advice("too_few"), None, {}, None, (), 0, (), rules)
    points, scale = trend.points, gear.get_scale(db, trend.scale_id)
    way, step = scale.lighter, scale.step / 100
    values = [point.value * way for point in points]
    bands = trends.bands_of(db, [p.target_version_id for p in points if p.target_version_id], kind)
    band = bands.get(points[-1].target_version_id or "")
    place = Place(product_id, kind, trend.scale_id, trend.method_version_id)
    baseline = baselines.find_baseline(db, place)
    judging = frozen_for(baseline, wanted, trend)
    frozen, start = frozen_run(judging, way, trend)
    found = stand(values, step, ends_of(band, way), rules.rules, rules.average, frozen, start)
    events = events_of(db, product_id, trend)
    kept = fewer(events, MOST_EVENTS)
    told = signals_of(found, events) if found.run and found.limits.frozen else ()
    told, earlier = with_notes(told, points, notes)
    if narrow(wanted):
        earlier = tuple(note for note in earlier if any(point.batch_id == note.batch_id for point in points))
    return Looked(
        scale, trend, way, tuple(values), tuple(moving_ranges(values)), found.limits, found.run, found.advice,
        found.capability, bands, band, kept, len(events) - len(kept), told, rules, judging,
        baseline if judging is None else None, found.start,
        hands.waiting_batches(db, product_id, kind, points[0].roasted_at, points[-1].roasted_at), earlier,
        None if baseline else baselines.frozen_elsewhere(db, place), tuple(events),
    )  # fmt: skip


def narrow(wanted: Wanted) -> bool:
    """Whether some of the batches in between are left out: what follows each other here did not at the machine."""
    return bool(wanted.machine_id or wanted.person_id or wanted.lot)


def frozen_for(baseline: Baseline | None, wanted: Wanted, trend: Trend) -> Baseline | None:
    """The frozen limits, where they judge what is shown.

    They do not where batches in between are left out: they stand for all of them. By them a machine that reads a little
    lighter than the others had "changed" with every batch, while who narrows wants to know whether it runs steadily in
    itself. And they say nothing of what is older than their own batches.
    """
    if baseline is None or narrow(wanted) or trend.points[-1].roasted_at < baseline.first_roasted_at:
        return None
    return baseline


def frozen_run(baseline: Baseline | None, way: int, trend: Trend) -> tuple[Limits | None, int]:
    """The limits of a baseline, mirrored as the values are, and the first point that they judge."""
    if baseline is None:
        return None, 0
    kept = baseline.limits
    start = bisect_left([point.roasted_at for point in trend.points], baseline.first_roasted_at)
    return frozen_limits(kept.batches, kept.centre * way, kept.sigma), start


def ends_of(band: Band | None, way: int) -> Ends | None:
    """Lower and upper limit of a band, mirrored as the values are."""
    if band is None:
        return None
    lower, _centre, upper = band
    return (lower, upper) if way > 0 else tuple(None if end is None else -end for end in (upper, lower))


def years_of(points: Sequence[TrendPoint]) -> bool:
    """Whether points in order of time are of more than one year."""
    return bool(points) and points[0].day[:4] != points[-1].day[:4]


def signals_of(found: Standing, events: list[Event]) -> tuple[Signalled, ...]:
    """Every episode of the rules and every excursion of the running mean, newest first."""
    run, start = found.run, found.start
    spans = [
        (one.signals[0].rule, one.signals[0].point, one.first, one.last, one.side == "above") for one in run.episodes
    ]
    for point, side in run.drifts:
        last = start + len(run.average)
        until = next((no for no in range(point, last) if run.average[no - start].signal != side), last)
        spans.append((0, point, point, until - 1, side == "above"))
    spans.sort(key=lambda one: (one[1], one[0]), reverse=True)
    return tuple(Signalled(*one, near=near(events, one[2] - REACH, one[1])) for one in spans)


def with_notes(
    told: Iterable[Signalled], points: tuple[TrendPoint, ...], notes: list[Note]
) -> tuple[tuple[Signalled, ...], tuple[Note, ...]]:
    """The signals with the newest note of each, and of every signal that fires no more its newest note, newest first.

    A note is about each signal of its side that goes over its batch: with later batches or new limits a signal may fire
    a batch sooner or later, or by another rule, than when it was noted.
    """
    place = {point.batch_id: no for no, point in enumerate(points)}
    found, about = [], set()
    for one in told:
        of_it = [n for n in notes if n.side == one.side and one.since <= place.get(n.batch_id, -1) <= one.until]
        about |= {note.signal for note in of_it}
        found.append(replace(one, note=of_it[-1] if of_it else None))
    left = {signal: said[-1] for signal, said in signal_notes.by_signal(notes).items() if signal not in about}
    return tuple(found), tuple(sorted(left.values(), key=lambda note: note.roasted_at, reverse=True))
