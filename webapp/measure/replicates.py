"""The readings of one fill: do they agree, and what is the fill's value (ISO 5725-6:1994, clause 5.2)."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ._checks import exceeds, finite_list, not_negative, positive, whole
from .spread import mean, median

MOST_READINGS = 100

# fmt: off
_FACTORS = (
    2.77181, 3.31449, 3.63316, 3.85766, 4.03009, 4.16955, 4.28631, 4.38651, 4.47412, 4.55186,
    4.62166, 4.68492, 4.74273, 4.79592, 4.84515, 4.89095, 4.93375, 4.97389, 5.01169, 5.04738,
    5.08119, 5.11330, 5.14385, 5.17300, 5.20085, 5.22752, 5.25309, 5.27766, 5.30129, 5.32405,
    5.34600, 5.36719, 5.38768, 5.40750, 5.42670, 5.44531, 5.46336, 5.48090, 5.49794, 5.51451,
    5.53063, 5.54634, 5.56164, 5.57656, 5.59112, 5.60533, 5.61921, 5.63277, 5.64603, 5.65899,
    5.67168, 5.68410, 5.69627, 5.70819, 5.71987, 5.73132, 5.74255, 5.75357, 5.76439, 5.77501,
    5.78544, 5.79568, 5.80575, 5.81564, 5.82537, 5.83494, 5.84435, 5.85362, 5.86273, 5.87170,
    5.88054, 5.88924, 5.89781, 5.90625, 5.91458, 5.92278, 5.93086, 5.93884, 5.94670, 5.95446,
    5.96211, 5.96966, 5.97711, 5.98447, 5.99173, 5.99889, 6.00597, 6.01297, 6.01987, 6.02669,
    6.03343, 6.04010, 6.04668, 6.05319, 6.05962, 6.06598, 6.07227, 6.07849, 6.08464,
)

CRITICAL_RANGE_FACTORS: dict[int, float] = dict(enumerate(_FACTORS, start=2))
"""n -> f(n), n = 2 to 100: the 95 % point of the studentized range of n values with infinite degrees of
freedom, to five decimals (ISO 5725-6:1994, table 1, which prints one decimal). No unit."""


@dataclass(frozen=True)
class FillValue:
    """The value of one fill and how its readings agree. Values in scale units.

    value  the mean, or the median once the readings are known to disagree
    how    'mean' or 'median'
    n      how many readings it stands on (none is dropped)
    range  largest minus smallest reading
    limit  the critical range for n readings; None for a single one
    state  'agree'; 'more' (they disagree so far, further readings are asked for); 'disagree' (a new fill is)
    more   how many more readings are asked for; 0 unless the state is 'more'
    """

    value: float
    how: Literal["mean", "median"]
    n: int
    range: float
    limit: float | None
    state: Literal["agree", "more", "disagree"]
    more: int


def critical_range(n: int, sigma_r: float, step: float) -> float:
    """The widest range that n readings of one fill may show, in scale units: f(n) * sigma_r.

    Never less than one ``step`` of the scale, since readings one step apart may be the same shade. Source:
    ISO 5725-6:1994, 5.2. Raises ValueError for n below 2 (one reading has no range) or above 100, a negative
    sigma_r, or a step that is not above zero.
    """
    if whole("n", n, 2) > MOST_READINGS:
        raise ValueError(f"at most {MOST_READINGS} readings can be tested, not {n}")
    return max(CRITICAL_RANGE_FACTORS[n] * not_negative("sigma_r", sigma_r), positive("step", step))


def more_readings(n: int) -> int:
    """How many further readings to ask for after n that disagree: the smallest m with n/3 <= m <= n/2.

    One after two or three. Source: ISO 5725-6:1994, 5.2.2.2 and 5.2.3. Raises ValueError for n below 2.
    """
    return -(-whole("n", n, 2) // 3)


def fill_value(
    readings: Sequence[float], planned: int, sigma_r: float, step: float, *, final: bool = False
) -> FillValue:
    """The value of one fill from its readings so far, in scale units. ISO 5725-6:1994, clause 5.2.

    ``planned``: how many readings the method asks for. Readings agree while their range is not above
    ``critical_range``; a range that equals it, as decimals, agrees. Agreeing readings give their mean.
    Disagreeing ones give state 'more' while the plan, and the further readings that clause 5.2 allows, are
    not used up: first what is missing of the plan, then ``more_readings(planned)`` beyond it; the mean so far
    is shown. After that, or at once with ``final=True`` (no further reading can be taken, 5.2.2.2 a), they
    give the median of all and state 'disagree'. Two readings are the fewest that can disagree, so a plan of
    one counts as two here.

    Depends on the multiset of readings only: their order does not matter, and none is dropped. Raises
    ValueError for no reading, a non-finite one, more than 100, or as ``critical_range`` does.
    """
    numbers = finite_list("readings", readings)
    n = len(numbers)
    planned = max(2, whole("planned", planned, 1))
    spread = max(numbers) - min(numbers)
    if n == 1:
        not_negative("sigma_r", sigma_r)
        positive("step", step)
        return FillValue(numbers[0], "mean", 1, 0.0, None, "agree", 0)
    limit = critical_range(n, sigma_r, step)
    if not exceeds(spread, limit, step):
        return FillValue(mean(numbers), "mean", n, spread, limit, "agree", 0)
    aim = planned if n < planned else planned + more_readings(planned)
    if n < aim and not final:
        return FillValue(mean(numbers), "mean", n, spread, limit, "more", aim - n)
    return FillValue(median(numbers), "median", n, spread, limit, "disagree", 0)
