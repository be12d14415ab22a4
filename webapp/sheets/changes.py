"""What was corrected about a batch, as lines of its record: samples that moved, facts that were wrong, and what that
did to the result."""

from __future__ import annotations

from dataclasses import dataclass

from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.measure import show_value
from webapp.sheets.fields import Choice
from webapp.sheets.people import People
from webapp.sheets.words import verdict_word
from webapp.store import batch_records
from webapp.store.batch_records import FactChange, Move, PartChange, ResultChange
from webapp.ui.change_words import fact_names, written
from webapp.ui.filters import day_and_clock
from webapp.ui.numbers import decimal_mark
from webapp.ui.verdict_words import kind_word

# Of facts that a copy may leave out, the field that has to be ticked.
FIELD_OF = {"lot": "lot", "green_g": "masses", "roasted_g": "masses", "note": "notes"}


@dataclass(frozen=True)
class Line:
    """A correction: about, what it was (struck through) and what it is, when, and why ("" where left out)."""

    about: str
    before: str
    after: str
    when: str
    reason: str


def lines(db: Database, batch_id: str, choice: Choice, people: People):
    """Everything that was corrected, each kind in the order of storing."""
    for move in batch_records.list_moves(db, batch_id):
        yield moved(move, choice, people)
    for change in batch_records.list_fact_changes(db, batch_id):
        if FIELD_OF.get(change.fact, "") in (*choice.shown, ""):
            yield fact(change, choice, people)
    for change in batch_records.list_result_changes(db, batch_id):
        yield result(change)


def moved(move: Move, choice: Choice, people: People) -> Line:
    """A sample that came from another batch, or went to one."""
    when = people.at(move.person_name, day_and_clock(move.received_at))
    name = kind_word(move.kind)
    about = _("%(kind)s: moved out", kind=name) if move.away else _("%(kind)s: moved here", kind=name)
    return Line(about, move.from_code, move.to_code, when, choice.only("notes", move.reason))


def fact(change: FactChange, choice: Choice, people: People) -> Line:
    """A fact that was wrong."""
    when = people.at(change.person_name, day_and_clock(change.received_at))
    before, after = (written(change.fact, value) for value in (change.before, change.after))
    return Line(fact_names()[change.fact], before, after, when, choice.only("notes", change.reason))


def result(change: ResultChange) -> Line:
    """What a correction did to the result."""
    about = {
        "correction": _("Result, after a reading was corrected"),
        "sample_move": _("Result, after a sample was moved"),
        "batch_correction": _("Result, after a fact was corrected"),
    }[change.cause]  # fmt: skip
    before = ", ".join((verdict_word(change.verdict_before), *values(change.parts, "before")))
    after = ", ".join((verdict_word(change.verdict_after), *values(change.parts, "after")))
    return Line(about, before, after, day_and_clock(change.received_at), "")


def values(parts: tuple[PartChange, ...], side: str) -> list[str]:
    """The values of the kinds that changed, before or after."""
    found = []
    for part in parts:
        value = getattr(part, f"value_{side}")
        if value is not None:
            found.append(f"{kind_word(part.kind).lower()} {show_value(value, (part.step or 10) / 100, decimal_mark())}")
    return found
