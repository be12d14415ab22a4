"""What every function here asks of its numbers, and the one tolerance all decisions share.

Readings are decimal numbers held as binary floats: 56.1 - 55.8 is 0.30000000000000426. A decision that
compares such a number with a limit must not turn on the last bits, so it allows them:
``exceeds`` and ``within`` treat numbers closer than TINY (a billionth of a step) as equal.
"""

import math
from collections.abc import Iterable

TINY = 1e-9
"""Share of a step below which two numbers are the same number. Far below anything a meter can show."""


def finite(name: str, value: float) -> float:
    """The value as a float. Raises ValueError if it is not a finite number."""
    number = float(value)
    if not math.isfinite(number):
        raise ValueError(f"{name} must be a finite number, not {value!r}")
    return number


def positive(name: str, value: float) -> float:
    """The value as a float. Raises ValueError if it is not finite and above zero."""
    number = finite(name, value)
    if number <= 0:
        raise ValueError(f"{name} must be above zero, not {value!r}")
    return number


def not_negative(name: str, value: float) -> float:
    """The value as a float. Raises ValueError if it is not finite and at least zero."""
    number = finite(name, value)
    if number < 0:
        raise ValueError(f"{name} must not be negative, not {value!r}")
    return number


def whole(name: str, value: int, least: int) -> int:
    """The count as an int. Raises ValueError if it is no whole number or below ``least``."""
    if isinstance(value, bool) or value != int(value) or value < least:
        raise ValueError(f"{name} must be a whole number of at least {least}, not {value!r}")
    return int(value)


def finite_list(name: str, values: Iterable[float]) -> list[float]:
    """The values as a list of floats. Raises ValueError if it is empty or holds a non-finite number."""
    numbers = list(map(float, values))
    if not numbers:
        raise ValueError(f"{name} must hold at least one number")
    if not all(map(math.isfinite, numbers)):
        raise ValueError(f"{name} must hold finite numbers only, not {numbers!r}")
    return numbers


def exceeds(value: float, limit: float, step: float) -> bool:
    """True if ``value`` is above ``limit`` by more than TINY steps: equal decimals never exceed."""
    return value - limit > TINY * step


def one_of(name: str, value: str, words: tuple[str, ...]) -> str:
    """The word. Raises ValueError if it is not one of ``words``."""
    if value not in words:
        raise ValueError(f"{name} must be one of {', '.join(words)}, not {value!r}")
    return value
