"""What a column may hold, and by which headers it is proposed: English and German words of the trade."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from webapp.exchange.import_look import Look

# In the order in which they are offered. Of all but readings there may be one.
TARGETS = (
    "code", "product", "day", "time", "machine", "lot", "green", "roasted", "drop", "total", "development", "whole",
    "ground", "note",
)  # fmt: skip
NEEDED = ("code", "product", "day")
SEVERAL = ("whole", "ground")
MOST_READINGS = 12
KIND_OF = {
    "green": "mass", "roasted": "mass", "drop": "temperature", "total": "duration", "development": "duration",
    "whole": "reading", "ground": "reading", "day": "day",
}  # fmt: skip
"""What has a style or a unit to be chosen."""

# Of several headers that say the same thing the one that stands earlier here is taken.
HEADERS: dict[str, tuple[str, ...]] = {
    "code": (
        "batch code", "code", "batch", "batch no", "batch nr", "batch number", "batch id", "roast no", "roast number",
        "charge", "chargencode", "chargennummer", "chargen nr", "charge nr", "röstnummer", "röstcharge",
    ),
    "product": ("product", "product name", "coffee", "produkt", "produktname", "kaffee", "sorte", "artikel"),
    "day": (
        "roasted at", "date and time", "date time", "datetime", "zeitpunkt", "datum und uhrzeit", "datum uhrzeit",
        "roast date", "roasted on", "roast day", "date", "day", "röstdatum", "rösttag", "geröstet am", "datum", "tag",
    ),
    "time": ("time of day", "clock", "time", "start time", "uhrzeit", "zeit", "startzeit"),
    "machine": ("machine", "roasting machine", "roaster", "maschine", "röstmaschine", "röster"),
    "lot": ("green lot", "lot", "lot no", "lot number", "rohkaffeelot", "rohkaffee lot", "rohkaffee", "partie"),
    "green": (
        "green mass", "green weight", "green", "mass in", "weight in", "rohmasse", "rohgewicht", "rohkaffeemenge",
        "rohkaffeegewicht", "einwaage",
    ),
    "roasted": (
        "roasted mass", "roasted weight", "roasted", "mass out", "weight out", "röstmasse", "röstgewicht",
        "röstkaffeemenge", "röstkaffeegewicht", "auswaage",
    ),
    "drop": (
        "drop temperature", "drop temp", "drop", "end temperature", "auslasstemperatur", "auswurftemperatur",
        "endtemperatur",
    ),
    "total": ("total time", "total", "roasting time", "duration", "röstzeit", "röstdauer", "gesamtzeit"),
    "development": ("development time", "development", "dev time", "entwicklungszeit", "entwicklung"),
    "whole": ("whole bean", "whole beans", "whole", "bean", "beans", "ganze bohne", "ganze bohnen", "bohne", "bohnen"),
    "ground": ("ground", "ground coffee", "gemahlen", "gemahlener kaffee", "mahlgut", "pulver"),
    "note": ("note", "notes", "comment", "comments", "remark", "remarks", "notiz", "notizen", "bemerkung",
             "bemerkungen", "anmerkung", "kommentar"),
}  # fmt: skip
_RANKS = {name: (target, rank) for target, names in HEADERS.items() for rank, name in enumerate(names)}
_AVERAGE = {"average", "mean", "avg", "mittel", "mittelwert", "durchschnitt", "schnitt"}
_OF_A_READING = {*_AVERAGE, "reading", "readings", "value", "colour", "color", "farbe", "farbwert", "messung",
                 "messwert", "wert", "no", "nr"}  # fmt: skip
_UNITS = {
    "kg": "kg", "kilogram": "kg", "kilograms": "kg", "kilogramm": "kg", "g": "g", "gram": "g", "grams": "g",
    "gramm": "g", "lb": "lb", "lbs": "lb", "pound": "lb", "pounds": "lb", "c": "C", "celsius": "C", "f": "F",
    "fahrenheit": "F", "s": "s", "sec": "s", "seconds": "s", "sekunden": "s", "mm:ss": "mss", "m:ss": "mss",
}  # fmt: skip


def words_of(header: str) -> list[str]:
    """The words of a header in small letters."""
    return re.findall(r"[^\W_]+(?::[^\W_]+)?", header.casefold())


@dataclass(frozen=True)
class Said:
    """What a header says: target None where it says nothing known; rank: the smaller, the more plainly."""

    target: str | None
    rank: int = 99
    unit: str | None = None
    average: bool = False


def said_by(header: str) -> Said:
    """What a header says of its column."""
    words = words_of(header)
    unit = next((_UNITS[word] for word in words[1:] if word in _UNITS), None)
    names = [word for no, word in enumerate(words) if not (no and word in _UNITS)]
    average = bool(_AVERAGE & set(names))
    target, rank = _RANKS.get(" ".join(names), (None, 99))
    if target is None:
        of_a_reading = [word for word in names if word not in _OF_A_READING and not word.isdigit()]
        bare = [re.sub(r"\d+$", "", word) for word in of_a_reading]
        target, rank = _RANKS.get(" ".join(bare), (None, 99))
        if target not in SEVERAL:
            target, rank = None, 99
    return Said(target, rank, unit, average)


def propose(
    headers: Sequence[str], looks: Sequence[Look], is_product: Callable[[str], bool], is_machine: Callable[[str], bool]
) -> dict[int, str]:
    """Column -> target, from the headers; and from the values where no header says it: names that the bench knows, days
    that can be nothing else, codes that are all different."""
    said = [said_by(header) for header in headers]
    found: dict[int, str] = {}
    for target in TARGETS:
        own = [no for no, one in enumerate(said) if one.target == target]
        if target in SEVERAL:
            found |= dict.fromkeys(own[:MOST_READINGS], target)
        elif own:
            found[min(own, key=lambda no: (said[no].rank, no))] = target
    for target, is_name in (("product", is_product), ("machine", is_machine)):
        if target not in found.values():
            _first(found, target, looks, lambda look, is_name=is_name: _names(look, is_name))
    if "day" not in found.values():
        _first(found, "day", looks, lambda look: look.filled and look.count("day:", "date") == look.filled)
    if "code" not in found.values():
        _first(found, "code", looks, lambda look: look.filled and look.values is None and look.count("text") > 0)
    return found


def _first(found: dict[int, str], target: str, looks: Sequence[Look], fits: Callable[[Look], object]) -> None:
    for no, look in enumerate(looks):
        if no not in found and fits(look):
            found[no] = target
            return


def _names(look: Look, is_name: Callable[[str], bool]) -> bool:
    values = look.values or []
    return len(values) > 0 and sum(map(is_name, values)) * 2 > len(values)
