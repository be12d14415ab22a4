"""Which of the newest values ran steadily: what a baseline is proposed from.

Asked for by its own name (``webapp.measure.steady``), not through the package.
"""

from collections.abc import Sequence

from . import advice
from ._checks import finite_list, positive
from .charts import LEAST_BASELINE, limits_of

MOST_STRETCH = 100
"""As many of the newest values are looked at. More say hardly more of sigma, and reach further into the past."""


def steady_stretch(values: Sequence[float], step: float) -> tuple[int, int] | None:
    """(first, last): indices of the newest stretch of values in order of time in which nothing fires; None: there is
    none of at least ``LEAST_BASELINE``.

    The newest ``MOST_STRETCH`` values are judged by limits of their own, with all four rules and the running mean. If
    something fires, they are cut where the newest of it began and where it ended: looked at next is what came after it,
    then what began with it, then what was before it, each in the same way. Our own convention, no source. Raises
    ValueError for a non-finite number or a step that is not above zero.
    """
    numbers, resolution = finite_list("values", values) if len(values) else [], positive("step", step)
    waiting, seen = [(max(0, len(numbers) - MOST_STRETCH), len(numbers))], set()
    while waiting:
        start, end = waiting.pop()
        if end - start < LEAST_BASELINE or (start, end) in seen:
            continue
        seen.add((start, end))
        found = _newest_fired(numbers[start:end], resolution)
        if found is None:
            return start, end - 1
        first, last = found
        waiting += [(start, start + first), (start + first, end), (start + last + 1, end)]
    return None


def _newest_fired(values: list[float], step: float) -> tuple[int, int] | None:
    """(first, last) of the signal that began last; None: nothing fires."""
    run = advice.look(values, limits_of(values, step))
    spans = [(one.first, one.last) for one in run.episodes]
    for point, side in run.drifts:
        over = (no for no in range(point, len(values)) if run.average[no].signal != side)
        spans.append((point, next(over, len(values)) - 1))
    return max(spans, default=None)
