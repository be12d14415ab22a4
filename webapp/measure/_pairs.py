"""What comparing, control and precision studies share: pairs, intervals, and the one door to scipy.

Its quantiles are loaded when one is asked for, so that no bench page pays for them.
"""

import math
from collections.abc import Sequence

from ._checks import finite_list

Interval = tuple[float, float]

CONFIDENCE = 0.95


def t_quantile(p: float, df: float) -> float:
    """The value below which Student's t with ``df`` degrees of freedom lies with probability p."""
    from scipy.special import stdtrit

    return float(stdtrit(df, p))


def t_below(t: float, df: int) -> float:
    """Probability that Student's t lies below t, which may be infinite."""
    from scipy.special import stdtr

    return float(stdtr(df, t)) if math.isfinite(t) else float(t > 0)


def f_quantile(p: float, df1: float, df2: float) -> float:
    """The value below which F with ``df1`` and ``df2`` degrees of freedom lies with probability p."""
    from scipy.special import fdtri

    return float(fdtri(df1, df2, p))


def f_above(f: float, df1: float, df2: float) -> float:
    """Probability that F with these degrees of freedom lies above f, which may be infinite."""
    from scipy.special import fdtrc

    return float(fdtrc(df1, df2, f)) if math.isfinite(f) else 0.0


def chi2_quantile(p: float, df: float) -> float:
    """The value below which chi-square with ``df`` degrees of freedom lies with probability p."""
    from scipy.special import chdtri

    return float(chdtri(df, 1 - p))


def chi2_share(value: float, df: float) -> float:
    """Probability that chi-square with ``df`` degrees of freedom lies below a value that is not negative: as chi2_above
    from the other side, in plain arithmetic.

    The regularised incomplete gamma function: its series below a + 1, its continued fraction by Lentz's method above
    (NIST Digital Library of Mathematical Functions, 8.11.4 and 8.9.2).
    """
    a, x = df / 2, value / 2
    if x <= 0:
        return 0.0
    front = math.exp(a * math.log(x) - x - math.lgamma(a))
    if x < a + 1:
        term = total = 1 / a
        n = a
        while term > total * 1e-17:
            n += 1
            term *= x / n
            total += term
        return front * total
    b = x + 1 - a
    c, d = 1 / 1e-300, 1 / b
    fraction, i, change = d, 0, 0.0
    while abs(change - 1) > 1e-15 and i < 100_000:
        i += 1
        step = -i * (i - a)
        b += 2
        d = 1 / (step * d + b)
        c = b + step / c
        change = c * d
        fraction *= change
    return 1 - front * fraction


def chi2_above(value: float, df: float) -> float:
    """Probability that chi-square with ``df`` degrees of freedom lies above the value, which may be infinite."""
    from scipy.special import chdtrc

    return float(chdtrc(df, value)) if math.isfinite(value) else 0.0


def noncentral_t_quantile(p: float, df: int, shift: float) -> float:
    """The value below which non-central t with ``df`` degrees of freedom and non-centrality ``shift`` lies with
    probability p."""
    from scipy.special import nctdtrit

    return float(nctdtrit(df, shift, p))


def binomial_above(k: int, n: int, p: float) -> float:
    """Probability of more than k successes in n, each of probability p."""
    from scipy.special import bdtrc

    return float(bdtrc(k, n, p)) if k < n else 0.0


def around(value: float, half: float) -> Interval:
    """(value - half, value + half)."""
    return value - half, value + half


def pairs(first: Sequence[float], second: Sequence[float], least: int) -> tuple[list[float], list[float]]:
    """Both lists as floats. Raises ValueError for unequal lengths, fewer than ``least`` pairs, a non-finite number."""
    one, other = finite_list("first", first), finite_list("second", second)
    if len(one) != len(other):
        raise ValueError(f"values must come in pairs, not {len(one)} and {len(other)}")
    if len(one) < least:
        raise ValueError(f"at least {least} pairs are needed, not {len(one)}")
    return one, other
