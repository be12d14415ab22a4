"""The measurement core: numbers in, numbers out.

Pure functions of the standard library: no clock, no randomness, no framework, no words for a screen. All
values are in scale units unless a docstring says otherwise. Wrong input raises ValueError.

``webapp.measure.control`` and ``webapp.measure.compare`` are asked for by their own names and not imported here:
some of their functions need quantiles of scipy, which no bench page should load.
"""

from .batch import BatchVerdict, Part, batch_verdict
from .conformity import (
    MOST_FILLS,
    Band,
    Judgement,
    Rule,
    conformance_probability,
    fills_to_settle,
    judge,
    normal_cdf,
    position,
)
from .difference import difference
from .plausible import LEAST_HISTORY, far_from_fellows, far_from_history
from .reading_text import ReadingProblem, parse_decimal, parse_mass, parse_reading
from .replicates import (
    CRITICAL_RANGE_FACTORS,
    MOST_READINGS,
    FillValue,
    critical_range,
    fill_value,
    more_readings,
)
from .result import (
    CHECKS_USED,
    Result,
    assumed_tolerance,
    fills_range_limit,
    meter_uncertainty,
    sample_result,
    uncertainty_terms,
)
from .rounding import round_half_even, show_give_or_take, show_percent, show_signed, show_value, step_decimals
from .spread import (
    Sigmas,
    assumed_sigmas,
    between_fills,
    choose_sigmas,
    mean,
    median,
    pooled_sigmas,
    standard_deviation,
    sum_of_squares,
    within_fill,
)

__all__ = [
    "CHECKS_USED",
    "LEAST_HISTORY",
    "CRITICAL_RANGE_FACTORS",
    "MOST_FILLS",
    "MOST_READINGS",
    "Band",
    "BatchVerdict",
    "FillValue",
    "Judgement",
    "Part",
    "ReadingProblem",
    "Result",
    "Rule",
    "Sigmas",
    "assumed_sigmas",
    "assumed_tolerance",
    "batch_verdict",
    "between_fills",
    "choose_sigmas",
    "conformance_probability",
    "critical_range",
    "difference",
    "far_from_fellows",
    "far_from_history",
    "fill_value",
    "fills_range_limit",
    "fills_to_settle",
    "judge",
    "mean",
    "meter_uncertainty",
    "more_readings",
    "median",
    "normal_cdf",
    "parse_decimal",
    "parse_mass",
    "parse_reading",
    "pooled_sigmas",
    "position",
    "round_half_even",
    "sample_result",
    "show_give_or_take",
    "show_percent",
    "show_signed",
    "show_value",
    "standard_deviation",
    "step_decimals",
    "sum_of_squares",
    "uncertainty_terms",
    "within_fill",
]
