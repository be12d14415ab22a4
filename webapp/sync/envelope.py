"""A record as it comes: is everything there that says what it is, from whom and when? Nothing is looked up here."""

from __future__ import annotations

import re
import uuid
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import datetime

from flask_babel import lazy_gettext as _l

from webapp.store import times
from webapp.ui.tablet_records import invalid

MOST_FIELDS = 600
LARGEST_SEQ = 2**53
# What a page adds to a form on its way: no part of the record.
NOT_OURS = ("csrf_token", "next")


@dataclass(frozen=True)
class Envelope:
    """A record whose parts have the right types."""

    id: str
    kind: str
    person_id: str
    made_at: datetime
    claim_id: str | None
    seq: int | None
    batch_id: str = ""
    sample_kind: str = ""
    form: dict[str, str] = field(default_factory=dict)


def named_id(raw: object) -> str | None:
    """The id by which an answer names this record, whatever else is wrong with it."""
    found = raw.get("id") if isinstance(raw, dict) else None
    return found if isinstance(found, str) and len(found) <= 100 else None


def is_id(value: object) -> bool:
    """A UUID in the spelling that tablets make."""
    try:
        return isinstance(value, str) and str(uuid.UUID(value)) == value
    except ValueError:
        return False


def read(raw: object, kinds: Collection[str]) -> Envelope:
    """The envelope. Refused with every problem there is. What is not known here (a newer tablet's) is left aside."""
    if not isinstance(raw, dict):
        raise invalid([("", _l("This is no record."))])
    problems: list[tuple[str, str]] = []

    def need(name: str, good: bool, message: object) -> None:
        if not good:
            problems.append((name, message))

    kind = raw.get("kind")
    need("kind", isinstance(kind, str) and kind in kinds, _l("This kind of record is not known here."))
    need("id", is_id(raw.get("id")), _l("This record has no number of its own."))
    need("person_id", is_id(raw.get("person_id")), _l("It does not say who captured it."))
    is_claim = kind == "claim"
    made_at = moment(raw.get("claimed_at" if is_claim else "made_at"))
    need("claimed_at" if is_claim else "made_at", made_at is not None, _l("It does not say when it was made."))
    claim_id, seq = None if is_claim else raw.get("claim_id"), raw.get("seq")
    form = {} if is_claim else raw.get("form")
    need("claim_id", claim_id is None or is_id(claim_id), _l("The claim has no number of its own."))
    need("seq", seq is None or (type(seq) is int and 0 <= seq < LARGEST_SEQ), _l("The running number is no number."))
    if kind in ("sample", "decision", "countersignature"):
        need("batch_id", is_id(raw.get("batch_id")), _l("It does not say which batch it belongs to."))
    if kind == "sample":
        need("sample_kind", raw.get("sample_kind") in ("whole", "ground"), _l("Whole bean or ground?"))
    problems += form_problems(form, raw.get("id"))
    if problems:
        raise invalid(problems)
    fields = {name: text for name, text in form.items() if name not in NOT_OURS} | {"id": raw["id"]}
    return Envelope(
        raw["id"], kind, raw["person_id"], made_at, claim_id, seq, raw.get("batch_id") or "",
        raw.get("sample_kind") or "", fields,
    )  # fmt: skip


def moment(value: object) -> datetime | None:
    """A time with its zone, or None."""
    try:
        return times.from_text(value) if isinstance(value, str) and len(value) <= 40 else None
    except ValueError:
        return None


def form_problems(form: object, record_id: object) -> list[tuple[str, str]]:
    """What keeps the fields from being a form's: they are texts by name, and the form is the record's own."""
    if not isinstance(form, dict) or len(form) > MOST_FIELDS:
        return [("form", _l("The fields of the form are missing."))]
    problems = [
        (tidy(name), _l("This field is no text."))
        for name, text in form.items()
        if not (isinstance(text, str) and storable(text) and storable(name))
    ]
    if form.get("id", record_id) != record_id:
        problems.append(("id", _l("The form and the record have different numbers.")))
    return problems


def storable(text: str) -> bool:
    """Whether a database can hold it: half a character (a lone surrogate) or a NUL cannot be kept as text."""
    return re.search("[\ud800-\udfff\0]", text) is None


def tidy(name: str) -> str:
    """A field's name, short enough to be sent back."""
    return name[:100]
