"""The straight line through pairs of which both have errors."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ._checks import positive
from ._pairs import CONFIDENCE, Interval, around, pairs, t_quantile
from .spread import mean, sum_of_squares

NO_COVARIANCE = 1e-12
"""A correlation this small is the rounding of zero."""


class NoLine(ValueError):
    """The pairs have no straight line: the first values are all equal, or the second do not go with them."""


@dataclass(frozen=True)
class Deming:
    """The line second = intercept + slope * first: see ``deming``. Intervals are 95 % ones; slope has no unit."""

    n: int
    slope: float
    intercept: float
    slope_se: float
    intercept_se: float
    slope_interval: Interval
    intercept_interval: Interval


def _line(x: Sequence[float], y: Sequence[float], ratio: float) -> tuple[float, float]:
    """(slope, intercept)."""
    mean_x, mean_y, sxx, syy = mean(x), mean(y), sum_of_squares(x), sum_of_squares(y)
    if sxx == 0:
        raise NoLine("no line: the first values are all equal")
    if syy == 0:
        return 0.0, mean_y
    by_x, by_y = [a - mean_x for a in x], [b - mean_y for b in y]
    sxy = math.fsum(a * b for a, b in zip(by_x, by_y, strict=True)) - math.fsum(by_x) * math.fsum(by_y) / len(x)
    if abs(sxy) <= NO_COVARIANCE * math.sqrt(sxx) * math.sqrt(syy):
        raise NoLine("no line: the second values do not go with the first")
    excess = syy - ratio * sxx
    root = math.hypot(excess, 2 * math.sqrt(ratio) * sxy)
    # Two forms of one root; each is taken where it does not subtract nearly equal numbers.
    slope = (excess + root) / (2 * sxy) if excess >= 0 else 2 * ratio * sxy / (root - excess)
    return slope, mean_y - slope * mean_x


def deming(x: Sequence[float], y: Sequence[float], ratio: float = 1.0) -> Deming:
    """The straight line through pairs that both have errors: y = intercept + slope * x.

    ``ratio``: variance of y's errors divided by that of x's (some write it the other way round). Slope =
    (e + sqrt(e^2 + 4 ratio Sxy^2)) / (2 Sxy) with e = Syy - ratio Sxx; standard errors by leaving out one pair at
    a time (jackknife), 95 % intervals with t and n - 2 degrees of freedom. Source: Deming, Statistical Adjustment
    of Data, 1943; Linnet, Clin Chem 1993; 39: 424-432. Pairs on a line give that line with standard errors of
    zero, up to rounding; equal y a level one. Raises NoLine (a ValueError) where there is no line (all x equal; y
    does not go with x), be it only without one of the pairs; ValueError for fewer than three pairs, lists of unequal
    length, a non-finite number, or a ratio that is not above zero.
    """
    one, other = pairs(x, y, 3)
    positive("ratio", ratio)
    n, (slope, intercept) = len(one), _line(one, other, ratio)
    without = [_line(one[:i] + one[i + 1 :], other[:i] + other[i + 1 :], ratio) for i in range(n)]
    slope_se, intercept_se = (
        math.sqrt((n - 1) / n * sum_of_squares(estimates)) for estimates in zip(*without, strict=True)
    )
    t = t_quantile((1 + CONFIDENCE) / 2, n - 2)
    return Deming(
        n, slope, intercept, slope_se, intercept_se,
        around(slope, t * slope_se), around(intercept, t * intercept_se),
    )  # fmt: skip
