"""What is typed into the rows of a fill: the same for a compared coffee and for a fill of a precision study."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field

from flask_babel import gettext as _
from werkzeug.datastructures import MultiDict

from webapp import measure
from webapp.store.gear import Scale
from webapp.store.readings import NewReading
from webapp.ui.reading_words import refusal

PARTS = ("value", "void", "sure")


@dataclass
class Rows:
    """Rows looked through: their readings, and what somebody should have been asked about."""

    readings: list[NewReading] = field(default_factory=list)
    questions: list[str] = field(default_factory=list)


def with_rows(posted: Mapping[str, str], start: str, room: Collection[str]) -> tuple[MultiDict, list[str]]:
    """The posted fields with every row that there is room for, and the names of those there is no room for.

    start: how the names of all rows begin; room: the rows' names. A field list keeps only the rows it is sent: where
    one is missing in the middle the rest would move up.
    """
    kept, over = MultiDict(), []
    for name, text in posted.items():
        row, _dash, part = name.rpartition("-")
        if not name.startswith(start) or (row in room and part in PARTS):
            kept[name] = text
        elif text.strip():
            over.append(name)
    for row in room:
        kept.setdefault(f"{row}-value", "")
    return kept, over


def take_fill(entries: Iterable, fill_no: int, scale: Scale, sigma_r: float, rows: Rows, insist: bool) -> bool:
    """Look through the rows of one fill into `rows`; whether nothing is wrong with them (fields carry their own words).

    `insist`: ask about what is unlikely; without it such questions come back as remarks, since the coffee may be gone
    when a record arrives from an outbox.
    """
    fine, counted = True, []
    lower, upper, step = scale.lower / 100, scale.upper / 100, scale.step / 100
    for no, entry in enumerate(entries, 1):
        row, typed = entry.form, (entry.form.value.data or "").strip()
        row.asked = False
        if not typed:
            continue
        try:
            value = measure.parse_reading(row.value.data, lower, upper, step, bool(row.sure.data))
        except measure.ReadingProblem as problem:
            row.asked = problem.code == "which"
            row.value.errors, fine = [refusal(problem, lower, upper, step)], False
            continue
        rows.readings.append(NewReading(fill_no, no, value, typed, row.void.data or "", bool(row.sure.data)))
        if not row.void.data:
            counted.append((value / 100, row))
    return not ask_about(counted, sigma_r, step, rows, insist) and fine


def ask_about(counted: list, sigma_r: float, step: float, rows: Rows, insist: bool) -> bool:
    """Readings far from their fellows are asked about once; whether one is open. No other fill is looked at."""
    numbers, open_question = [value for value, _row in counted], False
    for index, (_value, row) in enumerate(counted):
        row.asked = measure.far_from_fellows(numbers, index, sigma_r, step)
        if not row.asked or row.sure.data:
            continue
        said = _("Far from the other readings of this fill. Is it right? Tick the box, or type it again.")
        if insist:
            row.value.errors, open_question = [said], True
        else:
            rows.questions.append(f"{row.value.data.strip()}: {said}")
    return open_question


def reading_facts(fill: int, no: int, typed: str, void: str, sure: bool) -> dict:
    """One reading in the words of what is stored and what was sent."""
    return {"fill": fill, "no": no, "typed": typed, "void": void, "sure": sure}


def stored_facts(readings: Iterable[NewReading]) -> list[dict]:
    """The readings that are stored."""
    return [reading_facts(r.fill_no, r.no, r.typed, r.void_reason, r.confirmed) for r in readings]


def sent_facts(entries: Iterable, fill_no: int) -> list[dict]:
    """The readings of one fill as they were sent."""
    return [
        reading_facts(fill_no, no, entry.form.value.data.strip(), entry.form.void.data or "",
                      bool(entry.form.sure.data))
        for no, entry in enumerate(entries, 1)
        if (entry.form.value.data or "").strip()
    ]  # fmt: skip
