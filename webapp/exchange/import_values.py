"""A cell as a value, exactly, in the style that was chosen for its column; or the reason why it is none.

Nothing is guessed here: a cell that does not fit its column's style is refused, whatever else it might be.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import ROUND_HALF_EVEN, Decimal

from webapp.exchange.csv_files import RISKY
from webapp.exchange.import_cells import Clock, Day, Formula, Num, Wrong
from webapp.exchange.import_look import day_in, day_parts
from webapp.measure import ReadingProblem, parse_decimal, parse_reading

UNITS = {"mass": ("kg", "g", "lb"), "temperature": ("C", "F")}
DECIMALS = ("point", "comma")
DURATIONS = ("mss", "seconds", "hmm")
GRAMS_OF_A_POUND = Decimal("453.59237")
"""International avoirdupois pound, exactly (NIST Special Publication 811, appendix B.8)."""
MOST_GRAMS, LEAST_TENTHS, MOST_TENTHS, MOST_SECONDS = 2_000_000, -200, 4000, 7200
MOST_TYPED = 40


class Bad(Exception):
    """Why a cell is not taken. code: which words to say; facts: what to put into them."""

    def __init__(self, code: str, **facts: object) -> None:
        super().__init__(code)
        self.code, self.facts = code, facts


_UNSHOWN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


def plain(cell: str) -> str:
    """The cell without blanks around it. Bad: a formula, a failed one, or something that cannot be shown."""
    if isinstance(cell, Formula):
        raise Bad("formula")
    if isinstance(cell, Wrong):
        raise Bad("failed")
    if _UNSHOWN.search(cell):
        raise Bad("unprintable")
    return cell.strip()


def text(cell: str, most: int) -> str:
    """A text as it is, but for the apostrophe that a file of ours has before what a spreadsheet would run."""
    found = plain(cell)
    if found.startswith("'") and found[1:].startswith((*RISKY, "'")):
        found = found[1:]
    if len(found) > most:
        raise Bad("long_text", most=most)
    return found


def code(cell: str) -> str:
    """A batch's code."""
    if isinstance(cell, Day | Clock):
        raise Bad("date_code")
    return text(cell, 40)


def _marked(cell: str, style: str) -> str:
    """The text of a number, with a point. Bad: it is written in another style than its column."""
    found = plain(cell)
    if isinstance(cell, Day | Clock):
        raise Bad("not_a_number")
    if isinstance(cell, Num) or style == "point":
        if "," in found:
            raise Bad("two_marks" if "." in found or found.count(",") > 1 else "comma_here")
        return found
    if "." in found:
        raise Bad("two_marks" if "," in found or found.count(".") > 1 else "point_here")
    return found.replace(",", ".")


def number(cell: str, style: str, places: int) -> int:
    """A number times ten to the `places`. Bad: it is none, or finer."""
    try:
        return parse_decimal(_marked(cell, style), places)
    except ReadingProblem as problem:
        raise Bad(problem.code, places=places) from None


def grams(cell: str, style: str, unit: str) -> int:
    """A mass in grams: exact in grams and kilograms, pounds rounded half to even."""
    if unit == "lb":
        pounds = Decimal(number(cell, style, 6)).scaleb(-6)
        found = int((pounds * GRAMS_OF_A_POUND).quantize(Decimal(1), ROUND_HALF_EVEN))
    else:
        found = number(cell, style, {"kg": 3, "g": 0}[unit])
    if not 1 <= found <= MOST_GRAMS:
        raise Bad("mass_range")
    return found


def decicelsius(cell: str, style: str, unit: str) -> int:
    """A temperature in tenths of a degree Celsius; from Fahrenheit rounded half to even."""
    if unit == "F":
        fahrenheit = Decimal(number(cell, style, 2)).scaleb(-2)
        found = int(((fahrenheit - 32) * 50 / 9).quantize(Decimal(1), ROUND_HALF_EVEN))
    else:
        found = number(cell, style, 1)
    if not LEAST_TENTHS <= found <= MOST_TENTHS:
        raise Bad("temperature_range")
    return found


_SHORT = re.compile(r"(\d{1,3}):([0-5]\d)")
_LONG = re.compile(r"(\d{1,2}):([0-5]\d):([0-5]\d)")


def seconds(cell: str, style: str) -> int:
    """A duration. mss: 11:30, or 0:11:30; hmm: 11:30:00, which a spreadsheet makes of 11:30; seconds: 690."""
    found = plain(cell)
    if style == "seconds":
        if ":" in found:
            raise Bad("not_seconds")
        total = number(cell, "comma" if "," in found else "point", 0)
    else:
        total = _clocked(found, style)
    if not 1 <= total <= MOST_SECONDS:
        raise Bad("duration_range")
    return total


def _clocked(found: str, style: str) -> int:
    short, long = _SHORT.fullmatch(found), _LONG.fullmatch(found)
    if short:
        return int(short[1]) * 60 + int(short[2])
    if long and style == "hmm" and long[3] == "00":
        return int(long[1]) * 60 + int(long[2])
    if long and style == "mss" and not int(long[1]):
        return int(long[2]) * 60 + int(long[3])
    raise Bad("not_hmm" if style == "hmm" else "hours" if long else "not_mss")


@dataclass(frozen=True)
class Scale:
    """The scale that readings are on, in hundredths."""

    lower: int
    upper: int
    step: int


