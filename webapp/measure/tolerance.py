"""A band from history: where nearly all batches like these will lie.

Asked for by its own name (``webapp.measure.tolerance``), not through the package. Only for values that are nearly
normal: what has a long tail, or comes from two kinds of coffee, has no such band.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from statistics import NormalDist

from ._checks import TINY, finite_list, positive, whole
from ._pairs import CONFIDENCE, Interval, chi2_quantile, noncentral_t_quantile
from .rounding import round_half_even
from .spread import mean, standard_deviation

COVERAGE = 0.95


def _share(name: str, value: float) -> float:
    if not 0 < value < 1:
        raise ValueError(f"{name} must lie between 0 and 1, not {value!r}")
    return float(value)


def two_sided_factor(values: int, coverage: float = COVERAGE, confidence: float = CONFIDENCE) -> float:
    """k so that mean -/+ k standard deviations of ``values`` normal values hold a share ``coverage`` of all there are.

    They do so with ``confidence``. Howe's approximation: z((1 + coverage) / 2) * sqrt((n - 1) (1 + 1/n) /
    chi2(1 - confidence; n - 1)) (Howe, J Am Stat Assoc 1969; 64: 610-620; NIST/SEMATECH e-Handbook, 7.2.6.3).
    Raises ValueError for fewer than two values, or a share that is not between 0 and 1.
    """
    freedom = whole("values", values, 2) - 1
    z = NormalDist().inv_cdf((1 + _share("coverage", coverage)) / 2)
    return z * math.sqrt(freedom * (1 + 1 / values) / chi2_quantile(1 - _share("confidence", confidence), freedom))


def one_sided_factor(values: int, coverage: float = COVERAGE, confidence: float = CONFIDENCE) -> float:
    """The same for one limit, mean + k standard deviations (or -): exact.

    t(confidence; n - 1, z(coverage) sqrt(n)) / sqrt(n) with the non-central t (NIST/SEMATECH e-Handbook, 7.2.6.3).
    Raises ValueError as ``two_sided_factor`` does.
    """
    root = math.sqrt(whole("values", values, 2))
    shift = NormalDist().inv_cdf(_share("coverage", coverage)) * root
    return noncentral_t_quantile(_share("confidence", confidence), values - 1, shift) / root


def tolerance_band(values: Sequence[float], coverage: float = COVERAGE, confidence: float = CONFIDENCE) -> Interval:
    """Two limits that hold a share ``coverage`` of all batches like these with ``confidence``, in the values' unit.

    Raises ValueError for a non-finite number, and as ``two_sided_factor`` does.
    """
    numbers = finite_list("values", values)
    half = two_sided_factor(len(numbers), coverage, confidence) * standard_deviation(numbers)
    return mean(numbers) - half, mean(numbers) + half


LEAST_REFERENCE = 10
"""Fewer batches give no band. Our own convention, no source: the factor is 3.4 there, and 2.2 with a hundred."""

ENOUGH_REFERENCE = 20
"""Below so many the factor grows fast, and with it the band: 2.75 here, 2.23 with a hundred. Our own convention."""


@dataclass(frozen=True)
class Proposal:
    """A band from reference batches, in whole steps of the scale: lower and upper rounded outward, centre to the next
    one (half to even). exact: the limits before that; factor: standard deviations on each side of the mean."""

    lower: Decimal
    centre: Decimal
    upper: Decimal
    exact: Interval
    mean: float
    deviation: float
    factor: float


def propose_band(
    values: Sequence[float], step: float, coverage: float = COVERAGE, confidence: float = CONFIDENCE
) -> Proposal:
    """The band that reference batches give: ``tolerance_band``, in steps of the scale. Values and step in scale units.

    Rounded outward, so that the band never holds less than was asked for; at least one step wide on each side of the
    centre. Raises ValueError for fewer than ``LEAST_REFERENCE`` values, a non-finite number, a share that is not
    between 0 and 1, or a step that is not above zero.
    """
    numbers = finite_list("values", values)
    if len(numbers) < LEAST_REFERENCE:
        raise ValueError(f"{LEAST_REFERENCE} batches at least, not {len(numbers)}")
    unit = Decimal(str(positive("step", step)))
    factor = two_sided_factor(len(numbers), coverage, confidence)
    middle, deviation = mean(numbers), standard_deviation(numbers)
    exact = middle - factor * deviation, middle + factor * deviation
    centre = round_half_even(middle, step)
    lower, upper = _steps_out(exact[0], unit, down=True), _steps_out(exact[1], unit, down=False)
    return Proposal(min(lower, centre - unit), centre, max(upper, centre + unit), exact, middle, deviation, factor)


def _steps_out(value: float, unit: Decimal, down: bool) -> Decimal:
    """The next whole step away from the middle; what is a billionth of a step off one is that one."""
    steps = Decimal(value) / unit
    allowed = Decimal(str(TINY))
    whole_steps = (steps + allowed).to_integral_value(ROUND_FLOOR) if down else (steps - allowed).to_integral_value(
        ROUND_CEILING
    )  # fmt: skip
    return whole_steps * unit
