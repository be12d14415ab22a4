"""The drift chart's geometry: where every line and mark goes. templates/gear/drift.html draws it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from webapp.measure import show_value
from webapp.ui.numbers import decimal_mark

if TYPE_CHECKING:
    from webapp.gear.drift import Point

# Room beside the plot, in units of the picture.
LEFT, RIGHT, TOP, BOTTOM = 66, 14, 26, 50
# Checks further off than this many tolerances stand at the edge: they must not flatten everything else.
FARTHEST = 4


@dataclass(frozen=True)
class Mark:
    """One check. side: of the plate. left: where it was left by an adjustment, or None. beyond: it lies outside of the
    picture and stands at its edge."""

    x: float
    y: float
    failed: bool
    side: str
    left: float | None
    beyond: bool


@dataclass(frozen=True)
class Label:
    """A text at a place of its axis."""

    at: float
    text: str


@dataclass(frozen=True)
class DriftChart:
    """A chart in units of its viewBox. The paths are SVG path data; cuts: where a new segment begins. radius: of a
    mark; large: of one that must be seen among many."""

    width: int
    height: int
    left: int
    right: int
    top: int
    bottom: int
    zero: float
    marks: tuple[Mark, ...]
    cuts: tuple[float, ...]
    tolerance: str
    average: str
    limits: str
    ticks: tuple[Label, ...]
    days: tuple[Label, ...]
    radius: float
    large: float


def draw(points: list[Point], width: int, height: int, day: Callable[[str], str]) -> DriftChart:
    """The chart of some checks in order of time, evenly spaced. `day`: a stored time as a short text."""
    right, bottom = width - RIGHT, height - BOTTOM
    up, down = reach(points, 1), reach(points, -1)
    gap = (right - LEFT) / len(points)

    def x(no: float) -> float:
        return round(LEFT + (no + 0.5) * gap, 1)

    def y(above: float) -> float:
        return round(TOP + (up - max(-down, min(up, above))) / (up + down) * (bottom - TOP), 1)

    marks = tuple(
        Mark(
            x(no), y(point.found), not point.check.passed, "lighter" if point.found > 0 else "darker",
            None if point.left is None else y(point.left), not -down <= point.found <= up,
        )
        for no, point in enumerate(points)
    )  # fmt: skip
    tolerances = [point.check.tolerance for point in points]
    tick = max(tolerances)
    return DriftChart(
        width, height, LEFT, right, TOP, bottom, y(0.0), marks,
        tuple(x(no - 0.5) for no, point in enumerate(points) if point.starts and no),
        " ".join(steps(x, y, tolerances, sign) for sign in (1, -1)),
        path((x(no), y(point.average), point.starts) for no, point in enumerate(points) if point.average is not None),
        " ".join(
            path((x(no), y(sign * point.half), point.starts) for no, point in enumerate(points)
                 if point.half is not None)
            for sign in (1, -1)
        ).strip(),
        tuple(Label(y(way * tick), show_value(tick, 0.01, decimal_mark())) for way in (1, -1)),
        days_of(points, x, day, 6 if width > 600 else 3),
        round(max(2.5, min(7.0, gap * 0.42)), 1), round(max(5.0, min(7.0, gap * 0.42)), 1),
    )  # fmt: skip


def reach(points: list[Point], way: int) -> float:
    """How far the picture goes to one side (+1: lighter), in scale units."""
    tolerance = max(point.check.tolerance for point in points)
    wanted = [1.3 * tolerance]
    for point in points:
        wanted += [1.1 * way * value for value in (point.found, point.left, point.average) if value is not None]
        wanted += [1.1 * point.half] if point.half is not None else []
    return min(max(wanted), FARTHEST * tolerance)


def path(places: Iterable[tuple[float, float, bool]]) -> str:
    """A line through (x, y, whether a new piece begins here)."""
    made = ""
    for x, y, starts in places:
        made += f"{'M' if starts or not made else 'L'}{x} {y}"
    return made


def steps(x: Callable[[float], float], y: Callable[[float], float], tolerances: list[float], sign: int) -> str:
    """The tolerance on one side: level, with a step where it changed."""
    made, before = "", None
    for no, tolerance in enumerate(tolerances):
        if tolerance != before:
            made += f"{'M' if before is None else 'L'}{x(no - 0.5)} {y(sign * tolerance)}"
        made += f"L{x(no + 0.5)} {y(sign * tolerance)}"
        before = tolerance
    return made


def days_of(
    points: list[Point], x: Callable[[float], float], day: Callable[[str], str], most: int
) -> tuple[Label, ...]:
    """Some days below the axis, evenly spread, each only once."""
    last = len(points) - 1
    places = sorted({round(last * no / (most - 1)) for no in range(most)}) if last else [0]
    found = {}
    for no in places:
        found.setdefault(day(points[no].check.made_at), Label(x(no), day(points[no].check.made_at)))
    return tuple(found.values())
