"""The run of single values, batch by batch: individuals and moving-range chart.

Asked for by its own name (``webapp.measure.charts``), not through the package. All in the unit of the values.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ._checks import finite_list
from .control import RANGE_FACTOR, sigma_of_ranges
from .spread import mean

LEAST_BASELINE = 20
"""Values from which limits may be frozen, and before which no advice is given. Common practice, no source."""

LIMIT_FACTOR = 3 / RANGE_FACTOR
"""Limits of a single value in mean moving ranges: 3/d2 of two, 2.66 in the published tables."""

RANGE_LIMIT_FACTOR = 1 + 3 * math.sqrt(2 - 4 / math.pi) / RANGE_FACTOR
"""Limit of a moving range in mean moving ranges: D4 of two, 1 + 3 d3/d2, 3.267 in the published tables."""


@dataclass(frozen=True)
class Limits:
    """What steady values do: see ``limits_of``.

    values    how many values it was worked out from
    centre    their mean; lower, upper: centre -/+ 3 sigma
    sigma     of one value, from the moving ranges
    range_centre, range_upper   of the moving ranges; their lower limit is zero
    floored   the values scatter less than rounding alone makes them: sigma is that of rounding
    """

    values: int
    centre: float
    sigma: float
    lower: float
    upper: float
    range_centre: float
    range_upper: float
    floored: bool

    @property
    def frozen(self) -> bool:
        """Whether there were enough values to freeze these limits as a baseline."""
        return self.values >= LEAST_BASELINE


def moving_ranges(values: Sequence[float]) -> list[float]:
    """How far each value is from the one before it; one fewer than values, [] for none or one.

    Raises ValueError for a non-finite number.
    """
    numbers = finite_list("values", values) if len(values) else []
    return [abs(later - earlier) for earlier, later in zip(numbers, numbers[1:], strict=False)]


def limits_of(values: Sequence[float], step: float) -> Limits:
    """Centre and limits of values in order of time, for themselves or, frozen, for those that come after.

    Mean -/+ 2.66 mean moving ranges, and 3.267 mean moving ranges for a moving range (NIST/SEMATECH e-Handbook, 6.3.2.2
    and the factors of 6.3.2.1, here unrounded). ``step``: the resolution of the values; sigma is never below
    step / sqrt(12), so that equal values still have limits. Raises ValueError for fewer than two values, a
    non-finite number, or a step that is not above zero.
    """
    numbers = finite_list("values", values)
    if len(numbers) < 2:
        raise ValueError("limits need at least two values")
    average, centre = mean(moving_ranges(numbers)), mean(numbers)
    sigma = sigma_of_ranges(average, step)
    widest = RANGE_FACTOR * sigma
    return Limits(
        len(numbers), centre, sigma, centre - 3 * sigma, centre + 3 * sigma, average, RANGE_LIMIT_FACTOR * widest,
        sigma > average / RANGE_FACTOR,
    )  # fmt: skip


def sigma_degrees(values: int) -> float:
    """Degrees of freedom behind a sigma from the moving ranges of so many values.

    Those of the chi-square whose relative variance is that of the mean moving range of independent normal values:
    neighbouring ranges share a value, and E|AB| = (4/pi) (sqrt(3)/2 + pi/12) sigma^2 for two that do (the absolute
    moment of two normal differences with correlation -1/2). About 0.6 per value. Raises ValueError for fewer than two
    values.
    """
    if values < 2:
        raise ValueError("a moving range needs two values")
    ranges, square = values - 1, RANGE_FACTOR**2
    alone = 2 - square
    shared = (4 / math.pi) * (math.sqrt(3) / 2 + math.pi / 12) - square
    relative = (ranges * alone + 2 * (ranges - 1) * shared) / (ranges**2 * square)
    return 1 / (2 * relative)
