"""The small run chart of a month's report, as numbers for a template. Lighter is up, whichever way the scale runs."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.measure import show_value
from webapp.store.kind_months import KindMonth
from webapp.ui.axes import Axis, reach
from webapp.ui.numbers import decimal_mark

LEFT, RIGHT, TOP, BOTTOM = 52, 636, 8, 84
# Marks shrink with their number, down to what print still shows.
LARGEST, SMALLEST = 0.5, 0.26


@dataclass(frozen=True)
class Mark:
    """A batch: place, verdict ('' for none), side, whether something fired at it, whether its meter is proven."""

    x: float
    y: float
    verdict: str
    side: str
    fired: bool
    proven: bool


@dataclass(frozen=True)
class Drawing:
    """size: of a mark, of 24 units; rails: (x1, x2, y of the upper edge, height, edges there are) of each band; mean:
    y; ticks: (y, text) of the limits, and of the mean where it has room."""

    marks: tuple[Mark, ...]
    size: float
    rails: tuple[tuple[float, float, float, float, tuple[float, ...]], ...]
    mean: float
    ticks: tuple[tuple[float, str], ...]


def draw(it: KindMonth) -> Drawing:
    """One mark for each batch, evenly spaced in order of roasting, over the bands that they were judged by."""
    step, points = it.scale.step / 100, it.points
    bands = {id: band for id, band in it.bands.items() if any(point.target_version_id == id for point in points)}
    limits = [end for band in bands.values() for end in (band[0], band[2]) if end is not None]
    y = Axis(reach([point.value for point in points] + limits, step), BOTTOM, TOP, it.scale.lighter, step)
    gap = (RIGHT - LEFT) / len(points)
    fired = {one.point.batch_id for one in it.signals}
    marks = tuple(
        Mark(
            round(LEFT + gap * (no + 0.5), 1), y.at(point.value), point.verdict or "", point.side or "",
            point.batch_id in fired, point.proven,
        )
        for no, point in enumerate(points)
    )  # fmt: skip
    shown = sorted({*limits, it.mean})
    texts = tuple((y.at(value), show_value(value, step, decimal_mark())) for value in apart(shown, y))
    size = max(SMALLEST, min(LARGEST, gap * 1.3 / 24))
    return Drawing(marks, size, tuple(rails(it, gap, y)), y.at(it.mean), texts)


def rails(it: KindMonth, gap: float, y: Axis):
    """Each band as far as it was in force."""
    begun = 0
    for no in range(1, len(it.points) + 1):
        version = it.points[begun].target_version_id or ""
        if no < len(it.points) and (it.points[no].target_version_id or "") == version:
            continue
        if version in it.bands:
            lower, _centre, upper = it.bands[version]
            ends = [y.at(end) if end is not None else None for end in (lower, upper)]
            open_ends = (TOP, BOTTOM) if it.scale.lighter < 0 else (BOTTOM, TOP)
            low, high = sorted(end if end is not None else open_ends[at] for at, end in enumerate(ends))
            there = tuple(end for end in ends if end is not None)
            yield round(LEFT + gap * begun, 1), round(LEFT + gap * no, 1), low, round(high - low, 1), there
        begun = no


def apart(values: list[float], y: Axis, least: float = 14) -> list[float]:
    """Those that can be written below each other; the limits before the mean."""
    kept: list[float] = []
    for value in sorted(values, key=lambda one: one not in (values[0], values[-1])):
        if all(abs(y.at(value) - y.at(other)) >= least for other in kept):
            kept.append(value)
    return kept
