"""Roast loss as a second witness of the colour: which batches' loss and colour do not belong together.

Asked for by its own name (``webapp.measure.witness``), not through the package. Losses in percent, colours in scale
units. The line is the colour's on the loss, and not the other way round: the loss is weighed and nearly exact against
what it varies, while a colour carries its fills and readings, and least squares wants the error in what is explained.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ._checks import not_negative, positive
from ._pairs import CONFIDENCE, Interval, pairs, t_quantile
from .response import LEAST_BATCHES, NoSpread, RoastLine, line_through

ALARMS = 1 - CONFIDENCE
"""Share of looks at batches that all belong together in which one is pointed at by chance (Bonferroni's bound)."""

ALONE = 0.5
"""Leverage above which a batch has more say in what is expected of it than all others together (Huber, Robust
Statistics, 1981, 7.2.1, advises against points of 0.5 and more)."""


@dataclass(frozen=True)
class Point:
    """One batch beside the line of all. t: externally studentized residual, no unit; leverage: from 1/n to 1."""

    t: float
    leverage: float


@dataclass(frozen=True)
class Doubt:
    """A batch whose loss and colour do not belong together, by the line of those that do.

    index     of the batch in what was given
    expected  the colour that belongs to its loss, and where one more batch of that loss would lie (prediction interval)
    t         how far its own colour is from that, in standard deviations of one more batch
    alone     its loss is so far from all others' that the line is hardly known there: see ``ALONE``
    """

    index: int
    expected: float
    reach: Interval
    t: float
    alone: bool


@dataclass(frozen=True)
class Witness:
    """What loss and colour of a run say about each other: see ``witness_of``.

    line      colour over loss, through the batches that agree
    points    every batch beside the line through all of them
    limit     |t| above which a batch was pointed at, in the last look
    doubts    in the order of the batches; () where the line does not tell the colour from the loss (``line.clear``)
    """

    line: RoastLine
    points: tuple[Point, ...]
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
    """|t| that none of so many batches passes in 95 of 100 looks, if all of them belong together.

    Bonferroni: the two-sided point of Student's t with batches - 3 degrees of freedom at 5 % divided by the batches
    (Weisberg, Applied Linear Regression, 1985, 5.3). Raises ValueError for fewer than four.
    """
    if batches < 4:
        raise ValueError(f"four batches at least, not {batches!r}")
    return t_quantile(1 - ALARMS / (2 * batches), batches - 3)


def witness_of(losses: Sequence[float], colours: Sequence[float], step: float) -> Witness:
    """Which batches' loss and colour disagree, for one product, machine and kind.

    Those beyond ``alarm_limit`` are taken out of the line and the others are looked at again, since a gross one hides
    smaller ones, until none is beyond it. ``step``: the colour's resolution; no spread is taken below step / sqrt(12).
    Raises ValueError for lists of unequal length, fewer than ``LEAST_BATCHES`` batches, a non-finite number or a step
    that is not above zero, and NoSpread if the losses are all alike.
    """
    xs, ys = pairs(losses, colours, LEAST_BATCHES)
    floor = positive("step", step) / math.sqrt(12)
    points = tuple(studentized(xs, ys, floor))
    left, now = list(range(len(xs))), list(points)
    while True:
        limit = alarm_limit(len(left))
        beyond = {no for no, point in zip(left, now, strict=True) if abs(point.t) > limit}
        # A line needs batches that agree: with half of them gone there is none.
        if not beyond or len(left) - len(beyond) < max(LEAST_BATCHES - 1, len(xs) // 2):
            break
        left = [no for no in left if no not in beyond]
        try:
            now = studentized([xs[no] for no in left], [ys[no] for no in left], floor)
        except NoSpread:
            break
    line = line_through([xs[no] for no in left], [ys[no] for no in left])
    gone = sorted(set(range(len(xs))) - set(left)) if line.clear else []
    return Witness(line, points, limit, tuple(_doubt(line, no, xs[no], ys[no], floor) for no in gone))


def _doubt(line: RoastLine, index: int, loss: float, colour: float, floor: float) -> Doubt:
    away = (loss - line.roast_mean) ** 2 / line.roast_squares
    unit = max(line.residual, floor) * math.sqrt(1 + 1 / line.n + away)
    expected = line.at(loss)
    # The leverage that it would have among the others: what it adds to them, over what there then is.
    outside = 1 / line.n + away
    half = t_quantile((1 + CONFIDENCE) / 2, line.n - 2) * unit
    return Doubt(
        index, expected, (expected - half, expected + half), (colour - expected) / unit,
        outside / (1 + outside) > ALONE,
    )  # fmt: skip


def loss_percent(green_g: int, roasted_g: int) -> float:
    """Roast loss in percent of the green mass: 100 g to 87.5 g is 12.5 (both in one unit, above zero)."""
    return 100 * (positive("green_g", green_g) - positive("roasted_g", roasted_g)) / green_g

