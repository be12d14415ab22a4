"""A precision study: several persons, each with several fills of one coffee, each fill read several times.

How much of the scatter comes from reading, from filling, from the person. Asked for by its own name
(``webapp.measure.nested``): quantiles come from scipy, through _pairs.py. Readings and standard deviations are in
scale units, variance components in squared ones.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

from ._checks import finite_list, whole
from ._pairs import CONFIDENCE, Interval, chi2_quantile, f_quantile
from .spread import mean, sum_of_squares

Study = Sequence[Sequence[Sequence[float]]]
"""Persons, of each the fills, of each the readings."""

Why = Literal["unread", "short", "to_balance", "too_few"]

LEAST = ((2, 3, 2), (1, 6, 2))
"""The least sizes that say anything: persons, fills of each, readings of each fill. A convention of this project."""

LIMIT_FACTOR = 2.8
"""r = 2.8 sigma_r: in about 95 of 100 cases two readings of one fill lie no further apart (ISO 5725-6:1994, 4.1.4,
which rounds 1.96 * sqrt(2))."""


class TooSmall(ValueError):
    """What is complete is less than ``LEAST``: ``persons``, ``fills`` of each and ``readings`` of each fill."""

    def __init__(self, persons: int, fills: int, readings: int) -> None:
        super().__init__(f"{persons} persons x {fills} fills x {readings} readings are too few")
        self.persons, self.fills, self.readings = persons, fills, readings


@dataclass(frozen=True)
class LeftOut:
    """A fill that does not count, by its number from 1 on, or all of a person's (``fill_no`` None).

    why  'unread' (no counted reading), 'short' (fewer than the study needs), 'to_balance' (complete, but others have
         fewer fills), 'too_few' (the person has fewer complete fills than the others)
    """

    person: str
    fill_no: int | None
    why: Why


@dataclass(frozen=True)
class Part:
    """The balanced part of a study: see ``complete_part``. ``values`` in the order of ``persons``."""

    persons: tuple[str, ...]
    fills: int
    readings: int
    values: Study
    left_out: tuple[LeftOut, ...]


@dataclass(frozen=True)
class Row:
    """A line of the analysis of variance: sum of squares, degrees of freedom, mean square.

    ``f``: its mean square over the next line's; None in the last line, and where that line has no scatter at all.
    """

    name: Literal["person", "fill", "reading"]
    ss: float
    df: int
    ms: float
    f: float | None


class Variances(NamedTuple):
    """Variance components, squared scale units. ``person`` is None where one person did it all."""

    person: float | None
    fill: float
    reading: float


@dataclass(frozen=True)
class Components:
    """What a balanced study says: see ``components``. The sigmas are standard deviations, with 95 % intervals."""

    persons: int
    fills: int
    readings: int
    mean: float
    table: tuple[Row, ...]
    raw: Variances
    kept: Variances
    sigma_r: float
    sigma_f: float
    sigma_p: float | None
    interval_r: Interval
    interval_f: Interval
    interval_p: Interval | None
    df_r: int
    df_f: float
    shares: dict[str, float]
    repeatability_limit: float


@dataclass(frozen=True)
class Reproducibility:
    """See ``reproducibility``: general mean, both standard deviations, and the limit R = 2.8 s_R, in scale units."""

    mean: float
    s_r: float
    s_R: float
    limit: float


def reproducibility(groups: Sequence[Sequence[float]]) -> Reproducibility:
    """How far results of different persons lie apart, of whom each may have another number of results.

    ``groups``: at least two persons' results, in scale units, at least one of them with two. s_r: pooled standard
    deviation of one person's results; s_R: that of results of different persons, s_R^2 = s_L^2 + s_r^2 with s_L^2 =
    (s_d^2 - s_r^2) / n, never below zero, and n what the unequal numbers come to (ISO 5725-2:1994, 7.4.4 and 7.4.5).
    Two results of two persons lie further apart than R in about one of twenty cases (ISO 5725-6:1994, 4.1.4). Raises
    ValueError for fewer groups or results, or a non-finite one.
    """
    cells = [finite_list("groups", group) for group in groups]
    p, n = whole("groups", len(cells), 2), sum(map(len, cells))
    within_df = whole("results beyond one of each", n - p, 1)
    centre = mean([x for cell in cells for x in cell])
    within = math.fsum(map(sum_of_squares, cells)) / within_df
    between = math.fsum(len(cell) * (mean(cell) - centre) ** 2 for cell in cells) / (p - 1)
    of_a_person = (n - math.fsum(len(cell) ** 2 for cell in cells) / n) / (p - 1)
    s_R = math.sqrt(within + max(0.0, (between - within) / of_a_person))
    return Reproducibility(centre, math.sqrt(within), s_R, LIMIT_FACTOR * s_R)


def complete_part(study: Mapping[str, Sequence[Sequence[float]]], readings: int) -> Part:
    """The largest balanced part of an unbalanced or unfinished study, and what it leaves out.

    ``study``: person -> fills in their order -> counted readings, in scale units. A fill is complete with at least
    ``readings`` of them; the first so many count. Of each person the first k complete fills are taken, k so that most
    readings count (with more persons where that is a tie) among the sizes that ``LEAST`` allows. Raises TooSmall if
    none is allowed, ValueError for a non-finite reading.
    """
    whole("readings", readings, 1)
    done = {person: [i for i, fill in enumerate(fills) if len(fill) >= readings] for person, fills in study.items()}
    counts = [len(complete) for complete in done.values()]
    sizes = [(sum(count >= k for count in counts), k) for k in sorted(set(counts) - {0})]
    allowed = [size for size in sizes if _enough(*size, readings)]
    if not allowed:
        raise TooSmall(*max(sizes, key=_most, default=(0, 0)), readings)
    _persons, k = max(allowed, key=_most)
    kept = {person: complete[:k] for person, complete in done.items() if len(complete) >= k}
    values = [[finite_list(person, study[person][i][:readings]) for i in chosen] for person, chosen in kept.items()]
    left_out = [
        out for person, fills in study.items() for out in _left_out(person, fills, kept.get(person), readings)
    ]
    return Part(tuple(kept), k, readings, values, tuple(left_out))


def _enough(persons: int, fills: int, readings: int) -> bool:
    return any(
        persons >= least[0] and fills >= least[1] and readings >= least[2] for least in LEAST
    )


def _most(size: tuple[int, int]) -> tuple[int, int]:
    persons, fills = size
    return persons * fills, persons


def _left_out(
    person: str, fills: Sequence[Sequence[float]], kept: list[int] | None, readings: int
) -> list[LeftOut]:
    if kept is None:
        return [LeftOut(person, None, "too_few")]
    out = []
    for i, fill in enumerate(fills):
        if i not in kept:
            why: Why = "to_balance" if len(fill) >= readings else "short" if fill else "unread"
            out.append(LeftOut(person, i + 1, why))
    return out


def components(values: Study) -> Components:
    """Variance components of a balanced study, at least one person, two fills of each, two readings of each.

    Analysis of variance of the nested design (NIST/SEMATECH e-Handbook, 3.2.3.3). ``raw``: (mean square - the next
    one) / how many readings stand behind one unit; it may be negative. ``kept``: zero for those, and the others as
    REML estimates them, which for a balanced design is pooling mean squares that are out of order with the next one,
    weighted by their degrees of freedom (Thompson, Ann Math Stat 1962; 33: 273-289). The sigmas and ``shares`` (of
    the sum of the kept components; all 0 where nothing scatters) come from ``kept``.

    Intervals, 95 %, from the mean squares as they are: ``interval_r`` exactly, by chi-square with ``df_r``;
    ``interval_f`` and ``interval_p`` by the modified large sample method for a difference of mean squares (Ting,
    Burdick, Graybill, Jeyaratnam and Lu, J Stat Comput Simul 1990; 35: 135-143; Burdick and Graybill, Confidence
    Intervals on Variance Components, 1992). A limit below zero is zero, and an interval is widened where a kept sigma
    lies outside it. In simulation 94.5 to 95.5 % of them hold the true sigma where it is above zero, from 1 x 6 x 2
    to 10 x 3 x 2; where it is zero 97.5 % do, for only the lower limit can then miss it. They suppose normal scatter
    and a scale's step that is small against sigma_r: readings that are rounded to one number show too little scatter.

    ``df_f``: effective degrees of freedom of the fill component (Satterthwaite, Biometrics 1946; 2: 110-114); 0.0
    where it is zero. Raises ValueError for an unbalanced or smaller study, or a non-finite reading.
    """
    persons, fills, readings, cells = _balanced(values)
    n_fill, n_person = readings, fills * readings
    # Deviations from the middle are exact or nearly so, and small: their means lose no digits to a large level.
    centre = mean([x for person in cells for fill in person for x in fill])
    away = [[[x - centre for x in fill] for fill in person] for person in cells]
    fill_means = [[mean(fill) for fill in person] for person in away]
    person_means = [mean(person) for person in fill_means]
    sums = [
        ("person", n_person * sum_of_squares(person_means), persons - 1, n_person),
        ("fill", n_fill * math.fsum(map(sum_of_squares, fill_means)), persons * (fills - 1), n_fill),
        ("reading", math.fsum(sum_of_squares(f) for p in away for f in p), persons * fills * (readings - 1), 1),
    ]
    levels = sums if persons > 1 else sums[1:]
    squares = [ss / df for _name, ss, df, _n in levels]
    dfs = [df for _name, _ss, df, _n in levels]
    below = [*squares[1:], 0.0]
    table = tuple(
        Row(name, ss, df, ms, ms / less if less > 0 else None)
        for (name, ss, df, _n), ms, less in zip(levels, squares, below, strict=True)
    )
    per = [n for _name, _ss, _df, n in levels]
    raw, kept = _variances(squares, per), _variances(_in_order(squares, dfs), per)
    sigma_p = None if kept.person is None else math.sqrt(kept.person)
    sigma_f, sigma_r = math.sqrt(kept.fill), math.sqrt(kept.reading)
    total = math.fsum(v for v in kept if v is not None)
    fill_ms, fill_df = squares[-2], dfs[-2]
    return Components(
        persons, fills, readings, centre, table, raw, kept, sigma_r, sigma_f, sigma_p,
        interval_r=_holding(sigma_r, _chi2_interval(squares[-1], dfs[-1])),
        interval_f=_holding(sigma_f, _difference_interval(*zip(squares[-2:], dfs[-2:], strict=True), n_fill)),
        interval_p=None if sigma_p is None else _holding(
            sigma_p, _difference_interval(*zip(squares[:2], dfs[:2], strict=True), n_person)
        ),
        df_r=dfs[-1],
        df_f=_satterthwaite((fill_ms, fill_df), (squares[-1], dfs[-1])) if kept.fill > 0 else 0.0,
        shares={name: (v or 0.0) / total if total else 0.0 for name, v in kept._asdict().items() if v is not None},
        repeatability_limit=LIMIT_FACTOR * sigma_r,
    )  # fmt: skip


def _balanced(values: Study) -> tuple[int, int, int, list[list[list[float]]]]:
    """(persons, fills, readings, the values as floats). Raises ValueError as ``components`` does."""
    cells = [[finite_list("readings", fill) for fill in person] for person in values]
    shape = {len(person) for person in cells}, {len(fill) for person in cells for fill in person}
    if any(len(sizes) != 1 for sizes in shape):
        raise ValueError("every person needs as many fills, and every fill as many readings")
    return len(cells), whole("fills", *shape[0], 2), whole("readings", *shape[1], 2), cells


def _variances(squares: Sequence[float], per: Sequence[int]) -> Variances:
    """Components from mean squares, the readings' last, and how many readings stand behind one unit of each."""
    parts = [(upper - lower) / n for upper, lower, n in zip(squares, squares[1:], per, strict=False)]
    return Variances(parts[0] if len(parts) > 1 else None, parts[-1], squares[-1])


