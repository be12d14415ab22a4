"""Has a run of values stopped being steady: the four Western Electric rules, and what they cost in false alarms.

Asked for by its own name (``webapp.measure.rules``), not through the package. Sides are those of the numbers.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from ._checks import TINY, finite, finite_list, positive

Side = Literal["above", "below"]

RULES: dict[int, tuple[int, int, int]] = {1: (1, 1, 3), 2: (2, 3, 2), 3: (4, 5, 1), 4: (8, 8, 0)}
"""Rule -> (how many, of the last how many, beyond how many sigma), all on one side of the centre. Western Electric,
Statistical Quality Control Handbook, 1956, as in the NIST/SEMATECH e-Handbook, 6.3.2."""

REACH = max(of for _needed, of, _beyond in RULES.values())
"""The most values that a rule looks back on."""

RUN_LENGTHS: dict[tuple[int, ...], float] = {
    (1,): 370.40, (1, 2): 225.44, (1, 3): 166.05, (1, 4): 152.73,
    (1, 2, 3): 132.89, (1, 2, 4): 122.05, (1, 3, 4): 105.78, (1, 2, 3, 4): 91.75,
}  # fmt: skip
"""Rules switched on -> mean number of steady values up to a false alarm, centre and sigma known (Champ and Woodall,
Technometrics 1987; 29: 393-399, table 1)."""

SHIFT_LENGTHS: dict[tuple[int, ...], float] = {
    (1,): 43.89, (1, 2): 20.01, (1, 3): 12.66, (1, 4): 14.58,
    (1, 2, 3): 10.95, (1, 2, 4): 11.73, (1, 3, 4): 10.19, (1, 2, 3, 4): 9.22,
}  # fmt: skip
"""The same table for values whose mean has moved by one sigma: how many it takes until that is seen."""


@dataclass(frozen=True)
class Signal:
    """A rule that fired. point: index of the value that completes it; first: of the first one that it counts."""

    point: int
    rule: int
    side: Side
    first: int


@dataclass(frozen=True)
class Episode:
    """Signals of one side that follow each other: one thing that happened, not many.

    signals  in order; the first one names the rule and the point
    first    index of the first value that the first one counts; last: of the last value that signals
    """

    side: Side
    signals: tuple[Signal, ...]

    @property
    def first(self) -> int:
        """Where it may have begun."""
        return self.signals[0].first

    @property
    def last(self) -> int:
        """Where it was last seen."""
        return self.signals[-1].point


def signals(values: Sequence[float], centre: float, sigma: float, rules: Iterable[int] = RULES) -> list[Signal]:
    """Every signal of values in order of time, by point and then by rule; [] for no values.

    A point on a limit is not beyond it, and neither is one a billionth of sigma further. The value that completes a
    rule is itself beyond: a point that went back towards the centre gives no signal. Raises ValueError for a non-finite
    number, a sigma that is not above zero, or a rule that there is not.
    """
    numbers = finite_list("values", values) if len(values) else []
    middle, unit = finite("centre", centre), positive("sigma", sigma)
    distances = [(number - middle) / unit for number in numbers]
    mirrored = [-distance for distance in distances]
    found = []
    for rule in set(rules):
        if rule not in RULES:
            raise ValueError(f"a rule is one of {', '.join(map(str, RULES))}, not {rule!r}")
        found += _fired(distances, rule, "above") + _fired(mirrored, rule, "below")
    return sorted(found, key=lambda signal: (signal.point, signal.rule))


def _fired(distances: list[float], rule: int, side: Side) -> list[Signal]:
    needed, of, beyond = RULES[rule]
    limit = beyond + TINY
    there = [point for point, distance in enumerate(distances) if distance > limit]
    last = needed - 1
    return [
        Signal(point, rule, side, first)
        for point, first in zip(there[last:], there, strict=False)
        if point - first < of
    ]


def episodes(found: Sequence[Signal], gap: int = REACH) -> list[Episode]:
    """Signals gathered: those of one side that come within ``gap`` values after each other are one episode.

    ``found``: as ``signals`` gives them. In order of their first signal. Our own convention, no source.
    """
    gathered: list[list[Signal]] = []
    open_at: dict[Side, list[Signal]] = {}
    for signal in found:
        there = open_at.get(signal.side)
        if there and signal.point - there[-1].point <= gap:
            there.append(signal)
        else:
            open_at[signal.side] = [signal]
            gathered.append(open_at[signal.side])
    return [Episode(one[0].side, tuple(one)) for one in gathered]
