"""Is everyday work still as precise as the study of its method: a month's spread and disagreements against limits.

Asked for by its own name (``webapp.measure.routine``): quantiles come from scipy, through _pairs.py. Standard
deviations are in scale units, sums of squares in squared ones.
"""

import math
from dataclasses import dataclass
from typing import Literal

from ._checks import TINY, finite, not_negative, positive, whole
from ._pairs import binomial_above, chi2_quantile, f_quantile
from .spread import LEAST_DF_FILLS

ALPHA = 0.01
"""How often a steady bench is called wide. Two limits for each of twelve months: at 5 % a steady bench would be called
wide in seven of ten years, at 1 % in one of five."""

LEAST_EXCESS = 1.25
"""A month is not called wide before it scatters a quarter more than expected: with hundreds of readings chance leaves
so little room that a few rough fills, or a scale's coarse step, would fill it. Our own convention."""

LEAST_DF = LEAST_DF_FILLS
"""Below so many degrees of freedom a month says nothing either way. Our own convention."""

LEAST_SAMPLES = 20
"""Below so many samples a rate says nothing either way. Our own convention."""

DISAGREE_RATE = 0.05
"""The share of samples whose readings disagree by chance: the level of the agreement limit itself (ISO 5725-6:1994,
5.2)."""

DISAGREE_OF_FILLS = 0.03
"""The share of fills that still disagree after the one more reading that clause 5.2 asks for, by simulation: 2.3 % of
two readings planned, 3.0 % of three."""


@dataclass(frozen=True)
class Judged:
    """An observed standard deviation, the limit for it, and what that says.

    ``sd`` and ``limit`` are None without a degree of freedom. word: 'few' (fewer than ``LEAST_DF`` degrees of freedom:
    no judgement), 'fine', or 'wide' (more scatter than the method's sigma explains).
    """

    sd: float | None
    limit: float | None
    word: Literal["few", "fine", "wide"]


@dataclass(frozen=True)
class JudgedRate:
    """A share of samples whose readings disagreed, the largest one that chance explains, and what that says.

    ``rate`` is None without a sample. word: 'few' (fewer than ``LEAST_SAMPLES``: no judgement), 'fine' or 'often'.
    """

    rate: float | None
    limit: float | None
    word: Literal["few", "fine", "often"]


def fill_value_sigma(sigma_r: float, sigma_f: float, readings: float) -> float:
    """The standard deviation of one fill's value: sqrt(sigma_f^2 + sigma_r^2 / readings of a fill), scale units.

    What the spread between fill values is to be compared with, since it holds a share of the readings' scatter.
    Raises ValueError for a negative or non-finite number, or fewer than one reading.
    """
    if positive("readings", readings) < 1:
        raise ValueError(f"readings must be at least one, not {readings!r}")
    return math.sqrt(not_negative("sigma_f", sigma_f) ** 2 + not_negative("sigma_r", sigma_r) ** 2 / readings)


def fill_value_df(sigma_r: float, df_r: float, sigma_f: float, df_f: float, readings: float) -> float:
    """How well ``fill_value_sigma`` is known, if its parts were estimated with these degrees of freedom.

    Satterthwaite, Biometrics 1946; 2: 110-114: a sum of variances has about (sum)^2 / sum of (variance^2 / its
    degrees of freedom). A part of zero adds nothing and may have none. At least 1; infinite where both are zero. Raises
    ValueError as ``fill_value_sigma`` does, and for a part above zero without degrees of freedom.
    """
    whole_variance = fill_value_sigma(sigma_r, sigma_f, readings) ** 2
    parts = [(sigma_f**2, df_f), (sigma_r**2 / readings, df_r)]
    loose = math.fsum(variance**2 / positive("df", df) for variance, df in parts if variance > 0)
    return max(1.0, whole_variance**2 / loose) if loose > 0 else math.inf


def limit(sigma: float, df: int, alpha: float = ALPHA, sigma_df: float | None = None) -> float:
    """The standard deviation that ``df`` degrees of freedom exceed with probability ``alpha``, scale units.

    sigma * sqrt(chi2(1 - alpha; df) / df), the one-sided limit for a known sigma (NIST/SEMATECH e-Handbook, 7.2.3).
    ``sigma_df``: the degrees of freedom of a sigma that was itself estimated; the limit is then sigma * sqrt(F(1 -
    alpha; df, sigma_df)), since a sigma from a small study may be too low (ibid., 7.3.2); it approaches the first as
    sigma_df grows. Raises ValueError for a negative or non-finite sigma, degrees of freedom below one, or an alpha
    that is not above 0 and below 1.
    """
    not_negative("sigma", sigma)
    whole("df", df, 1)
    if not 0 < finite("alpha", alpha) < 1:
        raise ValueError(f"alpha must be above 0 and below 1, not {alpha!r}")
    if sigma_df is None:
        return sigma * math.sqrt(chi2_quantile(1 - alpha, df) / df)
    if math.isnan(sigma_df) or sigma_df < 1:
        raise ValueError(f"sigma_df must be at least one, not {sigma_df!r}")
    if math.isinf(sigma_df):
        return limit(sigma, df, alpha)
    return sigma * math.sqrt(f_quantile(1 - alpha, df, sigma_df))


