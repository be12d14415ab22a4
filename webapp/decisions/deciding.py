"""Storing a decision from its page: who may, what it has seen, and why."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from flask import abort
from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.store import decisions, results
from webapp.store.connect import write
from webapp.store.decisions import Decision
from webapp.store.who import Who
from webapp.store.who_decides import PIN_AGAIN, may_decide, needs_reason
from webapp.ui import decision_words
from webapp.ui.decision_form import DecisionForm


@dataclass(frozen=True)
class Answer:
    """What came of it. stored; pin: the PIN is needed first; overtaken: another decision was stored meanwhile, said
    beside the form; may: whether this one may still be made."""

    stored: bool = False
    pin: bool = False
    overtaken: str = ""
    may: bool = True


def decide(db: Database, form: DecisionForm, batch_id: str, who: Who, confirmed: bool, now: datetime) -> Answer:
    """Store what the form says if its person may and it has seen what stands; what is missing stands beside the field.

    confirmed: the PIN was entered minutes ago. 403 for what was never theirs to decide.
    """
    with write(db):
        last = decisions.last_decision(db, batch_id)
        content = (form.what.data or "", form.reason.data or "", form.customer.data or None)
        if decisions.find_decision(db, form.id.data or ""):
            # The same form once more: the same answer; other content under its number is refused (AlreadyThere).
            store(db, form, batch_id, content, who, now)
            return Answer(stored=True)
        may = content[0] in may_decide(who.role, results.get_batch_result(db, batch_id), last)
        if (form.seen.data or "") != (last.id if last else ""):
            return overtaken(form, last, may)
        if not may:
            abort(403)
        if not complete(form, last):
            return Answer()
        if content[0] in PIN_AGAIN and not confirmed:
            return Answer(pin=True)
        store(db, form, batch_id, content, who, now)
    return Answer(stored=True)


def complete(form: DecisionForm, last: Decision | None) -> bool:
    """Whether nothing is missing; what is stands beside its field."""
    valid = form.validate()
    if needs_reason(form.what.data, last) and not form.reason.data:
        form.reason.errors = [*form.reason.errors, _("Give the reason: it stays on the record.")]
    return valid and not form.reason.errors


def store(db: Database, form: DecisionForm, batch_id: str, content: tuple, who: Who, now: datetime) -> None:
    """What the form says, as it is."""
    what, reason, customer = content
    customer = customer if what == "concession" else None
    decisions.add_decision(db, form.id.data, batch_id, what, reason, who, now, customer=customer)


def overtaken(form: DecisionForm, last: Decision | None, may: bool) -> Answer:
    """The form has not seen what stands: it is shown again with what was typed, and has seen it then."""
    form.seen.data = last.id if last else ""
    return Answer(overtaken=decision_words.meanwhile(last, may), may=may)
