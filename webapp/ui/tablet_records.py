"""What sync hands to a feature, and gets back: one record out of a tablet's outbox.

webapp/sync knows the way in (who may send, in which order, exactly once), a feature knows its forms and its rules.
Neither imports the other: they share these shapes, and assemble.py brings them together.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal, Protocol

from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.store.people import Person
from webapp.store.who import Sent, Who

# May this record speak for its person? "open_claim": said to be them, without a PIN yet; "somebody_else": another
# person's session sends it; "signed_in": their own does; "fresh": and they entered their PIN minutes ago.
Standing = Literal["open_claim", "somebody_else", "signed_in", "fresh"]


@dataclass(frozen=True)
class TabletRecord:
    """A record as it was sent, its envelope checked. `form`: what the plain form would post, texts only, with `id`.

    person: who captured. made_at: by the tablet's clock, believed up to now (stored UTC text).
    """

    id: str
    kind: str
    person: Person
    tablet_id: str
    made_at: str
    sent: Sent
    standing: Standing
    form: Mapping[str, str] = field(default_factory=dict)
    batch_id: str = ""
    sample_kind: str = ""

    @property
    def who(self) -> Who:
        """For the store's writing functions: the one who captured, not the one who sends."""
        return Who(self.person.id, self.person.role, self.tablet_id)


class Refused(Exception):
    """This record is not stored, and why; the others of its list go on.

    problems: (field name, or "" for the record as a whole; message for a person). `missing`: the id that it waits for.
    """

    def __init__(
        self, status: int, error: str, problems: list[tuple[str, str]], *, missing: str = "", ours: dict | None = None,
        theirs: dict | None = None,
    ) -> None:  # fmt: skip
        super().__init__(error)
        self.status, self.error, self.problems, self.missing = status, error, problems, missing
        self.ours, self.theirs = ours, theirs


def invalid(problems: list[tuple[str, str]]) -> Refused:
    """What was filled in cannot be stored as it is."""
    return Refused(422, "invalid", [(name, str(text)) for name, text in problems])


# What speaks for its person as a decision does. A file of waiting records has no PIN behind it: these stay on a tablet.
NEEDS_PERSON = frozenset({"decision", "look_back_entry", "countersignature"})


def require_person(record: TabletRecord, pin_again: bool) -> None:
    """Refuse what the person has not shown to be theirs. Unlike a reading, a decision is worth forging.

    pin_again: their PIN must have been entered minutes ago.
    """
    name = record.person.name
    if record.standing == "open_claim":
        text = _("It waits until %(name)s confirms with their PIN that it was them.", name=name)
        raise Refused(403, "claim", [("claim_id", text)])
    if record.standing == "somebody_else":
        text = _("It waits until %(name)s signs in on this tablet.", name=name)
        raise Refused(403, "person", [("person_id", text)])
    if pin_again and record.standing != "fresh":
        raise Refused(403, "confirm", [("what", _("%(name)s has to enter the PIN again for this.", name=name))])


class Handler(Protocol):
    """How one kind of record is stored."""

    def versions(self, db: Database, record: TabletRecord) -> tuple[dict, dict] | None:
        """(what is stored under the record's id, what the record says), in the same words; None: nothing is stored."""

    def store(self, db: Database, record: TabletRecord, now: datetime) -> list[str]:
        """Store it, inside the caller's transaction; returns remarks for the person. Refused if it cannot be."""

    def shown(self, db: Database, record: TabletRecord) -> dict:
        """What the tablet is to show once it is stored."""


@dataclass(frozen=True)
class Registry:
    """What the features hand to sync: kind of record -> its handler, and who makes the kit (db, now) -> content."""

    handlers: Mapping[str, Handler]
    kit: Callable[[Database, datetime], dict]
