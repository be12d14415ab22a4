"""Are values nearly normal: the Anderson-Darling test, and where normal values would lie.

Asked for by its own name (``webapp.measure.normality``), not through the package.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

from ._checks import finite_list, positive
from .conformity import normal_cdf
from .spread import mean, standard_deviation

DOUBT = 0.05
"""A chance below which it is doubted that values are normal: one normal history in twenty is doubted too."""

LEAST_VALUES = 8
"""The formula of the chance holds from eight values on (D'Agostino and Stephens, table 4.9)."""


@dataclass(frozen=True)
class Normality:
    """a_squared: the statistic, corrected for so many values; chance: that normal values give one as large."""

    a_squared: float
    chance: float

    @property
    def doubtful(self) -> bool:
        """Whether the values speak against a normal distribution."""
        return self.chance < DOUBT


def normality_of(values: Sequence[float], step: float) -> Normality | None:
    """The Anderson-Darling test of normal values with mean and standard deviation unknown; None if they do not vary.

    A2 = -n - (1/n) sum (2i - 1) (ln F(x_i) + ln(1 - F(x_(n+1-i)))), times 1 + 0.75/n + 2.25/n^2, and its chance by the
    formulas of D'Agostino and Stephens, Goodness-of-Fit Techniques, 1986, table 4.9 (the same test: NIST/SEMATECH
    e-Handbook, 1.3.5.14). It weighs the tails, where a band is cut. ``step``: the values' resolution; values that vary
    less than rounding makes them tell nothing. Raises ValueError for fewer than eight values, a non-finite number, or a
    step that is not above zero.
    """
    numbers = sorted(finite_list("values", values))
    count = len(numbers)
    if count < LEAST_VALUES:
        raise ValueError(f"{LEAST_VALUES} values at least, not {count}")
    spread = standard_deviation(numbers)
    if spread <= positive("step", step) / math.sqrt(12):
        return None
    middle = mean(numbers)
    scores = [(number - middle) / spread for number in numbers]
    # ln(1 - F(z)) as ln F(-z): it keeps its digits in the tail.
    terms = [
        (2 * no - 1) * (math.log(normal_cdf(low)) + math.log(normal_cdf(-high)))
        for no, (low, high) in enumerate(zip(scores, reversed(scores), strict=True), start=1)
    ]
    corrected = (-count - math.fsum(terms) / count) * (1 + 0.75 / count + 2.25 / count**2)
    return Normality(corrected, chance_of(corrected))


def chance_of(a: float) -> float:
    """The chance of a corrected statistic as large: D'Agostino and Stephens 1986, table 4.9."""
    if a < 0.2:
        return 1 - math.exp(-13.436 + 101.14 * a - 223.73 * a * a)
    if a < 0.34:
        return 1 - math.exp(-8.318 + 42.796 * a - 59.938 * a * a)
    if a < 0.6:
        return math.exp(0.9177 - 4.279 * a - 1.38 * a * a)
    # Beyond 13 the formula turns; nothing is left of the chance by then.
    return math.exp(1.2937 - 5.709 * min(a, 13) + 0.0186 * min(a, 13) ** 2)


def normal_scores(count: int) -> list[float]:
    """Where so many normal values lie in order, in standard deviations from their mean, to draw real ones against.

    Blom's places (i - 0.375) / (n + 0.25) (Blom, Statistical Estimates and Transformed Beta-Variables, 1958). Raises
    ValueError for no value.
    """
    if count < 1:
        raise ValueError("at least one value")
    normal = NormalDist()
    return [normal.inv_cdf((no - 0.375) / (count + 0.25)) for no in range(1, count + 1)]
