"""Corrections in words: a batch's facts before and after, and what a correction did to a result."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.measure import show_value
from webapp.store import gear, products
from webapp.store.part_results import PartResult
from webapp.store.result_changes import PartChange, ResultChange
from webapp.ui.filters import day_and_clock
from webapp.ui.numbers import celsius, decimal_mark, kilograms, minutes
from webapp.ui.verdict_words import kind_word, part_word


def fact_names() -> dict[str, str]:
    """Fact of a batch -> what it is called on the page."""
    return {
        "code": _("Batch code"), "product_id": _("Product"), "machine_id": _("Machine"), "lot": _("Green lot"),
        "green_g": _("Green mass"), "roasted_g": _("Roasted mass"), "drop_decicelsius": _("Drop temperature"),
        "total_s": _("Total time"), "development_s": _("Development time"), "note": _("Note"),
        "roasted_at": _("Roasted"), "day": _("Day"),
    }  # fmt: skip


def fact_text(db: Database, fact: str, value: str | int | None) -> str:
    """A stored fact as the page shows it; a dash where there is none."""
    if value and fact == "product_id":
        return products.get_product(db, value).name
    if value and fact == "machine_id":
        machines = {machine.id: machine.name for machine in gear.list_machines(db, active_only=False)}
        return machines[value]
    return written(fact, value)


def written(fact: str, value: str | int | None) -> str:
    """The same of a fact that is no id, or that has its name already."""
    if value is None or value == "":
        return "–"
    match fact:
        case "green_g" | "roasted_g":
            return f"{kilograms(value)} kg"
        case "drop_decicelsius":
            return f"{celsius(value)} °C"
        case "total_s" | "development_s":
            return minutes(value)
        case "roasted_at":
            return day_and_clock(value)
    return str(value)


@dataclass(frozen=True)
class ChangeWords:
    """title: that it was changed, and when; lines: what stood before and what stands now, one for each kind; why: what
    was corrected, by whom and for what reason."""

    title: str
    lines: tuple[str, ...]
    why: str


def change_words(
    change: ResultChange, steps: Mapping[str, float], now: Mapping[str, PartResult] | None = None, corrections: int = 1
) -> ChangeWords:
    """What a correction did to a result, as it is said on the batch's pages.

    steps: each kind's step, in scale units. now: the parts as they stand, where the change is the last one: with them
    "out" has its side. corrections: how many are told as one.
    """
    lines = tuple(_line(part, steps.get(part.kind, 0.1), (now or {}).get(part.kind)) for part in change.parts)
    if not lines:
        was, stands = (batch_word(verdict) for verdict in (change.verdict_before, change.verdict_after))
        lines = (_("The batch was %(before)s; now %(after)s.", before=was, after=stands),)
    why = _("%(what)s %(name)s: “%(reason)s”", what=_what(change), name=change.person_name, reason=change.reason)
    return ChangeWords(_title(change, corrections), lines, why)


def _title(change: ResultChange, corrections: int) -> str:
    at = day_and_clock(change.received_at)
    if corrections > 1:
        return _("Changed by %(n)d corrections, the last on %(at)s", n=corrections, at=at)
    return _("Changed by a correction on %(at)s", at=at)


def _what(change: ResultChange) -> str:
    if change.cause == "correction":
        return _("A reading was corrected.")
    if change.cause == "batch_correction":
        return _("The roast’s facts were corrected.")
    return _("A sample was moved away.") if change.away else _("A sample was moved here.")


def _line(part: PartChange, step: float, now: PartResult | None) -> str:
    before = _stood(part.value_before, part.verdict_before, step)
    word = part_word(now).lower() if now and now.verdict == part.verdict_after else None
    after = _stood(part.value_after, part.verdict_after, step, word)
    return _("%(kind)s: was %(before)s; now %(after)s.", kind=kind_word(part.kind), before=before, after=after)


def _stood(value: float | None, verdict: str | None, step: float, word: str | None = None) -> str:
    if value is None:
        return _("not read")
    said = word or {
        "inside": _("in band"), "undecided": _("too close to call"), "outside": _("out"), None: _("not judged"),
    }[verdict]  # fmt: skip
    return f"{show_value(value, step, decimal_mark())}, {said}"


def batch_word(verdict: str | None) -> str:
    """A batch's verdict within a sentence."""
    return {
        "inside": _("in band"), "undecided": _("too close to call"), "outside": _("out"),
        "incomplete": _("not complete"), "unjudged": _("not judged"), None: _("not read"),
    }[verdict]  # fmt: skip
