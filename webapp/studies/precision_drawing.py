"""The drawings of a precision study and of the planner, as numbers for a template. Lighter is up, whichever way the
scale runs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from webapp.measure import mean
from webapp.measure.planner import Cell
from webapp.ui.axes import Axis, reach

LEFT, TOP, BOTTOM = 92, 34, 330
COLUMN, BETWEEN, RIGHT = 34, 22, 16
LEAST_WIDTH, PHONE, SCREEN = 440, 600, 1000
# About how wide a letter of a name is, to cut one that does not fit under its fills.
LETTER = 10


@dataclass(frozen=True)
class Slice:
    """A part's share as a bar: from where, how wide, in percent of the whole."""

    part: str
    start: float
    width: float


def slices(shares: Mapping[str, float], order: Sequence[str]) -> list[Slice]:
    """The shares (0 to 1) one after the other: each begins where the one before it ends."""
    found, start = [], 0.0
    for part in order:
        width = 100 * shares[part]
        found.append(Slice(part, round(start, 2), round(width, 2)))
        start += width
    return found


@dataclass(frozen=True)
class Column:
    """A fill: its number, where it stands, its readings as `values` and as dots, its mean as `value` and where that
    lies (None: it does not count). `ring`: (top, height) and `marks`, the numbers of what is said about it."""

    no: int
    x: float
    values: Sequence[float]
    dots: list[tuple[float, float]]
    value: float | None
    mean: float | None
    marks: tuple[int, ...] = ()
    ring: tuple[float, float] | None = None

    @property
    def counts(self) -> bool:
        """Whether the numbers of the study stand on it, too."""
        return self.value is not None


@dataclass(frozen=True)
class Group:
    """A person's fills, from `left` to `right`; `mean` of those that count, None if none does; `marks` as above."""

    name: str
    short: str
    left: float
    right: float
    columns: list[Column]
    mean: float | None
    marks: tuple[int, ...] = ()

    @property
    def middle(self) -> float:
        """Half way between its ends."""
        return round((self.left + self.right) / 2, 1)


@dataclass(frozen=True)
class Dots:
    """Every fill a column of its readings, grouped by person."""

    width: float
    y: Axis
    groups: list[Group]

    @property
    def size(self) -> str:
        """'wide': too wide for a phone, where it is moved sideways and not made smaller; 'widest': for any screen."""
        return "widest" if self.width > SCREEN else "wide" if self.width > PHONE else ""


@dataclass(frozen=True)
class Person:
    """What is drawn of a person: each fill's counted readings, which of the fills count (from 0), and the numbers of
    what is odd: of single fills and of the person."""

    name: str
    fills: Sequence[Sequence[float]]
    counting: frozenset[int]
    odd_fills: Mapping[int, tuple[int, ...]]
    odd: tuple[int, ...] = ()


def dots(persons: Sequence[Person], readings: int, step: float, lighter: int) -> Dots:
    """The drawing. `readings` of each fill count; step in scale units, lighter +1 or -1 as the scale runs."""
    every = [value for person in persons for fill in person.fills for value in fill]
    y = Axis(reach(every, step), BOTTOM, TOP, lighter, step)
    total = sum(len(person.fills) for person in persons)
    space = LEAST_WIDTH - LEFT - RIGHT - BETWEEN * len(persons)
    column = max(float(COLUMN), space / max(total, 1))
    groups, x = [], LEFT + BETWEEN / 2
    for person in persons:
        right = x + column * len(person.fills)
        columns = [column_of(person, no, x + (no + 0.5) * column, readings, y) for no in range(len(person.fills))]
        there = [mean(person.fills[no][:readings]) for no in sorted(person.counting)]
        room = max(2, int((right - x + BETWEEN / 2) / LETTER))
        short = person.name if len(person.name) <= room else person.name[: room - 1].rstrip() + "…"
        level = y.at(mean(there)) if there else None
        groups.append(Group(person.name, short, round(x, 1), round(right, 1), columns, level, person.odd))
        x = right + BETWEEN
    return Dots(round(x - BETWEEN / 2 + RIGHT, 1), y, groups)


def column_of(person: Person, no: int, x: float, readings: int, y: Axis) -> Column:
    """One fill. Its readings stand a little beside each other, in their order, so that equal ones can be told."""
    values = person.fills[no]
    apart = min(9.0, 22 / max(len(values) - 1, 1))
    places = [
        (round(x + (at - (len(values) - 1) / 2) * apart, 1), y.at(value)) for at, value in enumerate(values)
    ]  # fmt: skip
    marks, ring = person.odd_fills.get(no, ()), None
    if marks and places:
        top, bottom = min(up for _x, up in places) - 14, max(up for _x, up in places) + 14
        ring = (round(top, 1), round(bottom - top, 1))
    value = mean(values[:readings]) if no in person.counting else None
    return Column(no + 1, round(x, 1), values, places, value, None if value is None else y.at(value), marks, ring)


# The planner -----------------------------------------------------------------------------------------

BAR_BOTTOM, BAR_TOP, BAR_FIRST, BAR_STEP, BAR_WIDTH = 214.0, 44.0, 56, 84, 52


@dataclass(frozen=True)
class Bar:
    """What is in u^2 of a plan: three pieces one on the other, each (top, height); `now`: the plan in force."""

    cell: Cell
    x: float
    other: tuple[float, float]
    fill: tuple[float, float]
    reading: tuple[float, float]
    now: bool

    @property
    def top(self) -> float:
        """Its upper end."""
        return self.reading[0]


def bars(cells: Sequence[Cell], most: float, now: tuple[int, int]) -> list[Bar]:
    """The plans beside each other. `most`: the u^2 that is as high as the drawing (both drawings share it)."""
    found = []
    for at, cell in enumerate(cells):
        whole = (cell.give_or_take / 2) ** 2 / most * (BAR_BOTTOM - BAR_TOP) if most > 0 else 0.0
        pieces, bottom = [], BAR_BOTTOM
        for part in (cell.other_part, cell.fill_part, cell.reading_part):
            height = part * whole
            pieces.append((round(bottom - height, 1), round(height, 1)))
            bottom -= height
        found.append(Bar(cell, BAR_FIRST + at * BAR_STEP, *pieces, (cell.fills, cell.readings) == now))
    return found
