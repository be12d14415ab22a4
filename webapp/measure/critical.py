"""How far two results may lie apart: critical differences of ISO 5725-6:1994, 4.2, in the unit of the sigmas."""

import math

from ._checks import not_negative, whole

CRITICAL_FACTOR = 2.8
"""1.96 * sqrt(2) as ISO 5725-6:1994 rounds it. No unit."""


def critical_difference_one_lab(sigma_r: float, n1: int, n2: int) -> float:
    """How far two means of n1 and n2 readings in one laboratory may lie apart (95 %): ISO 5725-6:1994, 4.2.

    2.8 sigma_r sqrt(1/(2 n1) + 1/(2 n2)). Raises ValueError for a negative sigma or a count below one.
    """
    share = 1 / (2 * whole("n1", n1, 1)) + 1 / (2 * whole("n2", n2, 1))
    return CRITICAL_FACTOR * not_negative("sigma_r", sigma_r) * math.sqrt(share)


def _both_sigmas(sigma_r: float, sigma_R: float) -> None:
    if not_negative("sigma_R", sigma_R) < not_negative("sigma_r", sigma_r):
        raise ValueError("reproducibility cannot be better than repeatability")


def critical_difference_two_labs(sigma_r: float, sigma_R: float, n1: int, n2: int) -> float:
    """The same for means of two laboratories; ``sigma_R``: reproducibility SD, which holds sigma_r.

    sqrt((2.8 sigma_R)^2 - (2.8 sigma_r)^2 (1 - 1/(2 n1) - 1/(2 n2))). Raises ValueError also for sigma_R < sigma_r.
    """
    _both_sigmas(sigma_r, sigma_R)
    share = 1 - 1 / (2 * whole("n1", n1, 1)) - 1 / (2 * whole("n2", n2, 1))
    return CRITICAL_FACTOR * math.sqrt(sigma_R**2 - sigma_r**2 * share)


def critical_difference_reference(sigma_r: float, sigma_R: float, n: int) -> float:
    """The same for one laboratory's mean of n against a reference value.

    sqrt((2.8 sigma_R)^2 - (2.8 sigma_r)^2 (n - 1)/n) / sqrt(2). Raises ValueError as the one for two laboratories.
    """
    _both_sigmas(sigma_r, sigma_R)
    return CRITICAL_FACTOR * math.sqrt((sigma_R**2 - sigma_r**2 * (whole("n", n, 1) - 1) / n) / 2)
