"""What was behind a signal, and what was done. Append-only: the newest note of a signal says how it stands.

A signal is known by the batch at which it fired and the side to which the values went: both stay what they are when
later batches or new limits give it another rule, or take it away.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlite_utils import Database

from . import ledger
from .connect import one, write
from .records import insert, is_there
from .times import to_text
from .trends import Kind
from .who import Who

Cause = Literal[
    "unknown", "coffee", "roast", "machine", "grinder", "meter", "preparation", "surroundings", "mix_up", "chance",
    "other",
]  # fmt: skip
CAUSES: tuple[Cause, ...] = Cause.__args__
Side = Literal["lighter", "darker"]


@dataclass(frozen=True)
class NewNote:
    """rule: 1 to 4 as in measure.rules, 0 for the running mean; cause 'unknown' while it is looked for; note, done:
    what was found and what was done, in the person's words; closed: nothing is left to do (needs a cause)."""

    id: str
    product_id: str
    kind: Kind
    batch_id: str
    rule: int
    side: Side
    cause: Cause
    note: str
    done: str
    closed: bool


@dataclass(frozen=True)
class Note(NewNote):
    """The same as it is stored. code, roasted_at: of the batch."""

    code: str
    roasted_at: str
    person_name: str
    role: str
    made_at: str

    @property
    def signal(self) -> tuple[str, Side]:
        """Which signal it is about."""
        return self.batch_id, self.side


CONTENT = tuple(name for name in NewNote.__dataclass_fields__ if name != "id")


def add_note(db: Database, new: NewNote, who: Who, now: datetime) -> None:
    """Store it once. AlreadyThere: the id is taken, with other content. ValueError: nothing is said, or it is closed
    without a cause."""
    if new.cause == "unknown" and (new.closed or not (new.note.strip() or new.done.strip())):
        raise ValueError("say what it was, or what is known so far")
    content = {name: getattr(new, name) for name in CONTENT} | {"closed": int(new.closed)}
    with write(db):
        if is_there(db, "signal_note", new.id, content):
            return
        moment = to_text(now)
        by = {
            "person_id": who.person_id, "role": who.role, "tablet_id": who.tablet_id, "made_at": moment,
            "received_at": moment,
        }  # fmt: skip
        insert(db, "signal_note", {"id": new.id, **content, **by})
        word = "closed" if new.closed else "open"
        ledger.note(db, f"signal note: {word}", "signal_note", new.id, now, who.person_id, who.tablet_id)


_NOTE = (
    "SELECT n.*, b.code, b.roasted_at, p.name AS person_name FROM signal_note n JOIN batch b ON b.id = n.batch_id"
    " JOIN person p ON p.id = n.person_id WHERE n.product_id = ? AND n.kind = ?"
)


def list_notes(db: Database, product_id: str, kind: Kind) -> list[Note]:
    """Every note on a product's signals of one kind, oldest first."""
    return [_note(row) for row in db.query(f"{_NOTE} ORDER BY n.made_at, n.rowid", (product_id, kind))]


def standing_note(
    db: Database, product_id: str, kind: Kind, batch_id: str, side: Side, since_batch_id: str | None = None
) -> Note | None:
    """The newest note on the signal that stands now, or None: it fired at ``batch_id``, and goes on.

    since_batch_id: the first batch that it counts. A note on any batch from there on is about the same thing: with
    later batches or new limits a signal may fire one batch sooner or later than when it was noted.
    """
    row = one(
        db,
        f"{_NOTE} AND n.side = ? AND b.roasted_at >= (SELECT roasted_at FROM batch WHERE id = ?)"
        " ORDER BY n.made_at DESC, n.rowid DESC LIMIT 1",
        (product_id, kind, side, since_batch_id or batch_id),
    )
    return _note(row) if row else None


def _note(row: dict) -> Note:
    names = (*NewNote.__dataclass_fields__, "code", "roasted_at", "person_name", "role", "made_at")
    return Note(**{name: row[name] for name in names} | {"closed": bool(row["closed"])})


def by_signal(notes: Iterable[Note]) -> dict[tuple[str, Side], list[Note]]:
    """(batch id, side) -> its notes, oldest first."""
    found: dict[tuple[str, Side], list[Note]] = {}
    for note in notes:
        found.setdefault(note.signal, []).append(note)
    return found
