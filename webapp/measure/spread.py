"""Mean, spread, and where the two sigmas come from.

sigma_r is the repeatability standard deviation: one fill of the dish, the meter turned between readings.
sigma_f is the fill-to-fill standard deviation: the dish emptied and filled again. Both in scale units.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ._checks import finite_list, not_negative, one_of, positive, whole

Kind = Literal["whole", "ground"]

LEAST_DF_READINGS = 20
LEAST_DF_FILLS = 10

ASSUMED_SPAN = 100.0
ASSUMED = {"whole": (0.3, 0.5), "ground": (0.2, 0.3)}
"""kind -> (sigma_r, sigma_f) assumed on a scale that spans ASSUMED_SPAN units. A starting assumption of this
project, from no published source: every screen that uses it must say *assumed*."""


@dataclass(frozen=True)
class Sigmas:
    """The two standard deviations used for a result, in scale units, and where they come from.

    ``source`` is 'study' (an accepted precision study of the method version), 'routine' (both pooled from
    the bench's own work) or 'assumed' (at least one of them is the starting assumption).
    """

    sigma_r: float
    sigma_f: float
    source: Literal["study", "routine", "assumed"]

    def __post_init__(self) -> None:
        not_negative("sigma_r", self.sigma_r)
        not_negative("sigma_f", self.sigma_f)
        one_of("source", self.source, ("study", "routine", "assumed"))


def mean(values: Sequence[float]) -> float:
    """Arithmetic mean, in the unit of the values, from an exactly rounded sum (math.fsum).

    The order of the values does not matter, and the mean of equal values is that value: the division's
    rounding never carries it beyond the smallest or largest. Raises ValueError for no value or a non-finite
    one.
    """
    numbers = finite_list("values", values)
    return min(max(math.fsum(numbers) / len(numbers), min(numbers)), max(numbers))


def median(values: Sequence[float]) -> float:
    """Middle value, or the mean of the two middle ones; in the unit of the values.

    Raises ValueError for no value or a non-finite one.
    """
    numbers = sorted(finite_list("values", values))
    middle = len(numbers) // 2
    return numbers[middle] if len(numbers) % 2 else mean(numbers[middle - 1 : middle + 1])


def sum_of_squares(values: Sequence[float]) -> float:
    """Sum of squared deviations from the mean, in squared units; 0.0 for one value or equal values.

    Two passes: deviations first, then their squares, corrected for the rounding of the mean, each sum
    exact. Never the difference of two large squares. Raises ValueError for no value or a non-finite one.
    """
    numbers = finite_list("values", values)
    centre = mean(numbers)
    deviations = [number - centre for number in numbers]
    correction = math.fsum(deviations) ** 2 / len(numbers)
    return max(0.0, math.fsum(deviation * deviation for deviation in deviations) - correction)


def standard_deviation(values: Sequence[float]) -> float:
    """Sample standard deviation (divisor n - 1), in the unit of the values; 0.0 for equal values.

    Raises ValueError for fewer than two values or a non-finite one.
    """
    numbers = finite_list("values", values)
    if len(numbers) < 2:
        raise ValueError("a standard deviation needs at least two values")
    return math.sqrt(sum_of_squares(numbers) / (len(numbers) - 1))


def within_fill(readings: Sequence[float]) -> tuple[float, int]:
    """(sum of squares, degrees of freedom) of the readings of one fill; (0.0, 0) for one reading.

    Squared scale units. Add them up over the fills to pool sigma_r. Raises ValueError as ``mean`` does.
    """
    return sum_of_squares(readings), len(readings) - 1


def between_fills(fill_values: Sequence[float]) -> tuple[float, int]:
    """(sum of squares, degrees of freedom) of the fill values of one sample; (0.0, 0) for one fill.

    Squared scale units. Add them up over the samples to pool sigma_f. Raises ValueError as ``mean`` does.
    """
    return sum_of_squares(fill_values), len(fill_values) - 1


def pooled_sigmas(
    ss_r: float, df_r: int, ss_f: float, df_f: int, readings_per_fill: float
) -> tuple[float | None, float | None]:
    """(sigma_r, sigma_f) pooled from routine work, each in scale units, or None where it is not yet proven.

    ``ss_r, df_r``: summed ``within_fill`` of all fills. ``ss_f, df_f``: summed ``between_fills`` of all
    samples. ``readings_per_fill``: how many readings a fill had, on average (at least one).

    sigma_r^2 = ss_r / df_r from 20 degrees of freedom on. sigma_f^2 = ss_f / df_f - sigma_r^2 / readings per
    fill from 10 on, zero where that is negative (one-way analysis of variance). While sigma_r is not proven
    its share is left in sigma_f, which errs on the wide side. Raises ValueError for negative or non-finite
    input.
    """
    not_negative("ss_r", ss_r)
    not_negative("ss_f", ss_f)
    whole("df_r", df_r, 0)
    whole("df_f", df_f, 0)
    if positive("readings_per_fill", readings_per_fill) < 1:
        raise ValueError("readings_per_fill must be at least one")
    variance_r = ss_r / df_r if df_r >= LEAST_DF_READINGS else None
    if df_f < LEAST_DF_FILLS:
        sigma_f = None
    else:
        sigma_f = math.sqrt(max(0.0, ss_f / df_f - (variance_r or 0.0) / readings_per_fill))
    return (None if variance_r is None else math.sqrt(variance_r)), sigma_f


def assumed_sigmas(kind: Kind, span: float) -> tuple[float, float]:
    """(sigma_r, sigma_f) to start with, in scale units, for a scale that spans ``span`` units.

    Whole bean 0.3 and 0.5, ground 0.2 and 0.3 on a span of 100 units, in proportion on others. Our own
    convention, no source. Raises ValueError for another kind or a span that is not above zero.
    """
    one_of("kind", kind, ("whole", "ground"))
    share = positive("span", span) / ASSUMED_SPAN
    sigma_r, sigma_f = ASSUMED[kind]
    return sigma_r * share, sigma_f * share


def choose_sigmas(
    study: Sigmas | None, routine_r: float | None, routine_f: float | None, kind: Kind, span: float
) -> Sigmas:
    """The sigmas to use: an accepted study, else the bench's own routine work, else the assumption.

    ``routine_r`` and ``routine_f`` come from ``pooled_sigmas``: None while not proven. A proven one is used
    even beside an assumed one, since what is known is better than what is assumed; the source is then
    'assumed', as it is 'routine' only when both are proven. Raises ValueError as ``assumed_sigmas`` does.
    """
    if study is not None:
        return study
    assumed_r, assumed_f = assumed_sigmas(kind, span)
    proven = routine_r is not None and routine_f is not None
    return Sigmas(
        sigma_r=assumed_r if routine_r is None else routine_r,
        sigma_f=assumed_f if routine_f is None else routine_f,
        source="routine" if proven else "assumed",
    )
