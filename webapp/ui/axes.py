"""The axes of a drawing on paper: numbers to places, and round numbers along them. What studies and trends share."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from webapp.measure import show_value
from webapp.ui.numbers import decimal_mark

MOST_TICKS = 6


@dataclass(frozen=True)
class Axis:
    """A direction of the paper: `ends` in scale units, drawn from `start` to `stop`; `ticks` (place, text)."""

    ends: tuple[float, float]
    start: float
    stop: float
    lighter: int
    decimals: float

    def at(self, value: float) -> float:
        """Where a number stands."""
        low, high = self.ends if self.lighter > 0 else self.ends[::-1]
        return round(self.start + (value - low) / (high - low) * (self.stop - self.start), 1)

    @property
    def ticks(self) -> list[tuple[float, str]]:
        """Round numbers along it."""
        step = round_step(self.ends[1] - self.ends[0], self.decimals)
        first, last = math.ceil(self.ends[0] / step - 1e-9), math.floor(self.ends[1] / step + 1e-9)
        return [(self.at(n * step), show_value(n * step, step, decimal_mark())) for n in range(first, last + 1)]


def round_step(span: float, least: float) -> float:
    """The smallest 1, 2 or 5 times a power of ten that gives at most MOST_TICKS steps."""
    power = math.floor(math.log10(span / MOST_TICKS))
    for factor in (1, 2, 5, 10):
        step = factor * 10.0**power
        if span / step <= MOST_TICKS:
            break
    # As it is written: 0.2, not 0.2000000001.
    return max(float(f"{step:.6g}"), least)


def reach(values: Iterable[float], least: float) -> tuple[float, float]:
    """The ends of an axis that holds these values, with a little room."""
    values = list(values)
    low, high = min(values), max(values)
    room = max((high - low) * 0.08, least)
    return low - room, high + room
