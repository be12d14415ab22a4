"""What the stores of gear, methods and products share: adding a record once, renaming it, retiring it."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import Literal

from sqlite_utils import Database

from . import ledger
from .connect import one, write
from .errors import AlreadyThere, NotFound
from .who import Who

NamedKind = Literal["machine", "meter", "grinder", "method", "product"]
NAMED_KINDS = ("machine", "meter", "grinder", "method", "product")


def new_id() -> str:
    """A fresh record id."""
    return str(uuid.uuid4())


def is_there(db: Database, table: str, record_id: str, content: dict) -> bool:
    """Whether the record was stored before; AlreadyThere if it was, with other content.

    Table and column names come from this package only, never from outside.
    """
    row = one(db, f"SELECT * FROM {table} WHERE id = ?", (record_id,))
    if row is None:
        return False
    if any(row[name] != value for name, value in content.items()):
        raise AlreadyThere(record_id)
    return True


def insert(db: Database, table: str, row: dict) -> None:
    """Insert one row. Table and column names come from this package only, never from outside."""
    names = ", ".join(row)
    marks = ", ".join(f":{name}" for name in row)
    db.conn.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", row)


def rename(db: Database, kind: NamedKind, record_id: str, name: str, who: Who, now: datetime) -> None:
    """Give a machine, meter, grinder, method or product another name. NotFound if it is not there."""
    _change(db, kind, record_id, "name", name, "renamed", who, now)


def retire(db: Database, kind: NamedKind, record_id: str, who: Who, now: datetime) -> None:
    """Take it out of the lists people choose from; what was recorded with it stays. NotFound if not there."""
    _change(db, kind, record_id, "active", 0, "retired", who, now)


def bring_back(db: Database, kind: NamedKind, record_id: str, who: Who, now: datetime) -> None:
    """Undo `retire`. NotFound if it is not there."""
    _change(db, kind, record_id, "active", 1, "brought back", who, now)


def _change(
    db: Database, kind: str, record_id: str, column: str, value: object, verb: str, who: Who, now: datetime
) -> None:
    if kind not in NAMED_KINDS:
        raise ValueError(kind)
    with write(db):
        done = db.conn.execute(f"UPDATE {kind} SET {column} = ? WHERE id = ?", (value, record_id))
        if done.rowcount != 1:
            raise NotFound(record_id)
        ledger.note(db, f"{kind} {verb}", kind, record_id, now, who.person_id, who.tablet_id)
