"""What the values of a column look like, all of them: by this a style is proposed, or the person is asked.

A style is proposed only where it is the one that every value fits. Where several fit, or none, somebody has to choose.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import date
from functools import lru_cache

from webapp.exchange.import_cells import Clock, Day, Formula, Num, Row, Wrong

MOST_VALUES = 300
"""Different values of a column that are remembered: to match names by."""

DAY_STYLES = ("iso", "dmy.", "dmy/", "mdy/", "dmy-", "mdy-", "serial")
_NUMBER = re.compile(r"[+\-\u2212]?(\d*)(?:([.,])(\d+))?")
_GROUPED = re.compile(r"[+\-\u2212]?\d{1,3}(?:[.,'’\u00a0\u202f ]\d{3})+(?:[.,]\d+)?")
_DAY = re.compile(r"(\d{1,4})([./-])(\d{1,2})\2(\d{1,4})(?:(?:T|\s+)(\d.*))?")
_CLOCK = re.compile(r"(\d{1,3}):(\d\d)(?::(\d\d))?(?:\.\d+)?\s*([AaPp]\.?[Mm]\.?)?")
_ZONE = re.compile(r"(?:Z|[+-]\d\d:?\d\d)$")


def day_parts(text: str) -> tuple[str, str, str, str, str] | None:
    """(first, mark, second, third, what follows) of something written like a day, blanks around it aside."""
    found = _DAY.fullmatch(text.strip())
    return found and (found[1], found[2], found[3], found[4], (found[5] or "").strip())


def real_day(year: str, month: str, day: str) -> date | None:
    """The day, where the calendar has it. Two digits of a year are those of this century."""
    if len(year) not in (2, 4) or len(month) > 2 or len(day) > 2:
        return None
    try:
        return date(int(year) + (2000 if len(year) == 2 else 0), int(month), int(day))
    except ValueError:
        return None


def day_in(parts: tuple[str, str, str, str, str], style: str) -> date | None:
    """What a written day is in one style; None where it is none in that style."""
    first, mark, second, third, _rest = parts
    if style == "iso":
        return real_day(first, second, third) if len(first) == 4 and mark in "-/" else None
    if mark != style[3:] or len(first) > 2:
        return None
    return real_day(third, second, first) if style.startswith("dmy") else real_day(third, first, second)


@lru_cache(maxsize=1 << 16)
def shape_of(cell: str) -> str:
    """A word for what a text looks like; a column is a tally of such words."""
    text = cell.strip()
    number = _NUMBER.fullmatch(text)
    if number and (number[1] or number[3]):
        if not number[2]:
            return "whole5" if len(number[1]) == 5 and number[1] >= "20000" else "whole"
        kind = "point" if number[2] == "." else "comma"
        return f"{kind}3" if len(number[3]) == 3 and 0 < len(number[1]) <= 3 else kind
    parts = day_parts(text)
    if parts:
        fits = ",".join(style for style in DAY_STYLES[:-1] if day_in(parts, style))
        return f"day:{fits}:{'z' if _ZONE.search(parts[4]) else 't' if parts[4] else ''}"
    if clock := _CLOCK.fullmatch(text):
        return _clock_shape(clock[1], clock[3])
    if _GROUPED.fullmatch(text):
        return "grouped"
    return "text"


def _clock_shape(first: str, last: str | None) -> str:
    if last is None:
        return "clock"
    zero, whole = not int(first), last == "00"
    return "clock3:" + ("both" if zero and whole else "zero" if zero else "whole" if whole else "neither")


def _typed(cell: str) -> str:
    match cell:
        case Num():
            return "num"
        case Day():
            return "date" if len(cell) == 10 else "date:t"
        case Clock():
            hours, _minutes, seconds = cell.split(":")
            return _clock_shape(hours, seconds)
        case Formula():
            return "formula"
        case Wrong():
            return "wrong"
    return "text"


@dataclass(frozen=True)
class Look:
    """shapes: word -> how many values look like that; examples: the first values; values: the different ones in the
    order of the file, None where they are too many or too long to be names."""

    shapes: dict[str, int]
    examples: list[str]
    values: list[str] | None

    def as_json(self) -> dict:
        """For the draft."""
        return asdict(self)

    @property
    def filled(self) -> int:
        """How many values there are."""
        return sum(self.shapes.values())

    def count(self, *begins: str) -> int:
        """How many values look like one of these."""
        return sum(n for shape, n in self.shapes.items() if shape.startswith(begins))

    @property
    def lone(self) -> dict[str, int]:
        """Decimal style -> how many of the text values are written in it and in no other."""
        return {"point": self.count("point"), "comma": self.count("comma")}

    @property
    def marks(self) -> list[str]:
        """The decimal styles that some value is written in."""
        return [style for style, n in self.lone.items() if n]

    @property
    def thousands(self) -> bool:
        """Whether every mark could be one between thousands, as in 12.350."""
        return len(self.marks) == 1 and self.shapes.get(f"{self.marks[0]}3", 0) == self.lone[self.marks[0]]

    @property
    def decimal(self) -> str | None:
        """The decimal style that all values fit; None where somebody has to choose: both are there, or every mark could
        be one between thousands."""
        if len(self.marks) > 1 or self.thousands:
            return None
        return self.marks[0] if self.marks else "point"

    def day_fits(self) -> dict[str, int]:
        """Style of days -> how many of the values that are no true dates fit it."""
        fits: Counter[str] = Counter()
        for shape, n in self.shapes.items():
            if shape.startswith("day:"):
                for style in filter(None, shape.split(":")[1].split(",")):
                    fits[style] += n
            elif shape == "whole5":
                fits["serial"] += n
        fits["serial"] += self.count("num")
        return {style: fits[style] for style in DAY_STYLES if fits[style]}

    @property
    def written_days(self) -> int:
        """Values that are no true dates."""
        return self.filled - self.count("date", "formula", "wrong")

    @property
    def day(self) -> str | None:
        """The style that all written days fit, where no other one does; 'iso' where all are true dates."""
        if not self.written_days:
            return "iso"
        # True dates beside written ones: often the ones in which a spreadsheet took days for months.
        if self.count("date"):
            return None
        fit = [style for style, n in self.day_fits().items() if n == self.written_days]
        return fit[0] if len(fit) == 1 else None

    @property
    def timed(self) -> bool:
        """Whether every day has its time with it."""
        return self.count("date:t") + sum(
            n for shape, n in self.shapes.items() if shape.startswith("day:") and shape[-1] in "tz"
        ) == self.filled  # fmt: skip

    @property
    def duration(self) -> str | None:
        """How times are written, as in import_values.DURATIONS; None where somebody has to choose."""
        plain, short = self.count("whole", "num"), self.shapes.get("clock", 0)
        zero, whole = self.shapes.get("clock3:zero", 0), self.shapes.get("clock3:whole", 0)
        both = self.shapes.get("clock3:both", 0)
        if plain == self.filled:
            return None
        if short + zero + both == self.filled and (short or zero):
            return "mss"
        return "hmm" if whole + both == self.filled and whole else None


EMPTY = Look({}, [], [])


def look_at(rows: Iterable[Row], width: int) -> tuple[list[Look], int]:
    """(a Look for each column, how many rows there are), from all rows that hold something."""
    shapes: list[Counter[str]] = [Counter() for _column in range(width)]
    values: list[dict[str, None]] = [{} for _column in range(width)]
    count = 0
    for _no, cells in rows:
        count += 1
        for column, cell in enumerate(cells[:width]):
            if not cell or cell.isspace():
                continue
            shapes[column][shape_of(cell) if type(cell) is str else _typed(cell)] += 1
            known = values[column]
            if len(known) <= MOST_VALUES:
                known[str(cell)[:100]] = None
    looks = []
    for shape, known in zip(shapes, values, strict=True):
        few = len(known) <= MOST_VALUES and all(len(value) < 100 for value in known)
        looks.append(Look(dict(shape), list(known)[:3], list(known) if few else None))
    return looks, count
