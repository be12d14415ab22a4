"""Is a meter still what it was: its checks in order of time, and a check standard's history.

Asked for by its own name (``webapp.measure.control``), not through the package. ``check_standard`` alone needs a
quantile from scipy, which is loaded when it is called; a bench page that draws an EWMA loads none.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import repeat
from typing import Literal, NamedTuple

from ._checks import TINY, finite, finite_list, not_negative, positive, whole
from ._pairs import CONFIDENCE, f_quantile
from .spread import mean, standard_deviation

Signal = Literal["above", "below"]

WEIGHT = 0.2
WIDTH = 2.962
"""Weight and width of limits for one false alarm in 500 on steady data, and a shift of one sigma found after ten
or eleven (Lucas and Saccucci, Technometrics 1990; 32: 1-12, table 3: asymptotic limits)."""

RANGE_FACTOR = 2 / math.sqrt(math.pi)
"""Mean range of two normal values in standard deviations: d2 of two, 1.128. No unit."""


class EwmaPoint(NamedTuple):
    """One point of the chart, in the unit of the values: the weighted mean so far and its limits.

    ``signal``: 'above' or 'below' the limits, as numbers; None between them.
    """

    value: float
    lower: float
    upper: float
    signal: Signal | None


@dataclass(frozen=True)
class CheckStandard:
    """What the history of a check standard says, in the unit of its values.

    mean            of the occasions' means
    day_sd, day_df  level 2: standard deviation of the occasions' means, and its degrees of freedom
    short_sd, short_df  level 1: standard deviation within an occasion, pooled
    limits_2, limits_3  (lower, upper) for an occasion's mean, with coverage factors 2 and 3
    short_limit     the largest standard deviation that one occasion may show (one-sided, 95 %)
    """

    mean: float
    day_sd: float
    day_df: int
    short_sd: float
    short_df: int
    limits_2: tuple[float, float]
    limits_3: tuple[float, float]
    short_limit: float


def ewma(
    values: Sequence[float],
    centre: float,
    sigma: float,
    weight: float = WEIGHT,
    width: float = WIDTH,
    exact: bool = True,
) -> list[EwmaPoint]:
    """The exponentially weighted moving average of values in order of time, one point for each; [] for none.

    It starts at ``centre``; each value counts ``weight`` and what was before 1 - weight. ``sigma`` is the
    standard deviation of one value. All in the unit of the values. Limits: centre -/+ width * sigma *
    sqrt(w/(2-w) * (1 - (1-w)^(2i))) at point i, or what that comes to in the end (``exact=False``), which lets
    an early shift pass for longer. A point on its limit gives no signal, and neither does one a billionth of
    sigma beyond. It goes on after a signal as before. Source: NIST/SEMATECH e-Handbook, 6.3.2.4; exact limits:
    Lucas and Saccucci 1990. Raises ValueError for a non-finite number, a sigma or width that is not above zero,
    or a weight that is not above 0 and at most 1.
    """
    numbers = finite_list("values", values) if len(values) else []
    now = finite("centre", centre)
    if positive("weight", weight) > 1:
        raise ValueError(f"weight must be at most 1, not {weight!r}")
    final = positive("width", width) * positive("sigma", sigma) * math.sqrt(weight / (2 - weight))
    points, beyond = [], TINY * sigma
    for number, share in zip(numbers, _reached(weight, len(numbers)) if exact else repeat(1.0), strict=False):
        now = weight * number + (1 - weight) * now
        half = final * share
        lower, upper = centre - half, centre + half
        signal: Signal | None = None
        # As exceeds: said out here, since this is asked of every value of a run at every sample that is stored.
        if now - upper > beyond:
            signal = "above"
        elif lower - now > beyond:
            signal = "below"
        points.append(EwmaPoint(now, lower, upper, signal))
    return points


@lru_cache(64)
def _reached(weight: float, points: int) -> tuple[float, ...]:
    """At each point, what share of their final width the exact limits have."""
    return tuple(math.sqrt(1 - (1 - weight) ** (2 * i)) for i in range(1, points + 1))


def first_signal(points: Sequence[EwmaPoint]) -> int | None:
    """The index of the first point that signals, or None if none does."""
    return next((i for i, point in enumerate(points) if point.signal is not None), None)


def moving_range_sigma(segments: Sequence[Sequence[float]], step: float) -> tuple[float, int]:
    """(standard deviation of one value, number of moving ranges it stands on), in the unit of the values.

    ``segments``: values in order of time, cut where the meter was adjusted. The mean of the differences between
    neighbours, divided by ``RANGE_FACTOR`` (individuals chart, NIST/SEMATECH e-Handbook, 6.3.2.2, which rounds
    it to 1.128). No range reaches across a cut: an adjustment is no scatter. Never below step / sqrt(12), the
    scatter of rounding alone (JCGM 100:2008, F.2.2.1), which is also the answer where there is no range. Raises
    ValueError for a non-finite number, or a step that is not above zero.
    """
    ranges = []
    for segment in segments:
        numbers = finite_list("segments", segment) if len(segment) else []
        ranges += [abs(later - earlier) for earlier, later in zip(numbers, numbers[1:], strict=False)]
    return sigma_of_ranges(mean(ranges) if ranges else 0.0, step), len(ranges)


def sigma_of_ranges(average: float, step: float) -> float:
    """The same from the mean moving range itself."""
    return max(average / RANGE_FACTOR, positive("step", step) / math.sqrt(12))


def check_standard(means: Sequence[float], sds: Sequence[float], replicates: int) -> CheckStandard:
    """What the occasions on which a check standard was measured say about the measurement.

    ``means`` and ``sds``: mean and standard deviation of each occasion, every one of ``replicates`` readings.
    Level 1 pools the standard deviations, level 2 is the standard deviation of the means; limits for a mean are
    mean -/+ 2 and 3 times level 2, the limit for an occasion's own standard deviation is level 1 *
    sqrt(F(0.95; replicates - 1, its degrees of freedom)). Source: NIST/SEMATECH e-Handbook, 2.1.2 and 2.6.2.
    Raises ValueError for fewer than two occasions, lists of unequal length, fewer than two replicates, a
    non-finite number or a negative standard deviation.
    """
    occasions, within = finite_list("means", means), [not_negative("sds", sd) for sd in sds]
    if len(occasions) != len(within):
        raise ValueError(f"as many means as standard deviations, not {len(occasions)} and {len(within)}")
    degrees = whole("replicates", replicates, 2) - 1
    centre, day = mean(occasions), standard_deviation(occasions)
    short, short_df = math.sqrt(mean([sd * sd for sd in within])), degrees * len(within)
    return CheckStandard(
        mean=centre,
        day_sd=day,
        day_df=len(occasions) - 1,
        short_sd=short,
        short_df=short_df,
        limits_2=(centre - 2 * day, centre + 2 * day),
        limits_3=(centre - 3 * day, centre + 3 * day),
        short_limit=short * math.sqrt(f_quantile(CONFIDENCE, degrees, short_df)),
    )
