"""Typed text to an exact number. What is not understood is refused with a reason, never guessed.

Numbers are whole multiples of a hundredth (readings) or of a power of ten (masses and the like) from the
first character on: no binary fraction is ever made. The reasons are codes; words are made where they show.
"""

import re
import unicodedata
from collections.abc import Callable
from decimal import Decimal
from typing import Literal

from ._checks import positive, whole

ProblemCode = Literal["empty", "not_a_number", "two_marks", "digits", "off_scale", "too_fine", "which"]

_SHAPE = re.compile(r"([+-]?)([0-9]*)(?:[.,]([0-9]*))?")
_BLANKS = " \t\r\n\N{NO-BREAK SPACE}\N{FIGURE SPACE}\N{THIN SPACE}\N{NARROW NO-BREAK SPACE}"
_MOST_DIGITS = 15

# A line as a meter or a scale sends it. Two numbers with nothing but blanks between them may be one number with a blank
# in it; a minus that stands alone may belong to the number behind it; what cannot be seen is no text of a person's.
_MOST_CHARACTERS = 200
_BREAKS = "[" + _BLANKS + ";=|]"
_NOT_A_LINE = re.compile(
    f"(?:^|{_BREAKS})(?:[+-]?[0-9]+(?:[.,][0-9]+)?[{_BLANKS}]+[0-9]+(?:[.,][0-9]+)?(?:$|[{_BLANKS}])|-[{_BLANKS}]+[0-9])"
    "|[\0-\x08\x0b\x0c\x0e-\x1f]"
)
_UNIT_AT_NUMBER = re.compile(r"([0-9])(k?g)\b", re.IGNORECASE)
_UNITS = {"kg": 3, "g": 0}
_AFTER_A_NAME = re.compile(r"([^\W\d_])[,:]")
# Not a day, as 14.05.2026.
_WORD = re.compile(r"(?![0-9]+\.[0-9]+\.[0-9])([+-]?[0-9][0-9.,]*?)[.,%]?")


class ReadingProblem(ValueError):
    """Why a typed text is not taken.

    code  'empty'; 'not_a_number'; 'two_marks' (more than one decimal mark, or a grouping mark); 'digits'
          (digits of another script: they are refused, never misread); 'off_scale'; 'too_fine' (finer than
          the step); 'which' (a line with several numbers that may be meant; of readings the first is suggested)
    suggestion_hundredths  what may have been meant, to be asked and never taken unasked; else None
    """

    def __init__(self, code: ProblemCode, suggestion_hundredths: int | None = None) -> None:
        super().__init__(code)
        self.code = code
        self.suggestion_hundredths = suggestion_hundredths


def _parts(text: str) -> tuple[bool, str, str]:
    """(negative, digits before the mark without leading zeros, digits after it without trailing zeros)."""
    stripped = text.strip(_BLANKS)
    if not stripped:
        raise ReadingProblem("empty")
    if any(unicodedata.category(char).startswith("N") and not "0" <= char <= "9" for char in stripped):
        raise ReadingProblem("digits")
    plain = stripped.replace("\N{MINUS SIGN}", "-")
    shape = _SHAPE.fullmatch(plain)
    if shape is None or not (shape[2] or shape[3]):
        marks = plain.count(".") + plain.count(",")
        grouped = marks > 1 and re.fullmatch(r"[+-]?[0-9.,]*[0-9][0-9.,]*", plain)
        raise ReadingProblem("two_marks" if grouped else "not_a_number")
    return shape[1] == "-", shape[2].lstrip("0"), (shape[3] or "").rstrip("0")


def parse_decimal(text: str, places: int) -> int:
    """The typed number times 10**places, as an int: ``parse_decimal('12,35', 2)`` is 1235.

    Takes one decimal point or comma, a sign (also U+2212) and blanks around it, no-break ones too. A mark is
    always the decimal mark, never a grouping one. Raises ReadingProblem: 'too_fine' for more than ``places``
    decimals that are not zero, 'off_scale' for a number of over 15 digits, and the other codes for what is no
    plain number.
    """
    whole("places", places, 0)
    negative, before, after = _parts(text)
    if len(before) + places > _MOST_DIGITS:
        raise ReadingProblem("off_scale")
    if len(after) > places:
        raise ReadingProblem("too_fine")
    number = int(before + after.ljust(places, "0") or "0")
    return -number if negative else number


def _hundredths(name: str, number: float | Decimal | int) -> int:
    """A scale's limit or step, written as a decimal, in hundredths. Raises ValueError if it is finer."""
    scaled = Decimal(str(number)) * 100
    if not scaled.is_finite() or scaled != scaled.to_integral_value():
        raise ValueError(f"{name} must be a whole number of hundredths, not {number!r}")
    return int(scaled)


