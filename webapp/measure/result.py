"""The result of one sample and its uncertainty (JCGM 100:2008, law of propagation)."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ._checks import exceeds, finite_list, not_negative, positive, whole
from .replicates import CRITICAL_RANGE_FACTORS, MOST_READINGS, FillValue
from .spread import Sigmas, mean

COVERAGE_FACTOR = 2.0

CHECKS_USED = 30
LEAST_CHECKS = 5


@dataclass(frozen=True)
class Result:
    """A value with its uncertainty; a sample's result, or a difference of two.

    value   in scale units, unrounded
    u       standard uncertainty, scale units: the root of the sum of the four terms
    U       give or take, scale units: expanded uncertainty with coverage factor k = 2
    fills, readings   how many it stands on
    fill_term, reading_term, step_term, meter_term   the four variances, squared scale units
    fills_limit     the widest range the fill values may show, scale units; None where it does not apply
    fills_disagree  the fill values lie further apart than that
    """

    value: float
    u: float
    U: float
    fills: int
    readings: int
    fill_term: float
    reading_term: float
    step_term: float
    meter_term: float
    fills_limit: float | None
    fills_disagree: bool

    @property
    def terms(self) -> dict[str, float]:
        """The four variances by name (fill, reading, step, meter), squared scale units."""
        return {
            "fill": self.fill_term,
            "reading": self.reading_term,
            "step": self.step_term,
            "meter": self.meter_term,
        }


def uncertainty_terms(
    fills: int, readings: int, sigmas: Sigmas, step: float, u_meter: float
) -> tuple[float, float, float, float]:
    """(fill, reading, step, meter) variances of a mean of fill values, squared scale units.

    sigma_f^2 / fills, sigma_r^2 / all readings, step^2 / 12 (a reading rounded to its step: uniform within
    it, JCGM 100:2008, F.2.2.1) and u_meter^2, which no number of fills makes smaller. Where fills hold
    unequal numbers of readings the second term is an approximation, low by under 3 % for three and four.
    Raises ValueError for fewer readings than fills, no fill, or a negative or non-finite number.
    """
    whole("fills", fills, 1)
    whole("readings", readings, fills)
    return (
        sigmas.sigma_f**2 / fills,
        sigmas.sigma_r**2 / readings,
        positive("step", step) ** 2 / 12,
        not_negative("u_meter", u_meter) ** 2,
    )


def fills_range_limit(fills: int, readings: int, sigmas: Sigmas, step: float) -> float:
    """The widest range that the values of so many fills of one sample may show, in scale units.

    f(fills) * sqrt(sigma_f^2 + sigma_r^2 / readings per fill), never below one step: ISO 5725-6:1994, 5.2,
    with the standard deviation of one fill value. ``readings`` is the number over all fills. Raises
    ValueError for fewer than two fills, more than 100, or a step that is not above zero.
    """
    if whole("fills", fills, 2) > MOST_READINGS:
        raise ValueError(f"at most {MOST_READINGS} fills can be tested, not {fills}")
    whole("readings", readings, fills)
    sd = math.sqrt(sigmas.sigma_f**2 + sigmas.sigma_r**2 * fills / readings)
    return max(CRITICAL_RANGE_FACTORS[fills] * sd, positive("step", step))


def sample_result(fills: Sequence[FillValue], sigmas: Sigmas, step: float, u_meter: float) -> Result:
    """The result of one sample: the mean of its fill values, with its uncertainty.

    ``step``: the scale's resolution; ``u_meter``: from ``meter_uncertainty``; both in scale units.
    u^2 = sigma_f^2/F + sigma_r^2/(all readings) + step^2/12 + u_meter^2 and U = 2u (JCGM 100:2008, 5.1.2 and
    6.2.1). Every fill counts the same, one whose readings disagree too: it is flagged, never dropped. Fills
    disagree when their values' range exceeds ``fills_range_limit``. The order of the fills does not matter.
    Raises ValueError for no fill or a negative or non-finite number.
    """
    values = finite_list("fills", [fill.value for fill in fills])
    readings = sum(fill.n for fill in fills)
    terms = uncertainty_terms(len(values), readings, sigmas, step, u_meter)
    limit = fills_range_limit(len(values), readings, sigmas, step) if len(values) > 1 else None
    disagree = limit is not None and exceeds(max(values) - min(values), limit, step)
    u = math.sqrt(math.fsum(terms))
    return Result(mean(values), u, COVERAGE_FACTOR * u, len(values), readings, *terms, limit, disagree)


def assumed_tolerance(span: float) -> float:
    """The tolerance of a meter whose plate is not known, in scale units: 0.3 on a scale that spans 100 units.

    In proportion on others. Our own convention, no source. Raises ValueError for a span that is not above zero.
    """
    return 0.3 * positive("span", span) / 100


def meter_uncertainty(
    deviations: Sequence[float], tolerance: float
) -> tuple[float, Literal["checks", "assumed"]]:
    """(standard uncertainty of the meter, in scale units, and its source).

    ``deviations``: as-found deviations of the meter's checks from the plate's value, oldest first; the last
    30 count. Their root mean square ('checks'), so a lasting offset counts as well as scatter. With fewer
    than five the plate's tolerance / sqrt(3), a uniform distribution within it (JCGM 100:2008, 4.3.7),
    'assumed'. Raises ValueError for a negative or non-finite number.
    """
    not_negative("tolerance", tolerance)
    if len(deviations) < LEAST_CHECKS:
        return tolerance / math.sqrt(3), "assumed"
    recent = finite_list("deviations", deviations)[-CHECKS_USED:]
    return math.sqrt(math.fsum(d * d for d in recent) / len(recent)), "checks"
