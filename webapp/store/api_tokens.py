"""Keys with which a program may read what the bench has stored. Only the hash of a key is kept."""

from __future__ import annotations

import logging
import re
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlite_utils import Database
from sqlite_utils.utils import sqlite3

from . import ledger
from .connect import one, write
from .errors import AlreadyThere, NotFound
from .records import insert
from .sessions import hashed
from .times import from_text, to_text
from .who import Who

PREFIX = "drumside_"
SHAPE = re.compile(rf"{PREFIX}[A-Za-z0-9_-]{{43}}")
NOTED_EVERY = timedelta(minutes=1)


@dataclass(frozen=True)
class Key:
    """A key as it stands in the list. requests: how often it was used, as far as that was written down."""

    id: str
    name: str
    person_name: str
    made_at: str
    revoked_at: str | None
    revoked_by: str | None
    last_used_at: str | None
    requests: int


@dataclass(frozen=True)
class Holder:
    """Whose request this is: a key in force, and when its use was last written down (None: never)."""

    id: str
    last_used_at: datetime | None


def add_key(db: Database, key_id: str, name: str, who: Who, now: datetime) -> str:
    """A new key; returns its text, which stands nowhere afterwards.

    The text is 32 random bytes behind a word by which it is known when it lies about. AlreadyThere: the id is taken;
    the text of that key cannot be had again.
    """
    text = PREFIX + secrets.token_urlsafe(32)
    with write(db):
        if one(db, "SELECT 1 FROM api_token WHERE id = ?", (key_id,)):
            raise AlreadyThere(key_id)
        insert(db, "api_token", {
            "id": key_id, "name": name, "token_hash": hashed(text), "person_id": who.person_id,
            "tablet_id": who.tablet_id, "made_at": to_text(now),
        })  # fmt: skip
        ledger.note(db, "key for a program made", "api_token", key_id, now, who.person_id, who.tablet_id)
    return text


def revoke_key(db: Database, key_id: str, who: Who, now: datetime) -> None:
    """The key opens nothing from here on. NotFound if there is no such key in force."""
    with write(db):
        done = db.conn.execute(
            "UPDATE api_token SET revoked_at = ?, revoked_by = ? WHERE id = ? AND revoked_at IS NULL",
            (to_text(now), who.person_id, key_id),
        )
        if done.rowcount != 1:
            raise NotFound(key_id)
        ledger.note(db, "key for a program revoked", "api_token", key_id, now, who.person_id, who.tablet_id)


def list_keys(db: Database) -> list[Key]:
    """Every key, those in force first, newest first."""
    rows = db.query(
        "SELECT k.id, k.name, p.name AS person_name, k.made_at, k.revoked_at, r.name AS revoked_by, u.last_used_at,"
        " coalesce(u.requests, 0) AS requests FROM api_token k JOIN person p ON p.id = k.person_id"
        " LEFT JOIN person r ON r.id = k.revoked_by LEFT JOIN api_use u ON u.token_id = k.id"
        " ORDER BY k.revoked_at IS NOT NULL, k.made_at DESC, k.rowid DESC"
    )
    return [Key(**row) for row in rows]


def find_key(db: Database, text: str) -> Holder | None:
    """The key in force with this text, or None.

    A plain look-up by the hash is enough, with no counting of wrong ones: 256 random bits cannot be guessed, what an
    index gives away by its timing is about the hash, and a wait for everybody after wrong keys would let any stranger
    on the network shut a program out.
    """
    if not SHAPE.fullmatch(text):
        return None
    row = one(
        db,
        "SELECT k.id, u.last_used_at FROM api_token k LEFT JOIN api_use u ON u.token_id = k.id"
        " WHERE k.token_hash = ? AND k.revoked_at IS NULL",
        (hashed(text),),
    )
    if row is None:
        return None
    return Holder(row["id"], from_text(row["last_used_at"]) if row["last_used_at"] else None)


def use_is_due(holder: Holder, now: datetime) -> bool:
    """Whether the use of a key should be written down now: once a minute, so that reading does not cost a write."""
    return holder.last_used_at is None or not timedelta() <= now - holder.last_used_at < NOTED_EVERY


def note_use(db: Database, key_id: str, requests: int, now: datetime) -> bool:
    """Write down when a key was used last, and how many requests there were since the last time.

    Whether it was written: a disk that is full, or a writer that takes long, keeps nobody from reading.
    """
    try:
        with write(db):
            db.conn.execute(
                "INSERT INTO api_use (token_id, last_used_at, requests) VALUES (?, ?, ?) ON CONFLICT (token_id)"
                " DO UPDATE SET last_used_at = excluded.last_used_at, requests = requests + excluded.requests",
                (key_id, to_text(now), requests),
            )
    except sqlite3.OperationalError as problem:
        logging.getLogger("drumside").warning("the use of a key was not written down: %s", problem)
        return False
    return True