def parse_reading(
    text: str, lower: float | Decimal, upper: float | Decimal, step: float | Decimal, first: bool = False,
    *, line: bool = True,
) -> int:  # fmt: skip
    """A typed reading in hundredths of a scale unit: '61,4' is 6140. Limits and step are in scale units.

    Refused with ReadingProblem, in this order: what ``parse_decimal`` refuses, a value off the scale (both
    ends belong to it), a value that is no multiple of the step. Where plain digits without a mark are off
    the scale and a tenth or else a hundredth of them is a reading of this scale, that is suggested: '562'
    on 0 to 150 by 0.1 suggests 5620. Raises ValueError for a scale that is not in hundredths, whose step is
    not above zero, or whose ends are in the wrong order.

    What is no plain number is taken for a line that a meter sends: see ``_in_line``. ``first``: somebody has
    been asked about a line with several numbers on the scale, and its first one is the reading. ``line``: False
    where no meter sends anything, such as the limits of a band.
    """
    low, high, by = _hundredths("lower", lower), _hundredths("upper", upper), _hundredths("step", step)
    positive("step", by)
    if low >= high:
        raise ValueError("the scale's lower end must be below its upper end")
    try:
        return _on_scale(text, low, high, by)
    except ReadingProblem as problem:
        if problem.code != "not_a_number" or not line:
            raise
    return _in_line(text, lambda word: _on_scale(word, low, high, by), first)


def _in_line(text: str, take: Callable[[str], int], first: bool) -> int:
    """The first number on the scale in a line of text: 'L 61.2 a 203', '#012 61,2 OK' and '-- 61.2%' are all 6120.

    The line is cut into words at blanks, ';', '=', '|', and behind a letter at ',' and ':'. A word that is a number as
    a whole, with a sign before it and a mark or '%' behind it, counts; times, days, running numbers, names and
    exponents do not. Numbers off the scale are passed over. The line is refused where a number lies on the scale and is
    finer than its step, or is grouped (1.234,5); where two numbers have only blanks between them (61 4, 1 234), or a
    lone minus and blanks stand before one; and, unless ``first``, where two different numbers are on the scale.
    """
    found, why = [], "not_a_number"
    for word in _words(text):
        number = _WORD.fullmatch(word)
        if number is None:
            continue
        try:
            found.append(take(number[1]))
        except ReadingProblem as problem:
            if problem.code != "off_scale":
                raise
            why = problem.code
    if not found:
        raise ReadingProblem(why)
    if not first and any(other != found[0] for other in found):
        raise ReadingProblem("which", found[0])
    return found[0]


def _words(text: str) -> list[str]:
    """The words of a line, without what stands between them. ReadingProblem: it may not be cut."""
    plain = text.replace("\N{MINUS SIGN}", "-")
    if len(plain) > _MOST_CHARACTERS or _NOT_A_LINE.search(plain):
        raise ReadingProblem("not_a_number")
    return [word for word in re.split(_BREAKS, _AFTER_A_NAME.sub(r"\1 ", plain)) if word]


def parse_mass(text: str) -> int:
    """A typed mass in grams: '12,35' is 12350, since a number alone is in kilograms.

    What is no plain number is taken for a line that a weighing scale sends, with the unit behind its number: '+ 1234 g'
    is 1234, 'ST,GS,  1.234 kg' likewise. Raises ReadingProblem as ``parse_decimal`` does, 'which' for several numbers,
    and 'not_a_number' for another unit, none, or a minus that stands apart. A gram is never rounded: 'too_fine'.
    """
    try:
        return parse_decimal(text, 3)
    except ReadingProblem as problem:
        if problem.code != "not_a_number":
            raise
    words = _words(_UNIT_AT_NUMBER.sub(r"\1 \2", text))
    places = [place for place, word in enumerate(words) if _WORD.fullmatch(word)]
    if len(places) > 1:
        raise ReadingProblem("which")
    number, unit = (words[places[0]], words[places[0] + 1 :][:1]) if places else ("", [])
    decimals = _UNITS.get(unit[0].lower()) if unit else None
    if decimals is None:
        raise ReadingProblem("not_a_number")
    return parse_decimal(number, decimals)


def _on_scale(text: str, low: int, high: int, by: int) -> int:
    """A plain number that is on a scale, all in hundredths."""
    negative, before, after = _parts(text)
    if len(before) > _MOST_DIGITS:
        raise ReadingProblem("off_scale")
    if len(after) > _MOST_DIGITS:
        raise ReadingProblem("too_fine")
    # Compared in whole units of the finest typed decimal, so that 150.001 is off a scale that ends at 150.
    finest = 10 ** max(0, len(after) - 2)
    typed = int(before + after.ljust(2, "0")) * (-1 if negative else 1)
    if not low * finest <= typed <= high * finest:
        raise ReadingProblem("off_scale", _suggestion(text.strip(_BLANKS), typed, low, high, by))
    if typed % (by * finest):
        raise ReadingProblem("too_fine")
    return typed // finest


def _suggestion(stripped: str, typed: int, low: int, high: int, by: int) -> int | None:
    """A tenth or else a hundredth of plain typed digits (given in hundredths), if that is a reading."""
    if not stripped.isdigit():
        return None
    for hundredths in (typed // 10, typed // 100):
        if low <= hundredths <= high and hundredths % by == 0:
            return hundredths
    return None
