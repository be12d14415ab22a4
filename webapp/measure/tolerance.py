"""A band from history: where nearly all batches like these will lie.

Asked for by its own name (``webapp.measure.tolerance``), not through the package. Only for values that are nearly
normal: what has a long tail, or comes from two kinds of coffee, has no such band.
"""

import math
from collections.abc import Sequence
from statistics import NormalDist

from ._checks import finite_list, whole
from ._pairs import CONFIDENCE, Interval, chi2_quantile, noncentral_t_quantile
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
