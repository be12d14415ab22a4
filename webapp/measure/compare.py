"""Two meters, grinders, settings or methods on the same coffees: do they say the same.

Asked for by its own name (``webapp.measure.compare``), not through the package: t quantiles come from scipy, which
is loaded when one is needed. All values are in scale units unless a docstring says otherwise.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ._checks import TINY, exceeds, finite, finite_list, not_negative, positive, whole
from ._pairs import CONFIDENCE, Interval, around, pairs, t_below, t_quantile
from .critical import critical_difference_one_lab, critical_difference_reference, critical_difference_two_labs
from .deming import Deming, NoLine, deming
from .result import COVERAGE_FACTOR
from .spread import mean, standard_deviation

__all__ = [
    "LEAST_COFFEES",
    "LIMITS_FACTOR",
    "BlandAltman",
    "Comparison",
    "Deming",
    "Equivalence",
    "NoLine",
    "bland_altman",
    "comparison_outcome",
    "critical_difference_one_lab",
    "critical_difference_reference",
    "critical_difference_two_labs",
    "deming",
    "duplicates_sd",
    "repeatability_coefficient",
    "tost_paired",
    "tost_two",
]

LEAST_COFFEES = 10
LIMITS_FACTOR = 1.96


@dataclass(frozen=True)
class BlandAltman:
    """Agreement of pairs, as first minus second: see ``bland_altman``. Intervals are 95 % ones."""

    n: int
    bias: float
    sd: float
    lower: float
    upper: float
    bias_se: float
    bias_interval: Interval
    limit_se: float
    lower_interval: Interval
    upper_interval: Interval


@dataclass(frozen=True)
class Equivalence:
    """Two one-sided tests. ``t_lower, p_lower`` against a mean at or below -bound, ``t_upper, p_upper`` against one
    at or above +bound; ``interval`` has confidence 1 - 2 alpha; equivalent if both p are below alpha, which is when
    the interval lies inside the bounds. Without any scatter t is infinite, or 0 on a bound."""

    mean: float
    se: float
    df: int
    interval: Interval
    t_lower: float
    t_upper: float
    p_lower: float
    p_upper: float
    equivalent: bool


@dataclass(frozen=True)
class Comparison:
    """What a comparison comes to: see ``comparison_outcome``. Bias is new minus old, U its expanded uncertainty.

    reason  'equivalent'; 'equivalent_on_average' (but the line's slope is not 1); 'same_shift'; 'slope' (the bias
            changes along the scale); 'scatter' (the bias is not known well enough); 'no_line' (none can be drawn)
    line    None where none can be drawn
    """

    outcome: Literal["carry", "move", "not_comparable"]
    reason: Literal["equivalent", "equivalent_on_average", "same_shift", "slope", "scatter", "no_line"]
    bias: float
    U: float
    interval: Interval
    agreement: BlandAltman
    equivalence: Equivalence
    line: Deming | None


def _minus(first: Sequence[float], second: Sequence[float]) -> list[float]:
    return [a - b for a, b in zip(first, second, strict=True)]


def bland_altman(
    first: Sequence[float], second: Sequence[float], coverage_factor: float = LIMITS_FACTOR
) -> BlandAltman:
    """Bias of first minus second and limits of agreement, bias -/+ coverage_factor * SD of the differences.

    The standard error of the bias is SD / sqrt(n), that of a limit about sqrt(3) * SD / sqrt(n); their 95 %
    intervals use t with n - 1 degrees of freedom. Source: Bland and Altman, Lancet 1986; i: 307-310 (which uses a
    factor of 2). Raises ValueError for fewer than three pairs, lists of unequal length, a non-finite number, or a
    factor that is not above zero.
    """
    differences = _minus(*pairs(first, second, 3))
    n, bias, sd = len(differences), mean(differences), standard_deviation(differences)
    reach = positive("coverage_factor", coverage_factor) * sd
    lower, upper = around(bias, reach)
    bias_se, limit_se = sd / math.sqrt(n), math.sqrt(3 / n) * sd
    t = t_quantile((1 + CONFIDENCE) / 2, n - 1)
    return BlandAltman(
        n, bias, sd, lower, upper,
        bias_se, around(bias, t * bias_se),
        limit_se, around(lower, t * limit_se), around(upper, t * limit_se),
    )  # fmt: skip


def _root_mean_square(differences: Sequence[float]) -> float:
    return math.sqrt(mean([d * d for d in differences]))


def repeatability_coefficient(
    first: Sequence[float], second: Sequence[float], coverage_factor: float = LIMITS_FACTOR
) -> float:
    """How far two readings of one thing by one method lie apart at most, in about 95 of 100 cases.

    ``first`` and ``second``: its two readings of each thing. coverage_factor * root mean square of their
    differences, since two readings by one method have no bias (Bland and Altman 1986, who take 2). Raises
    ValueError as ``bland_altman`` does, but from one pair on.
    """
    return positive("coverage_factor", coverage_factor) * _root_mean_square(_minus(*pairs(first, second, 1)))


def duplicates_sd(
    first_1: Sequence[float], first_2: Sequence[float], second_1: Sequence[float], second_2: Sequence[float]
) -> tuple[float, float]:
    """(SD of the differences between the means of duplicates, that SD corrected to single readings).

    Each method read each thing twice. Averaging hides half of each method's own scatter: the corrected variance
    is sd^2 + s1^2/4 + s2^2/4, with s the root mean square difference between a method's duplicates (Bland and
    Altman 1986). Raises ValueError as ``bland_altman`` does, for fewer than two things.
    """
    one, two = pairs(first_1, first_2, 2), pairs(second_1, second_2, 2)
    means = [[(a + b) / 2 for a, b in zip(*both, strict=True)] for both in (one, two)]
    sd = standard_deviation(_minus(*pairs(*means, 2)))
    return sd, math.hypot(sd, _root_mean_square(_minus(*one)) / 2, _root_mean_square(_minus(*two)) / 2)


def _statistic(distance: float, se: float, bound: float) -> float:
    """distance / se; without scatter infinite, or 0.0 on the bound. What is below TINY bounds is rounding."""
    if se > TINY * bound:
        return distance / se
    return 0.0 if abs(distance) <= TINY * bound else math.copysign(math.inf, distance)


def _equivalence(average: float, se: float, df: int, bound: float, alpha: float) -> Equivalence:
    if not 0 < finite("alpha", alpha) < 0.5:
        raise ValueError(f"alpha must be above 0 and below 0.5, not {alpha!r}")
    t_lower = _statistic(average + positive("bound", bound), se, bound)
    t_upper = _statistic(average - bound, se, bound)
    p_lower, p_upper = t_below(-t_lower, df), t_below(t_upper, df)
    interval = around(average, t_quantile(1 - alpha, df) * se)
    return Equivalence(
        average, se, df, interval, t_lower, t_upper, p_lower, p_upper, max(p_lower, p_upper) < alpha
    )


def tost_paired(differences: Sequence[float], bound: float, alpha: float = 0.05) -> Equivalence:
    """Is the mean of paired differences shown to lie inside -/+ bound: two one-sided t tests, n - 1 df.

    Source: Schuirmann, J Pharmacokinet Biopharm 1987; 15: 657-680. Raises ValueError for fewer than two
    differences, a non-finite number, a bound that is not above zero, or an alpha that is not above 0 and below 0.5.
    """
    numbers = finite_list("differences", differences)
    se = standard_deviation(numbers) / math.sqrt(len(numbers))
    return _equivalence(mean(numbers), se, len(numbers) - 1, bound, alpha)


def tost_two(
    m1: float, s1: float, n1: int, m2: float, s2: float, n2: int, bound: float, alpha: float = 0.05
) -> Equivalence:
    """The same for the difference m1 - m2 of two unpaired means with standard deviations s and counts n.

    Variances are pooled: n1 + n2 - 2 degrees of freedom. Raises ValueError as ``tost_paired`` does, for a negative
    standard deviation or a count below two.
    """
    df = whole("n1", n1, 2) + whole("n2", n2, 2) - 2
    pooled = ((n1 - 1) * not_negative("s1", s1) ** 2 + (n2 - 1) * not_negative("s2", s2) ** 2) / df
    return _equivalence(finite("m1", m1) - finite("m2", m2), math.sqrt(pooled * (1 / n1 + 1 / n2)), df, bound, alpha)


def comparison_outcome(
    old: Sequence[float], new: Sequence[float], bound: float, ratio: float = 1.0, alpha: float = 0.05
) -> Comparison:
    """What the same coffees, read the old way and the new way, say about the targets; new minus old throughout.

    'carry': the mean difference is shown to lie inside -/+ bound (``tost_paired``): targets stay as they are. Else
    'move' by the bias -/+ U, U = 2 * SD / sqrt(n), if one shift holds along the scale (the ``deming`` slope's
    interval holds 1) and is known well enough (half of the bias's interval is not above the bound). Else
    'not_comparable'. A slope that is not 1 does not undo 'carry', but is named as its reason. Our own rule, built
    from published parts. ``ratio``: variance of new's errors divided by old's. Raises ValueError for fewer than
    ``LEAST_COFFEES`` coffees, and as ``deming`` and ``tost_paired`` do for wrong input; data that have no line do
    not raise.
    """
    old, new = pairs(old, new, LEAST_COFFEES)
    equivalence = tost_paired(_minus(new, old), bound, alpha)
    try:
        line = deming(old, new, ratio)
    except NoLine:
        line = None
    lower, upper = line.slope_interval if line else (1.0, 1.0)
    one_slope = lower - TINY <= 1 <= upper + TINY
    if equivalence.equivalent:
        outcome, reason = "carry", "equivalent" if one_slope else "equivalent_on_average"
    elif line is None:
        outcome, reason = "not_comparable", "no_line"
    elif not one_slope:
        outcome, reason = "not_comparable", "slope"
    elif exceeds(equivalence.interval[1] - equivalence.mean, bound, bound):
        outcome, reason = "not_comparable", "scatter"
    else:
        outcome, reason = "move", "same_shift"
    return Comparison(
        outcome, reason, equivalence.mean, COVERAGE_FACTOR * equivalence.se, equivalence.interval,
        bland_altman(new, old), equivalence, line,
    )  # fmt: skip
