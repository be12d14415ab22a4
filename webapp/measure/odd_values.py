"""Values of a precision study that lie apart, pointed at and never dropped; and whether groups scatter alike.

Asked for by its own name (``webapp.measure.odd_values``): quantiles come from scipy, through _pairs.py. ISO 5725-2
calls a statistic above its 5 % limit a *straggler* and one above its 1 % limit an *outlier* (ISO 5725-2:2019, 8.3;
1994, 7.3).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ._checks import TINY, finite_list, not_negative, whole
from ._pairs import chi2_above, f_above, f_quantile, t_quantile
from .nested import Study
from .spread import mean, median, standard_deviation, sum_of_squares

Word = Literal["straggler", "outlier"]

STRAGGLER, OUTLIER = 0.05, 0.01


@dataclass(frozen=True)
class Odd:
    """An odd one of a set, by its index in it: the test's statistic and its two limits, none with a unit."""

    index: int
    statistic: float
    limit_5: float
    limit_1: float
    word: Word


@dataclass(frozen=True)
class Found:
    """An odd value of a study, by its indices; ``fill_index`` is None where all of a person's are meant.

    test 'cochran', level 'fill'    the readings of this fill scatter more than those of the others
    test 'cochran', level 'person'  this person's fills scatter more than those of the others
    test 'grubbs', level 'fill'     this fill's mean lies apart from this person's other ones
    test 'grubbs', level 'person'   this person's mean lies apart from the others'
    """

    test: Literal["cochran", "grubbs"]
    level: Literal["fill", "person"]
    person_index: int
    fill_index: int | None
    statistic: float
    limit_5: float
    limit_1: float
    word: Word


def cochran(cells: Sequence[Sequence[float]], step: float = 0.0) -> Odd | None:
    """The cell that scatters more than the others, if there is one: its variance as a share of all variances.

    ``cells``: at least two, each of the same number (at least two) of values, in scale units. Cochran's test: limits
    1 / (1 + (p - 1) / F), with F the upper alpha/p point for n - 1 and (p - 1)(n - 1) degrees of freedom (Cochran,
    Ann Eugenics 1941; 11: 47-52; ISO 5725-2, table 4). A cell whose values lie no more than one ``step`` of the
    scale apart is never odd: among readings that are rounded to it, that is no scatter. None without any scatter.
    Raises ValueError for fewer or unequal cells, or a non-finite number.
    """
    numbers = [finite_list("cells", cell) for cell in cells]
    p = whole("cells", len(numbers), 2)
    sizes = {len(cell) for cell in numbers}
    if len(sizes) != 1:
        raise ValueError("every cell must hold as many values")
    n = whole("values of a cell", *sizes, 2)
    squares = [sum_of_squares(cell) for cell in numbers]
    total, largest = math.fsum(squares), max(squares)
    index = squares.index(largest)
    spread = max(numbers[index]) - min(numbers[index])
    if total <= 0 or _a_step(spread, step):
        return None
    return _odd(index, largest / total, *(_cochran_limit(p, n, alpha) for alpha in (STRAGGLER, OUTLIER)))


def _cochran_limit(p: int, n: int, alpha: float) -> float:
    return 1 / (1 + (p - 1) / f_quantile(1 - alpha / p, n - 1, (p - 1) * (n - 1)))


def grubbs(values: Sequence[float], step: float = 0.0, among: int = 1) -> tuple[Odd, ...]:
    """The largest and the smallest value, where it lies apart from the rest: its distance from the mean over the SD.

    ``values``: at least three, in scale units. Grubbs' test for one value at either end: limits (n - 1) / sqrt(n) *
    sqrt(t^2 / (n - 2 + t^2)), with t the upper alpha/(2n) point for n - 2 degrees of freedom (Grubbs, Ann Math Stat
    1950; 21: 27-58; ISO 5725-2, table 5). ``among``: how many such sets are looked at together; each is tested at
    alpha / among. A value no more than one ``step`` of the scale from the mean is never odd, and nothing is without
    any scatter. Two odd values on one side can hide each other. Raises ValueError for fewer values or a non-finite one.
    """
    numbers = finite_list("values", values)
    n = whole("values", len(numbers), 3)
    whole("among", among, 1)
    sd, centre = standard_deviation(numbers), mean(numbers)
    if sd <= 0:
        return ()
    limits = [_grubbs_limit(n, alpha / among) for alpha in (STRAGGLER, OUTLIER)]
    found = []
    for extreme in (min(numbers), max(numbers)):
        away = abs(extreme - centre)
        odd = None if _a_step(away, step) else _odd(numbers.index(extreme), away / sd, *limits)
        if odd:
            found.append(odd)
    return tuple(found)


def _grubbs_limit(n: int, alpha: float) -> float:
    t = t_quantile(1 - alpha / (2 * n), n - 2)
    return (n - 1) / math.sqrt(n) * math.sqrt(t * t / (n - 2 + t * t))


