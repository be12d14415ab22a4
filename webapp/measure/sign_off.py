"""Do a trainee's samples match those of somebody who is signed off: on average, and in how much they vary.

Asked for by its own name (``webapp.measure.sign_off``): quantiles come from scipy, through _pairs.py. All values are in
scale units, sums of squares in squared ones.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ._checks import TINY, not_negative, whole
from ._pairs import CONFIDENCE, pairs
from .compare import tost_paired
from .routine import fill_value_sigma, limit

ALPHA = 1 - CONFIDENCE


@dataclass(frozen=True)
class SignOff:
    """What the paired coffees say: see ``sign_off``.

    bias    the trainee's mean minus the reference person's, with its 90 % interval from ``low`` to ``high``
    spread  standard deviation of the trainee's fills about their coffee's mean; None without a degree of freedom
    steady  whether it is within its limit; None where there is none to say it by
    passed  equivalent and steady
    """

    coffees: int
    bias: float
    low: float
    high: float
    bound: float
    equivalent: bool
    spread: float | None
    spread_limit: float | None
    spread_df: int
    steady: bool | None
    passed: bool


def sign_off(
    reference: Sequence[float],
    trainee: Sequence[float],
    bound: float,
    spread_ss: float,
    spread_df: int,
    sigma_f: float,
    sigma_r: float,
    readings: int,
) -> SignOff:
    """Judge a trainee's values of the same coffees against the reference person's, both in the coffees' order.

    Mean: two one-sided tests at 5 %, which is the 90 % interval of the mean difference inside -/+ ``bound``
    (``compare.tost_paired``). Spread: the trainee's fill values about their coffee's mean, ``spread_ss`` with
    ``spread_df`` degrees of freedom summed over the coffees (``spread.between_fills``); its square is not above
    (sigma_f^2 + sigma_r^2 / readings of a fill) * chi2(0.95; spread_df) / spread_df, since a fill's value holds a
    share of the readings' scatter as well. Without a degree of freedom, one fill of each coffee, the spread is not
    shown and the trainee does not pass. Raises ValueError for fewer than two coffees, lists of unequal length, a
    bound that is not above zero, or a negative or non-finite number.
    """
    theirs, own = pairs(reference, trainee, 2)
    found = tost_paired([b - a for a, b in zip(theirs, own, strict=True)], bound, ALPHA)
    sigma = fill_value_sigma(sigma_r, sigma_f, whole("readings", readings, 1))
    not_negative("spread_ss", spread_ss)
    spread, most, steady = None, None, None
    if whole("spread_df", spread_df, 0):
        spread, most = math.sqrt(spread_ss / spread_df), limit(sigma, spread_df, ALPHA)
        steady = spread <= most * (1 + TINY)
    return SignOff(
        len(own), found.mean, *found.interval, float(bound), found.equivalent,
        spread, most, int(spread_df), steady, found.equivalent and steady is True,
    )  # fmt: skip
