"""The parameters of a request: each one described and read in one place. What is not known is refused, not ignored."""

from __future__ import annotations

import re
import uuid
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from werkzeug.datastructures import MultiDict

from webapp.store.api_lists import Place

MOST, USUAL = 500, 100


class Refused(Exception):
    """Parameters that are not understood: [{"parameter", "message"}]."""

    def __init__(self, problems: list[dict[str, str]]) -> None:
        super().__init__(problems)
        self.problems = problems


@dataclass(frozen=True)
class Parameter:
    """name in the address; schema: what it may be (JSON Schema); read: text -> value, ValueError with a sentence."""

    name: str
    what: str
    schema: dict
    read: Callable[[str], object]


def read_limit(text: str) -> int:
    """How many at most."""
    if not re.fullmatch("[0-9]{1,3}", text) or not 1 <= int(text) <= MOST:
        raise ValueError(f"A whole number from 1 to {MOST}.")
    return int(text)


def read_line(text: str) -> int:
    """A line of the ledger; 0: from the beginning."""
    if not re.fullmatch("[0-9]{1,15}", text):
        raise ValueError("A whole number, 0 or more: the ledger_seq of an earlier answer.")
    return int(text)


def read_day(text: str) -> str:
    """A calendar day."""
    try:
        if re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            return date.fromisoformat(text).isoformat()
    except ValueError:
        pass
    raise ValueError("A day, as 2026-05-14.")


def read_id(text: str) -> str:
    """The number of a record."""
    try:
        return str(uuid.UUID(text))
    except ValueError:
        raise ValueError("The id of a record (a UUID).") from None


def write_cursor(place: Place) -> str:
    """A place as text. Nobody has to understand it, so that it may change."""
    return urlsafe_b64encode(f"1:{place.after}:{place.until}:{place.seq}".encode()).decode().rstrip("=")


def read_cursor(text: str) -> Place:
    """The place that `write_cursor` made a text of."""
    try:
        plain = urlsafe_b64decode(text + "=" * (-len(text) % 4)).decode("ascii")
        if found := re.fullmatch("1:([0-9]{1,15}):([0-9]{1,15}):([0-9]{1,15})", plain):
            return Place(*(int(part) for part in found.groups()))
    except ValueError:
        pass
    raise ValueError("A place in a list: follow the address in `next` as it is.")


LIMIT = Parameter(
    "limit", "How many items at most.", {"type": "integer", "minimum": 1, "maximum": MOST, "default": USUAL}, read_limit
)
CURSOR = Parameter(
    "cursor", "Where the list goes on: part of the address in `next`, and not made by hand.",
    {"type": "string", "pattern": "^[A-Za-z0-9_-]+$", "maxLength": 80}, read_cursor,
)  # fmt: skip
PRODUCT = Parameter("product", "Only batches of this product (its id).", {"type": "string", "format": "uuid"}, read_id)
SINCE = Parameter(
    "since", "Only batches of this day and later (a calendar day at the roastery).",
    {"type": "string", "format": "date"}, read_day,
)  # fmt: skip
UNTIL = Parameter("until", "Only batches of this day and earlier.", {"type": "string", "format": "date"}, read_day)
CHANGED = Parameter(
    "changed_since",
    "Only batches that were stored, read, corrected, moved, decided on or judged anew behind this line of the ledger: "
    "send the `ledger_seq` of the first page of the last time. A batch may be named without a change that shows; a new "
    "name of a product or a person is no change of a batch. 0: all.",
    {"type": "integer", "minimum": 0, "maximum": 10**15 - 1}, read_line,
)  # fmt: skip


def read(parameters: tuple[Parameter, ...], args: MultiDict) -> dict[str, object]:
    """name -> value of what was sent. Refused: something unknown, sent twice, or not understood."""
    known, problems, found = {one.name: one for one in parameters}, [], {}
    for name, texts in args.lists():
        try:
            if name not in known:
                raise ValueError("There is no such parameter here.")
            if len(texts) > 1:
                raise ValueError("Send it once.")
            found[name] = known[name].read(texts[0])
        except ValueError as problem:
            problems.append({"parameter": name, "message": str(problem)})
    if problems:
        raise Refused(problems)
    return found
