"""What the drift page shows: is a meter moving away from its plate, and since when?

Everything here counts lighter as above, whichever way the meter's scale runs.
"""

from __future__ import annotations

from dataclasses import dataclass

from flask_babel import format_date
from sqlite_utils import Database

from webapp.gear.drift_chart import DriftChart, draw
from webapp.gear.off_plate import off_plate, size
from webapp.measure import control
from webapp.store import times
from webapp.store.check_history import PastCheck, history, segments
from webapp.store.gear import Meter
from webapp.ui.filters import site_zone

SHOWN = 120
# Fewer moving ranges than this say too little about how far a check scatters by itself.
LEAST_RANGES = 5


@dataclass(frozen=True)
class Point:
    """One check on the chart, in scale units, lighter above. average, half: the running mean of its segment and how
    far its limits are from zero; None before there are limits. starts: it is the first after a cut."""

    check: PastCheck
    found: float
    left: float | None
    average: float | None
    half: float | None
    starts: bool


@dataclass(frozen=True)
class Signal:
    """The first time that the running mean of the present segment left its limits.

    lighter: to which side. over: it has come back since. day: in words.
    """

    check: PastCheck
    lighter: bool
    over: bool
    day: str


@dataclass(frozen=True)
class Row:
    """A line of the table, as text; empty where there is nothing."""

    check: PastCheck
    found: str
    left: str
    average: str
    half: str
    starts: bool


@dataclass(frozen=True)
class Drift:
    """Everything on the page. more: checks that are missing before there are limits; 0 when there are. since: the day
    of the first check of the present segment, in words; "" when the next one will be the first."""

    meter: Meter
    points: list[Point]
    rows: list[Row]
    more: int
    signal: Signal | None
    since: str
    wide: DriftChart | None
    slim: DriftChart | None


def drift(db: Database, meter: Meter) -> Drift:
    """What a meter's checks say, from the newest 500; the newest 120 are shown."""
    cut = segments(history(db, meter.id))
    way, step = meter.scale.lighter, meter.scale.step / 100
    values = [[check.found * way for check in segment] for segment in cut]
    sigma, ranges = control.moving_range_sigma(values, step)
    enough = ranges >= LEAST_RANGES
    # The first check of a new segment has no neighbour yet, and so no range.
    more = 0 if enough else LEAST_RANGES - ranges + (not cut[-1])
    points: list[Point] = []
    for segment, numbers in zip(cut, values, strict=True):
        run = control.ewma(numbers, 0.0, sigma) if enough else [None] * len(numbers)
        for no, (check, number, at) in enumerate(zip(segment, numbers, run, strict=True)):
            left = None if check.left_off is None else check.left_off * way
            average, half = (at.value, at.upper) if at else (None, None)
            points.append(Point(check, number, left, average, half, no == 0 and bool(points)))
    shown = points[-SHOWN:]
    since = day_words(cut[-1][0].made_at) if cut[-1] else ""
    return Drift(
        meter, shown, [row(point, meter) for point in reversed(shown)], more,
        signal(cut[-1], values[-1], sigma) if enough else None, since,
        draw(shown, 900, 340, day_short) if shown else None, draw(shown, 358, 300, day_short) if shown else None,
    )  # fmt: skip


def signal(segment: list[PastCheck], values: list[float], sigma: float) -> Signal | None:
    """The first signal of a segment, or None. `values`: its deviations, lighter above."""
    run = control.ewma(values, 0.0, sigma)
    first = control.first_signal(run)
    if first is None:
        return None
    check = segment[first]
    return Signal(check, run[first].signal == "above", run[-1].signal is None, day_words(check.made_at))


def row(point: Point, meter: Meter) -> Row:
    """A point as text."""
    scale = meter.scale

    def off(above: float | None) -> str:
        return "" if above is None else off_plate(above * scale.lighter, scale)

    half = "" if point.half is None else size(point.half, scale)
    return Row(point.check, off(point.found), off(point.left), off(point.average), half, point.starts)


def _day(text: str, shape: str) -> str:
    return format_date(times.from_text(text).astimezone(site_zone()).date(), shape)


def day_words(text: str) -> str:
    """Stored time -> `12 May` at the site."""
    return _day(text, "d MMMM")


def day_short(text: str) -> str:
    """Stored time -> `12 May`, short."""
    return _day(text, "d MMM")