def _in_order(squares: Sequence[float], dfs: Sequence[int]) -> list[float]:
    """The mean squares, pooled with their neighbours until none is below the next one."""
    blocks: list[tuple[float, int, int]] = []  # mean square, degrees of freedom, how many levels
    for ms, df in zip(squares, dfs, strict=True):
        blocks.append((ms, df, 1))
        while len(blocks) > 1 and blocks[-2][0] < blocks[-1][0]:
            (upper, df_1, n_1), (lower, df_2, n_2) = blocks[-2:]
            blocks[-2:] = [((upper * df_1 + lower * df_2) / (df_1 + df_2), df_1 + df_2, n_1 + n_2)]
    return [ms for ms, _df, n in blocks for _level in range(n)]


def _holding(sigma: float, variances: Interval) -> Interval:
    """The interval of a standard deviation, from that of its variance; never below zero, never without sigma."""
    lower, upper = (math.sqrt(max(0.0, limit)) for limit in variances)
    return min(lower, sigma), max(upper, sigma)


def _chi2_interval(ms: float, df: int) -> Interval:
    tail = (1 - CONFIDENCE) / 2
    return ms * df / chi2_quantile(1 - tail, df), ms * df / chi2_quantile(tail, df)


def _difference_interval(upper: tuple[float, int], lower: tuple[float, int], n: int) -> Interval:
    """Limits of (expected mean square ``upper`` - that of ``lower``) / n, each given with its degrees of freedom.

    Constants chosen so that a limit is exactly zero where the F test of the two is just at its limit.
    """
    (ms_1, df_1), (ms_2, df_2) = upper, lower
    tail = (1 - CONFIDENCE) / 2
    low_1, high_1 = _reach(df_1, tail)
    low_2, high_2 = _reach(df_2, tail)
    f_high, f_low = f_quantile(1 - tail, df_1, df_2), f_quantile(tail, df_1, df_2)
    cross_low = ((f_high - 1) ** 2 - (low_1 * f_high) ** 2 - high_2**2) / f_high
    cross_high = ((1 - f_low) ** 2 - (high_1 * f_low) ** 2 - low_2**2) / f_low
    v_low = (low_1 * ms_1) ** 2 + (high_2 * ms_2) ** 2 + cross_low * ms_1 * ms_2
    v_high = (high_1 * ms_1) ** 2 + (low_2 * ms_2) ** 2 + cross_high * ms_1 * ms_2
    between = ms_1 - ms_2
    return (between - math.sqrt(max(0.0, v_low))) / n, (between + math.sqrt(max(0.0, v_high))) / n


def _reach(df: int, tail: float) -> tuple[float, float]:
    """How far the limits of a variance lie below and above its mean square, as shares of it."""
    return 1 - df / chi2_quantile(1 - tail, df), df / chi2_quantile(tail, df) - 1


def _satterthwaite(upper: tuple[float, int], lower: tuple[float, int]) -> float:
    (ms_1, df_1), (ms_2, df_2) = upper, lower
    scatter = ms_1**2 / df_1 + ms_2**2 / df_2
    return (ms_1 - ms_2) ** 2 / scatter if scatter > 0 else 0.0