def judge(ss: float, df: int, sigma: float, sigma_df: float | None = None, least: float = 0.0) -> Judged:
    """Does a pooled spread, ``ss`` with ``df`` degrees of freedom, exceed what ``sigma`` explains.

    The limit is that of ``limit``, and at least ``LEAST_EXCESS`` * sigma and ``least``: the scale's step, say, since
    what scatters less than a step hardly shows on it. A spread that equals its limit is fine. Raises ValueError for a
    negative or non-finite ``ss``, ``df`` or ``least`` and as ``limit`` does.
    """
    not_negative("ss", ss)
    not_negative("sigma", sigma)
    not_negative("least", least)
    if whole("df", df, 0) == 0:
        return Judged(None, None, "few")
    sd, most = math.sqrt(ss / df), max(limit(sigma, df, ALPHA, sigma_df), LEAST_EXCESS * sigma, least)
    if df < LEAST_DF:
        return Judged(sd, most, "few")
    return Judged(sd, most, "wide" if sd > most * (1 + TINY) else "fine")


def judge_beside(ss: float, df: int, other_ss: float, other_df: int, least: float = 0.0) -> Judged:
    """The same against the pooled spread of other work, ``other_ss`` with ``other_df``, instead of a study's sigma.

    'few' as well, and without a limit, where the other work has fewer than ``LEAST_DF`` degrees of freedom. Raises
    ValueError as ``judge`` does.
    """
    not_negative("other_ss", other_ss)
    if whole("other_df", other_df, 0) < LEAST_DF:
        return Judged(judge(ss, df, 0.0).sd, None, "few")
    return judge(ss, df, math.sqrt(other_ss / other_df), other_df, least)


def chance_rate(fills_of_a_sample: float) -> float:
    """The share of samples whose readings disagree by chance, with so many fills of each on average.

    5 %, or from two fills on 1 - 0.97^fills, the chance that at least one of them still disagrees after the one more
    reading. Raises ValueError for fewer than one fill.
    """
    if positive("fills_of_a_sample", fills_of_a_sample) < 1:
        raise ValueError(f"fills_of_a_sample must be at least one, not {fills_of_a_sample!r}")
    return max(DISAGREE_RATE, 1 - (1 - DISAGREE_OF_FILLS) ** fills_of_a_sample)


def rate_limit(n: int, rate: float = DISAGREE_RATE, alpha: float = ALPHA) -> int:
    """The most of n samples whose readings may disagree by chance: more do with probability ``alpha`` at most.

    Binomial, ``rate`` from ``chance_rate``. Raises ValueError for fewer than no sample, or a rate or alpha that is not
    above 0 and below 1.
    """
    whole("n", n, 0)
    for name, share in (("rate", rate), ("alpha", alpha)):
        if not 0 < finite(name, share) < 1:
            raise ValueError(f"{name} must be above 0 and below 1, not {share!r}")
    # A chance that is alpha but for its last bits is alpha.
    most, chance = int(n * rate), alpha * (1 + TINY)
    while most > 0 and binomial_above(most - 1, n, rate) <= chance:
        most -= 1
    while binomial_above(most, n, rate) > chance:
        most += 1
    return most


def judge_rate(disagreeing: int, samples: int, fills: int) -> JudgedRate:
    """Did readings disagree in more of so many samples, with ``fills`` in all, than chance explains: ``rate_limit``.

    Raises ValueError for a negative number, more disagreeing ones than samples, or fewer fills than samples.
    """
    if whole("disagreeing", disagreeing, 0) > whole("samples", samples, 0):
        raise ValueError(f"{disagreeing} of {samples} samples cannot disagree")
    whole("fills", fills, samples)
    if samples == 0:
        return JudgedRate(None, None, "few")
    most = rate_limit(samples, chance_rate(fills / samples))
    word = "few" if samples < LEAST_SAMPLES else "often" if disagreeing > most else "fine"
    return JudgedRate(disagreeing / samples, most / samples, word)
