"""Is a number so unlike the others that the person should be asked? A question, never a reason to drop it.

Both rules are this project's own conventions, from no source. They are wide on purpose: they are meant for
slips of the finger and a wrong dish, not for scatter, which the agreement limit deals with.
"""

import math
from collections.abc import Sequence

from ._checks import exceeds, finite, finite_list, not_negative, positive, whole
from .replicates import MOST_READINGS, critical_range
from .spread import Sigmas, median

FELLOWS_FACTOR = 3
HISTORY_FACTOR = 4
LEAST_HISTORY = 5


def far_from_fellows(readings: Sequence[float], index: int, sigma_r: float, step: float) -> bool:
    """True if readings[index] is over three critical ranges from the median of its fill.

    Scale units. The critical range and the median are those of all the readings together, so that one slip
    among three does not make the good ones look far. Of two readings either is as far as the other. A lone
    reading has no fellows: False. Raises ValueError for no reading, a non-finite one or an index that is not
    there, and as ``critical_range`` does.
    """
    numbers = finite_list("readings", readings)
    if not 0 <= index < len(numbers):
        raise ValueError(f"there is no reading {index!r}")
    if len(numbers) == 1:
        return False
    limit = FELLOWS_FACTOR * critical_range(min(len(numbers), MOST_READINGS), sigma_r, step)
    among = median(numbers) if len(numbers) > 2 else numbers[1 - index]
    return exceeds(abs(numbers[index] - among), limit, step)


def far_from_history(
    value: float, history_mean: float | None, history_sd: float | None, n: int, sigmas: Sigmas, step: float
) -> bool:
    """True if a value is over four standard deviations from what this product has shown before.

    ``history_mean``, ``history_sd`` and ``n`` describe the product's earlier results of the same kind and
    scale, in scale units; fewer than five say nothing, whatever mean and deviation are given (None will do):
    False. The standard deviation is widened by that of one fill and one reading, and is never below one step,
    so a product that never varied is not asked about at every step. Raises ValueError for a negative or
    non-finite number.
    """
    finite("value", value)
    positive("step", step)
    if whole("n", n, 0) < LEAST_HISTORY:
        return False
    finite("history_mean", history_mean)
    not_negative("history_sd", history_sd)
    spread = math.sqrt(history_sd**2 + sigmas.sigma_f**2 + sigmas.sigma_r**2)
    return exceeds(abs(value - history_mean), HISTORY_FACTOR * max(spread, step), step)