def reading(cell: str, style: str, scale: Scale) -> int:
    """A reading in hundredths. Bad: off the scale, or finer than it."""
    found = _typed(cell, style)
    try:
        return parse_reading(found, *(Decimal(n) / 100 for n in (scale.lower, scale.upper, scale.step)))
    except ReadingProblem as problem:
        raise Bad(problem.code if problem.code != "too_fine" else "finer", scale=scale) from None


def average(cell: str, style: str, scale: Scale) -> int:
    """An average, rounded half to even to hundredths (ISO 80000-1)."""
    places = 20
    try:
        exact = Decimal(parse_decimal_long(_typed(cell, style), places)).scaleb(-places)
    except ReadingProblem as problem:
        raise Bad(problem.code, places=places) from None
    if not scale.lower <= exact * 100 <= scale.upper:
        raise Bad("off_scale", scale=scale)
    return int((exact * 100).quantize(Decimal(1), ROUND_HALF_EVEN))


_PLAIN = re.compile(r"[+\-\u2212]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")


def parse_decimal_long(found: str, places: int) -> int:
    """As measure.parse_decimal, for an average with all of its digits."""
    if not _PLAIN.fullmatch(found):
        return parse_decimal(found, 2)
    sign, digits = (-1, found[1:]) if found[0] in "-\u2212" else (1, found.lstrip("+"))
    before, _mark, after = digits.partition(".")
    after = after.rstrip("0")
    if len(after) > places or len(before.lstrip("0")) > 13:
        raise ReadingProblem("too_fine" if len(after) > places else "off_scale")
    return sign * int(before + after.ljust(places, "0") or "0")


def _typed(cell: str, style: str) -> str:
    found = _marked(cell, style)
    if len(found) > MOST_TYPED:
        raise Bad("long_text", most=MOST_TYPED)
    return found


_CLOCK = re.compile(r"(\d{1,2}):([0-5]\d)(?::([0-5]\d)(?:\.(\d{1,6}))?)?\s*(?:([AaPp])\.?[Mm]\.?)?")


def clock(cell: str) -> time:
    """A time of day: 6:58, 06:58:03, 6:58 pm. Bad: it is none."""
    if isinstance(cell, Day):
        raise Bad("not_a_time")
    return _clock_of(plain(cell))


def _clock_of(found: str) -> time:
    shape = _CLOCK.fullmatch(found)
    if shape is None:
        raise Bad("not_a_time")
    hour = int(shape[1])
    if shape[5]:
        if not 1 <= hour <= 12:
            raise Bad("not_a_time")
        hour = hour % 12 + (12 if shape[5] in "pP" else 0)
    if hour > 23:
        raise Bad("not_a_time")
    return time(hour, int(shape[2]), int(shape[3] or 0), int((shape[4] or "").ljust(6, "0")))


def day(cell: str, style: str, from_1904: bool = False) -> tuple[date, time | datetime | None]:
    """(The day, the time with it: of day, or a moment where the cell says how far from UTC; None: there is none)."""
    found = plain(cell)
    if isinstance(cell, Day):
        there = datetime.fromisoformat(found)
        return there.date(), there.time() if len(found) > 10 else None
    if isinstance(cell, Num) or style == "serial":
        if style != "serial":
            raise Bad("not_a_day", style=style)
        return _serial(found, from_1904)
    parts = day_parts(found)
    there = day_in(parts, style) if parts else None
    if there is None:
        raise Bad("no_such_day" if parts and _shaped(parts, style) else "not_a_day", style=style)
    return there, _rest(there, parts[4]) if parts[4] else None


def _shaped(parts: tuple[str, ...], style: str) -> bool:
    return len(parts[0]) == 4 if style == "iso" else parts[1] == style[3:] and len(parts[0]) < 3


_OFFSET = re.compile(r"(.*?)\s*(Z|[+-]\d\d:?\d\d)")


def _rest(there: date, rest: str) -> time | datetime:
    offset = _OFFSET.fullmatch(rest)
    if offset is None:
        return _clock_of(rest)
    try:
        return datetime.fromisoformat(f"{datetime.combine(there, _clock_of(offset[1])).isoformat()}{offset[2]}")
    except ValueError:
        raise Bad("not_a_time") from None


FIRST_1900, FIRST_1904 = date(1899, 12, 31), date(1904, 1, 1)
LEAP_1900 = 60


def serial_day(days: int, from_1904: bool = False) -> date | None:
    """The day that a spreadsheet counts as `days`: 1 is 1 January 1900, or 0 is 1 January 1904.

    In the first system 60 is 29 February 1900, which never was: None, and everything after it is a day later than a
    count would say (ECMA-376 Part 1, 18.17.4.1, "1900 date base").
    """
    try:
        if from_1904:
            return FIRST_1904 + timedelta(days=days) if days >= 0 else None
        if days < 1 or days == LEAP_1900:
            return None
        return FIRST_1900 + timedelta(days=days - (days > LEAP_1900))
    except OverflowError:
        return None


def _serial(found: str, from_1904: bool) -> tuple[date, time | None]:
    shape = re.fullmatch(r"(\d{1,7})(?:[.,](\d{1,17}))?", found)
    there = serial_day(int(shape[1]), from_1904) if shape else None
    if there is None:
        raise Bad("not_a_day", style="serial")
    if not shape[2] or not int(shape[2]):
        return there, None
    second = int((Decimal(f"0.{shape[2]}") * 86400).quantize(Decimal(1), ROUND_HALF_EVEN))
    if second == 86400:
        return there + timedelta(days=1), time()
    return there, time(second // 3600, second // 60 % 60, second % 60)
