"""Which of the newest values ran steadily: what a baseline is proposed from.

Asked for by its own name (``webapp.measure.steady``), not through the package.
"""

from collections.abc import Sequence

from . import advice
from ._checks import finite_list, positive
from .charts import LEAST_BASELINE, limits_of
from .control import ewma, first_signal
from .rules import signals

MOST_STRETCH = 100
"""As many of the newest values are looked at. More say hardly more of sigma, and reach further into the past."""


def is_steady(values: Sequence[float], step: float) -> bool:
    """Whether nothing fires in values in order of time, by limits of their own: none of the four rules, and not the
    running mean. False for fewer than two. Raises ValueError for a non-finite number or a step that is not above
    zero."""
    if len(values) < 2:
        return False
    limits = limits_of(values, step)
    # One after the other, what fires most often first: most stretches are not steady, and that shows early.
    if any(signals(values, limits.centre, limits.sigma, (rule,)) for rule in (4, 1, 3, 2)):
        return False
    return first_signal(ewma(values, limits.centre, limits.sigma)) is None


def steady_stretch(values: Sequence[float], step: float) -> tuple[int, int] | None:
    """(first, last): indices of the newest stretch of values in order of time in which nothing fires (``is_steady``),
    as long as it can be; None: there is none of at least ``LEAST_BASELINE``.

    Among the newest ``MOST_STRETCH`` values: the longest one that ends with the newest value; where there is none, the
    longest that ends before the newest signal began, and so on. Our own convention, no source. Raises ValueError for a
    non-finite number or a step that is not above zero.
    """
    numbers, resolution = finite_list("values", values) if len(values) else [], positive("step", step)
    oldest, end = max(0, len(numbers) - MOST_STRETCH), len(numbers)
    while end - oldest >= LEAST_BASELINE:
        for start in range(oldest, end - LEAST_BASELINE + 1):
            if is_steady(numbers[start:end], resolution):
                return start, end - 1
        end = oldest + _newest_fired(numbers[oldest:end], resolution)
    return None


def _newest_fired(values: Sequence[float], step: float) -> int | None:
    """Where the signal that began last began; None: nothing fires."""
    run = advice.look(values, limits_of(values, step))
    began = [one.first for one in run.episodes] + [point for point, _side in run.drifts]
    return max(began, default=None)
