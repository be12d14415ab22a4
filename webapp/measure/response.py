"""How the colour answers to the roast: a straight line of the result on something recorded of each batch.

Asked for by its own name (``webapp.measure.response``), not through the package. Results in scale units, the roast in
its own (degrees, seconds). Intervals are 95 % ones.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ._checks import finite, positive
from ._pairs import CONFIDENCE, Interval, around, pairs, t_quantile
from .spread import mean, sum_of_squares

LEAST_BATCHES = 15
"""Fewer batches say nothing about the roast. Our own convention, no source."""


class NoSpread(ValueError):
    """All batches were roasted alike: nothing can be said about what a change would do."""


@dataclass(frozen=True)
class RoastLine:
    """A straight line of results over a roast variable x: intercept + slope * x. See ``response_of``.

    residual  standard deviation of a result around the line, with n - 2 degrees of freedom
    low, high  the least and the most of the roast that it was seen with: the line says nothing beyond
    roast_mean, roast_squares  mean of the roast, and sum of its squared deviations
    """

    n: int
    slope: float
    slope_interval: Interval
    intercept: float
    residual: float
    low: float
    high: float
    roast_mean: float
    roast_squares: float

    @property
    def clear(self) -> bool:
        """Whether the slope's interval leaves out zero: there is a response, and its direction is known."""
        low, high = self.slope_interval
        return low > 0 or high < 0

    def at(self, roast: float) -> float:
        """The mean result at this roast."""
        return self.intercept + self.slope * finite("roast", roast)

    def next_at(self, roast: float) -> Interval:
        """Where one next batch at this roast will read, in 95 of 100 cases: the prediction interval."""
        away = roast - self.roast_mean
        half = self.residual * math.sqrt(1 + 1 / self.n + away * away / self.roast_squares)
        return around(self.at(roast), t_quantile((1 + CONFIDENCE) / 2, self.n - 2) * half)


@dataclass(frozen=True)
class Change:
    """A change of the roast and what it does: see ``change_for``. by: add this to the roast; reads: where the next
    batch will then read (prediction interval); known: the roast then lies among those that the line was seen with."""

    by: float
    reads: Interval
    known: bool


def response_of(roast: Sequence[float], results: Sequence[float]) -> RoastLine:
    """The line through batches of one product and machine, by least squares.

    The slope's interval is slope -/+ t(0.975; n - 2) * residual / sqrt(sum of squares of the roast) (Draper and Smith,
    Applied Regression Analysis, chapter 1; the same as in scipy.stats.linregress). Raises ValueError for lists of
    unequal length, fewer than ``LEAST_BATCHES`` batches or a non-finite number, and NoSpread if the roast never
    changed.
    """
    return line_through(*pairs(roast, results, LEAST_BATCHES))


def line_through(xs: list[float], ys: list[float]) -> RoastLine:
    """As ``response_of``, from three finite pairs on: for lines that are looked at and not acted upon."""
    n, x_mean, y_mean = len(xs), mean(xs), mean(ys)
    squares = sum_of_squares(xs)
    # Equal numbers leave a rest in the last bits of the mean only.
    if squares <= n * (1e-12 * max(1.0, abs(x_mean))) ** 2:
        raise NoSpread("the roast never changed")
    slope = math.fsum((x - x_mean) * (y - y_mean) for x, y in zip(xs, ys, strict=True)) / squares
    rest = math.fsum((y - y_mean - slope * (x - x_mean)) ** 2 for x, y in zip(xs, ys, strict=True))
    residual = math.sqrt(rest / (n - 2))
    half = t_quantile((1 + CONFIDENCE) / 2, n - 2) * residual / math.sqrt(squares)
    return RoastLine(
        n, slope, around(slope, half), y_mean - slope * x_mean, residual, min(xs), max(xs), x_mean, squares
    )  # fmt: skip


def change_for(line: RoastLine, roast: float, wanted: float) -> Change | None:
    """The change of the roast from ``roast`` that moves the mean result by ``wanted`` scale units; None if the slope
    may be zero: then nobody knows. Raises ValueError for a non-finite number.
    """
    if not line.clear:
        return None
    by = finite("wanted", wanted) / line.slope
    then = finite("roast", roast) + by
    return Change(by, line.next_at(then), line.low <= then <= line.high)


def loss_percent(green_g: int, roasted_g: int) -> float:
    """Roast loss in percent of the green mass: 1000 g to 875 g is 12.5 (both in one unit, above zero)."""
    return 100 * (positive("green_g", green_g) - positive("roasted_g", roasted_g)) / green_g
