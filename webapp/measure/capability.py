"""Can a steady process hold its band: capability indices, and the share that was in band.

Asked for by its own name (``webapp.measure.capability``), not through the package. Values and limits in scale units,
indices without unit. Intervals are 95 % ones, for independent, nearly normal values.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

from ._checks import TINY, finite, finite_list, positive, whole
from ._pairs import CONFIDENCE, Interval, chi2_quantile, chi2_share
from .charts import sigma_degrees
from .control import moving_range_sigma
from .spread import mean, standard_deviation

NORMAL_95 = NormalDist().inv_cdf((1 + CONFIDENCE) / 2)


@dataclass(frozen=True)
class Index:
    """A capability index. df: degrees of freedom of its sigma; values: how many values its mean stands on, None for an
    index of the spread alone (Cp, Pp)."""

    value: float
    df: float
    values: int | None = None

    @property
    def interval(self) -> Interval:
        """Its interval, as ``spread_index`` and ``nearest_index`` have it. Worked out when asked for: that of the
        spread needs quantiles that nothing else of a capability does."""
        if self.values is None:
            low, high = (
                self.value * math.sqrt(chi2_quantile(p, self.df) / self.df)
                for p in ((1 - CONFIDENCE) / 2, (1 + CONFIDENCE) / 2)
            )
            return low, high
        half = NORMAL_95 * math.sqrt(1 / (9 * self.values) + self.value**2 / (2 * self.df))
        return self.value - half, self.value + half

    def surely_below(self, limit: float) -> bool:
        """Whether the whole interval lies below a limit above zero.

        For an index of the spread without the quantile: chi-square at p lies below x where less than p lies above it
        (``chi2_share``), so that no sample that is stored has to wait for a library.
        """
        if self.values is None:
            return self.value == 0 or chi2_share(self.df * (limit / self.value) ** 2, self.df) > (1 + CONFIDENCE) / 2
        return self.interval[1] < limit


@dataclass(frozen=True)
class Capability:
    """What a process can do in its band: see ``capability_of``.

    cp, cpk    with sigma from the moving ranges: what it can do from one batch to the next
    pp, ppk    with the standard deviation of all: what it did, drifts and steps and all
    cp, pp     None where the band has one limit only
    nearer     the limit that cpk and ppk are about: 'lower' or 'upper', as numbers
    inside     how many of ``values`` lay in the band, with the interval of their share
    """

    values: int
    centre: float
    sigma: float
    overall: float
    cp: Index | None
    cpk: Index
    pp: Index | None
    ppk: Index
    nearer: str
    inside: int
    share: Interval


def spread_index(lower: float, upper: float, sigma: float, df: float) -> Index:
    """Cp or Pp: the band's width in six sigma.

    Its interval comes from chi-square with the ``df`` degrees of freedom of sigma: index * sqrt(chi2(p; df) / df)
    at p = 0.025 and 0.975 (Kane, J Qual Technol 1986; 18: 41-52). Raises ValueError for a non-finite number, limits
    that are not in order, or a sigma or df that is not above zero.
    """
    width = positive("upper - lower", finite("upper", upper) - finite("lower", lower))
    return Index(width / (6 * positive("sigma", sigma)), positive("df", df))


def nearest_index(
    centre: float, lower: float | None, upper: float | None, sigma: float, values: int, df: float
) -> tuple[Index, str]:
    """(Cpk or Ppk, 'lower' or 'upper'): the distance from the mean to the nearer limit in three sigma.

    ``values``: how many the mean stands on; ``df``: degrees of freedom of sigma. Interval: index -/+ z * sqrt(1 / (9
    values) + index^2 / (2 df)), a normal approximation (Bissell, Appl Stat 1990; 39: 331-340; NIST/SEMATECH
    e-Handbook, 6.1.6, which advises 50 values and more). On both limits alike 'lower' is named. Raises ValueError as
    ``spread_index`` does, for no limit at all, or no value.
    """
    reach = 3 * positive("sigma", sigma)
    sides = []
    if lower is not None:
        sides.append(((finite("centre", centre) - finite("lower", lower)) / reach, "lower"))
    if upper is not None:
        sides.append(((finite("upper", upper) - finite("centre", centre)) / reach, "upper"))
    if not sides:
        raise ValueError("a band has at least one limit")
    value, side = min(sides)
    return Index(value, positive("df", df), whole("values", values, 1)), side


def wilson(count: int, of: int) -> Interval:
    """The interval of a share of ``count`` in ``of``, from 0 to 1.

    Wilson's score interval without a correction for continuity (Wilson, J Am Stat Assoc 1927; 22: 209-212; Newcombe,
    Stat Med 1998; 17: 857-872, method 3). Raises ValueError unless 0 <= count <= of and of > 0.
    """
    if whole("count", count, 0) > whole("of", of, 1):
        raise ValueError(f"no more than {of} of {of}, not {count}")
    z, share = NORMAL_95, count / of
    middle = share + z * z / (2 * of)
    half = z * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    whole_one = 1 + z * z / of
    low, high = (middle - half) / whole_one, (middle + half) / whole_one
    return 0.0 if count == 0 else low, 1.0 if count == of else high


def inside(values: Sequence[float], lower: float | None, upper: float | None, step: float) -> int:
    """How many values lie within one limit or two, on a limit too: as _checks.exceeds has it with their resolution
    ``step``, up to the last bits."""
    low = -math.inf if lower is None else lower - TINY * step
    high = math.inf if upper is None else upper + TINY * step
    return sum(low <= number <= high for number in values)


def capability_of(values: Sequence[float], lower: float | None, upper: float | None, step: float) -> Capability:
    """What values in order of time say about the process behind them, against one limit or two.

    ``step``: their resolution; no sigma is below step / sqrt(12), so that equal values give a large index and not an
    infinite one. A value on a limit is inside. Raises ValueError for fewer than two values, a non-finite number, no
    limit, limits that are not in order, or a step that is not above zero.
    """
    numbers = finite_list("values", values)
    if len(numbers) < 2:
        raise ValueError("capability needs at least two values")
    count, centre = len(numbers), mean(numbers)
    sigma, _ranges = moving_range_sigma([numbers], step)
    overall = max(standard_deviation(numbers), positive("step", step) / math.sqrt(12))
    freedom, all_of_it = sigma_degrees(count), float(count - 1)
    both = lower is not None and upper is not None
    cpk, nearer = nearest_index(centre, lower, upper, sigma, count, freedom)
    ppk, _nearer = nearest_index(centre, lower, upper, overall, count, all_of_it)
    there = inside(numbers, lower, upper, step)
    return Capability(
        count, centre, sigma, overall,
        spread_index(lower, upper, sigma, freedom) if both else None, cpk,
        spread_index(lower, upper, overall, all_of_it) if both else None, ppk,
        nearer, there, wilson(there, count),
    )  # fmt: skip
