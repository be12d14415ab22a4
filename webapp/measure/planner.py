"""How many fills and readings a wanted give-or-take needs, and what they cost in time.

Asked for by its own name (``webapp.measure.planner``). Standard deviations and give-or-take are in scale units,
times in minutes.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from ._checks import TINY, not_negative, positive
from .conformity import MOST_FILLS
from .result import COVERAGE_FACTOR, uncertainty_terms
from .spread import Sigmas

MOST_READINGS_OF_A_FILL = 5


@dataclass(frozen=True)
class Costs:
    """Minutes that one fill takes (emptying, filling, levelling) and that one reading of it takes."""

    fill_minutes: float
    reading_minutes: float

    def __post_init__(self) -> None:
        not_negative("fill_minutes", self.fill_minutes)
        not_negative("reading_minutes", self.reading_minutes)


@dataclass(frozen=True)
class Cell:
    """A plan of so many fills, each read so often: what it gives and what it costs.

    ``give_or_take``: U = 2u. ``fill_part``, ``reading_part``, ``other_part`` (the scale's step and the meter): their
    shares of u^2, which add up to 1.
    """

    fills: int
    readings: int
    give_or_take: float
    minutes: float
    fill_part: float
    reading_part: float
    other_part: float


def table(sigma_r: float, sigma_f: float, step: float, u_meter: float, costs: Costs) -> tuple[Cell, ...]:
    """Every plan of 1 to 4 fills with 1 to 5 readings of each, in that order.

    u as ``result.uncertainty_terms`` gives it: sigma_f^2 / fills + sigma_r^2 / all readings + step^2 / 12 + u_meter^2
    (JCGM 100:2008, 5.1.2). More readings of one fill make the second term smaller, and the first not at all. Minutes:
    fills * (fill_minutes + readings * reading_minutes). Raises ValueError for a negative or non-finite number, or a
    step that is not above zero.
    """
    sigmas = Sigmas(sigma_r, sigma_f, "study")
    cells = []
    for fills in range(1, MOST_FILLS + 1):
        for readings in range(1, MOST_READINGS_OF_A_FILL + 1):
            of_fill, of_reading, *others = uncertainty_terms(fills, fills * readings, sigmas, step, u_meter)
            total = math.fsum((of_fill, of_reading, *others))
            minutes = fills * (costs.fill_minutes + readings * costs.reading_minutes)
            parts = of_fill / total, of_reading / total, math.fsum(others) / total
            cells.append(Cell(fills, readings, COVERAGE_FACTOR * math.sqrt(total), minutes, *parts))
    return tuple(cells)


def cheapest(cells: Iterable[Cell], wanted: float) -> Cell | None:
    """The plan that takes the fewest minutes of those whose give-or-take is not above ``wanted``; None if none is.

    Of equally quick ones that with the least give-or-take, then the one with fewer fills. Raises ValueError for a
    wanted give-or-take that is not above zero.
    """
    limit = positive("wanted", wanted) * (1 + TINY)
    good = [cell for cell in cells if cell.give_or_take <= limit]
    return min(good, key=lambda cell: (cell.minutes, cell.give_or_take, cell.fills), default=None)


def floor(cells: Iterable[Cell]) -> float:
    """The least give-or-take that any of the plans gives. Raises ValueError for no plan."""
    return min(cell.give_or_take for cell in cells)
