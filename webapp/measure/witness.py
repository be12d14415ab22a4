"""Roast loss as a second witness of the colour: which batches' loss and colour do not belong together.

Asked for by its own name (``webapp.measure.witness``), not through the package. Losses in percent, colours in scale
units. Both are looked at from the other: the line of the colour over the loss finds a sample that was not like its
batch, the line of the loss over the colour a mass that was not its own. Each sees little of the other's case, where a
batch lies far out along its line.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ._checks import not_negative, positive
from ._pairs import CONFIDENCE, Interval, pairs, t_quantile
from .response import LEAST_BATCHES, NoSpread, RoastLine, line_through, loss_percent
from .spread import median

__all__ = [
    "LEAST_BATCHES", "Doubt", "NoSpread", "Point", "Witness", "alarm_limit", "loss_percent", "studentized",
    "witness_of",
]  # fmt: skip

ALARMS = 1 - CONFIDENCE
"""Share of looks at batches that all belong together in which one is pointed at by chance (Bonferroni's bound)."""

LOSS_STEP = 0.1
"""Resolution of a roast loss, in percent: masses are weighed to some grams. Our own convention, no source."""


@dataclass(frozen=True)
class Point:
    """One batch beside the line of all. t: externally studentized residual, no unit; leverage: from 1/n to 1."""

    t: float
    leverage: float


@dataclass(frozen=True)
class Doubt:
    """A batch whose loss and colour do not belong together, by the lines of those that do.

    index     of the batch in what was given
    odd       what stands out more from the other: 'colour' or 'loss'
    expected  the colour that belongs to its loss (scale units), or the loss that belongs to its colour (percent)
    reach     where one more batch like it would lie, in 95 of 100 cases (prediction interval)
    t         how far it is from that, in standard deviations of one more batch
    """

    index: int
    odd: Literal["colour", "loss"]
    expected: float
    reach: Interval
    t: float


@dataclass(frozen=True)
class Witness:
    """What loss and colour of a run say about each other: see ``witness_of``.

    line      colour over loss, through the batches that agree
    limit     |t| above which a batch was pointed at, in the last look
    doubts    in the order of the batches; () where the loss does not tell the colour (``line.clear``)
    """

    line: RoastLine
    limit: float
    doubts: tuple[Doubt, ...]


def studentized(xs: Sequence[float], ys: Sequence[float], least: float = 0.0) -> list[Point]:
    """Each pair beside the straight line through all: its externally studentized residual and its leverage.

    t = e / (s(i) sqrt(1 - h)), with s(i) the residual standard deviation of the line without that pair: Student's t
    with n - 3 degrees of freedom for independent normal errors (Cook and Weisberg, Residuals and Influence in
    Regression, 1982, 2.2.1; Belsley, Kuh and Welsch, Regression Diagnostics, 1980, 2.1). ``least``: s(i) is never below
    it. Where a pair alone makes the line (h = 1) or nothing is off it, t is 0. Raises ValueError for fewer than four
    pairs, lists of unequal length or a non-finite number, and NoSpread if all xs are alike.
    """
    one, other = pairs(xs, ys, 4)
    floor = not_negative("least", least)
    line = line_through(one, other)
    rest = line.residual**2 * (line.n - 2)
    found = []
    for x, y in zip(one, other, strict=True):
        leverage = 1 / line.n + (x - line.roast_mean) ** 2 / line.roast_squares
        free, residual = 1 - leverage, y - line.at(x)
        if free < 1e-9:
            found.append(Point(0.0, 1.0))
            continue
        without = math.sqrt(max(0.0, (rest - residual**2 / free) / (line.n - 3)))
        spread = max(without, floor)
        found.append(Point(residual / (spread * math.sqrt(free)) if spread > 0 else 0.0, leverage))
    return found


def alarm_limit(batches: int) -> float:
    """|t| that none of so many batches passes either way in 95 of 100 looks, if all of them belong together.

    Bonferroni: the two-sided point of Student's t with batches - 3 degrees of freedom at 5 % divided by twice the
    batches, since each is looked at both ways (Weisberg, Applied Linear Regression, 1985, 5.3). Raises ValueError for
    fewer than four.
    """
    if batches < 4:
        raise ValueError(f"four batches at least, not {batches!r}")
    return t_quantile(1 - ALARMS / (4 * batches), batches - 3)


def witness_of(losses: Sequence[float], colours: Sequence[float], step: float) -> Witness:
    """Which batches' loss and colour disagree, for one product, machine and kind.

    Pointed at is what lies beyond ``alarm_limit`` from either line, and on the same side of both: what lies between the
    two lines is a batch that is darker or lighter as a whole. Those are taken out and the others looked at again, since
    a gross one hides smaller ones, until none is beyond. ``step``: the colour's resolution; no spread is taken below
    step / sqrt(12). Raises ValueError for lists of unequal length, fewer than ``LEAST_BATCHES`` batches, a non-finite
    number or a step that is not above zero, and NoSpread if the losses or the colours are all alike.
    """
    xs, ys = pairs(losses, colours, LEAST_BATCHES)
    floors = positive("step", step) / math.sqrt(12), LOSS_STEP / math.sqrt(12)
    left = list(range(len(xs)))
    while True:
        limit = alarm_limit(len(left))
        beyond = _beyond([xs[no] for no in left], [ys[no] for no in left], floors, limit)
        # A line needs batches that agree: with half of them gone there is none.
        if not beyond or len(left) - len(beyond) < max(LEAST_BATCHES - 1, len(xs) // 2):
            break
        left = [no for at, no in enumerate(left) if at not in beyond]
    there, read = [xs[no] for no in left], [ys[no] for no in left]
    line, back = line_through(there, read), line_through(read, there)
    gone = sorted(set(range(len(xs))) - set(left)) if line.clear else []
    return Witness(line, limit, tuple(_doubt(no, xs[no], ys[no], line, back, floors) for no in gone))


def _beyond(xs: list[float], ys: list[float], floors: tuple[float, float], limit: float) -> set[int]:
    """Indices of the pairs that are farther than ``limit`` from a line, and not between the two."""
    colour, loss = studentized(xs, ys, floors[0]), studentized(ys, xs, floors[1])
    falls = _falls(xs, ys)
    return {
        no
        for no, (one, other) in enumerate(zip(colour, loss, strict=True))
        if max(abs(one.t), abs(other.t)) > limit and (one.t * other.t > 0) == falls
    }


def _falls(xs: list[float], ys: list[float]) -> bool:
    """Whether more of one goes with less of the other: by the medians of the outer thirds (Tukey, Exploratory Data
    Analysis, 1977, chapter 5), which a gross one cannot turn round as it can a line."""
    points = sorted(zip(xs, ys, strict=True))
    third = len(points) // 3
    low, high = (median([y for _x, y in part]) for part in (points[:third], points[-third:]))
    return high < low if high != low else line_through(xs, ys).slope < 0


def _doubt(
    index: int, loss: float, colour: float, line: RoastLine, back: RoastLine, floors: tuple[float, float]
) -> Doubt:  # fmt: skip
    """The way it stands out more."""
    ways = [("colour", line, loss, colour, floors[0]), ("loss", back, colour, loss, floors[1])]
    found = []
    for odd, by, at, value, floor in ways:
        away = (at - by.roast_mean) ** 2 / by.roast_squares
        unit = max(by.residual, floor) * math.sqrt(1 + 1 / by.n + away)
        expected, half = by.at(at), t_quantile((1 + CONFIDENCE) / 2, by.n - 2) * unit
        found.append(Doubt(index, odd, expected, (expected - half, expected + half), (value - expected) / unit))
    return max(found, key=lambda one: abs(one.t))
