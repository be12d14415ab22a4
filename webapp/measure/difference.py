"""Ground minus whole bean of one batch: the inside of the bean against its outside."""

import math

from ._checks import positive
from .result import COVERAGE_FACTOR, Result


def difference(
    ground: Result, whole: Result, step_ground: float, step_whole: float, same_meter: bool
) -> Result:
    """The difference of two results on one scale, ground minus whole, with its uncertainty; scale units.

    u^2 is the sum of both samples' fill and reading terms and of step^2/12 for each. Read on one meter, its
    error is common to both and cancels; read on two, both terms stay (JCGM 100:2008, 5.2: fully correlated,
    and independent). ``fills`` and ``readings`` are those of both; ``fills_disagree`` if either sample's do;
    ``fills_limit`` is None. Both results must be on scales of one kind, which this function cannot see.
    There is no universal limit for the difference: it depends on species and process. Raises ValueError for
    a step that is not above zero.
    """
    step_term = positive("step_ground", step_ground) ** 2 / 12 + positive("step_whole", step_whole) ** 2 / 12
    terms = (
        ground.fill_term + whole.fill_term,
        ground.reading_term + whole.reading_term,
        step_term,
        0.0 if same_meter else ground.meter_term + whole.meter_term,
    )
    u = math.sqrt(math.fsum(terms))
    return Result(
        ground.value - whole.value,
        u,
        COVERAGE_FACTOR * u,
        ground.fills + whole.fills,
        ground.readings + whole.readings,
        *terms,
        None,
        ground.fills_disagree or whole.fills_disagree,
    )