def _a_step(distance: float, step: float) -> bool:
    return distance <= not_negative("step", step) * (1 + TINY)


def _odd(index: int, statistic: float, limit_5: float, limit_1: float) -> Odd | None:
    if statistic <= limit_5 * (1 + TINY):
        return None
    return Odd(index, statistic, limit_5, limit_1, "outlier" if statistic > limit_1 * (1 + TINY) else "straggler")


def odd_in(values: Study, step: float = 0.0) -> tuple[Found, ...]:
    """What lies apart in a balanced study (``nested.complete_part``), from the readings up to the persons.

    As ISO 5725-3 has it for nested designs: Cochran's test on the readings of all fills and on the fills of the
    persons, Grubbs' test on the persons' means; and on each person's fills, which together are tested at the level of
    one test. ``step``: the scale's resolution in scale units; what one step explains is not odd. Steady data have
    something odd at the 5 % limit in about one study of six: these are hints for a person to look at, not grounds
    to drop a value. Raises ValueError as ``nested.components`` does.
    """
    persons, fills = len(values), {len(person) for person in values}
    if len(fills) != 1:
        raise ValueError("every person needs as many fills")
    per_person = whole("fills", *fills, 2)
    means = [[mean(fill) for fill in person] for person in values]
    found = []
    odd = cochran([fill for person in values for fill in person], step)
    if odd:
        found.append(_found("cochran", "fill", *divmod(odd.index, per_person), odd))
    if per_person >= 3:
        for i, of_person in enumerate(means):
            found += [_found("grubbs", "fill", i, odd.index, odd) for odd in grubbs(of_person, step, persons)]
    if persons >= 2 and (odd := cochran(means, step)):
        found.append(_found("cochran", "person", odd.index, None, odd))
    if persons >= 3:
        of_all = [mean(of_person) for of_person in means]
        found += [_found("grubbs", "person", odd.index, None, odd) for odd in grubbs(of_all, step)]
    return tuple(found)


def _found(test: str, level: str, person: int, fill: int | None, odd: Odd) -> Found:
    return Found(test, level, person, fill, odd.statistic, odd.limit_5, odd.limit_1, odd.word)


def _groups(groups: Sequence[Sequence[float]]) -> list[list[float]]:
    numbers = [finite_list("groups", group) for group in groups]
    whole("groups", len(numbers), 2)
    for group in numbers:
        whole("values of a group", len(group), 2)
    return numbers


def bartlett(groups: Sequence[Sequence[float]]) -> tuple[float, float]:
    """(statistic, p) of Bartlett's test: do groups scatter alike, if they scatter normally.

    Source: NIST/SEMATECH e-Handbook, 1.3.5.7. At least two groups of two values, which may be of unequal size.
    (0.0, 1.0) where nothing scatters; (inf, 0.0) where some groups do and some do not. Raises ValueError for fewer
    groups or values, or a non-finite one.
    """
    numbers = _groups(groups)
    squares, dfs = [sum_of_squares(group) for group in numbers], [len(group) - 1 for group in numbers]
    total, k = sum(dfs), len(numbers)
    if not any(squares):
        return 0.0, 1.0
    if not all(squares):
        return math.inf, 0.0
    pooled = math.log(math.fsum(squares) / total)
    apart = math.fsum(df * (pooled - math.log(ss / df)) for ss, df in zip(squares, dfs, strict=True))
    statistic = max(0.0, apart / (1 + (math.fsum(1 / df for df in dfs) - 1 / total) / (3 * (k - 1))))
    return statistic, chi2_above(statistic, k - 1)


def levene(groups: Sequence[Sequence[float]]) -> tuple[float, float]:
    """(statistic, p) of Levene's test on distances from the medians: do groups scatter alike, normal or not.

    Source: NIST/SEMATECH e-Handbook, 1.3.5.10 (the form of Brown and Forsythe, 1974). At least two groups of two
    values, which may be of unequal size. (0.0, 1.0) where all distances are equal; (inf, 0.0) where they are equal
    within every group but not between them. Raises ValueError as ``bartlett`` does.
    """
    numbers = _groups(groups)
    away = [[abs(x - median(group)) for x in group] for group in numbers]
    n, k = sum(map(len, away)), len(away)
    centre = mean([d for group in away for d in group])
    between = math.fsum(len(group) * (mean(group) - centre) ** 2 for group in away)
    within = math.fsum(map(sum_of_squares, away))
    # What is left of equal distances after rounding is no scatter.
    nothing = (TINY * centre) ** 2 * n
    if within <= nothing:
        return (0.0, 1.0) if between <= nothing else (math.inf, 0.0)
    statistic = between / (k - 1) / (within / (n - k))
    return statistic, f_above(statistic, k - 1, n - k)
