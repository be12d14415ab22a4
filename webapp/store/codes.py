"""One-time codes: one opens the set-up page of an empty bench, one enrols a tablet. Kept only as hashes."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlite_utils import Database

from . import pin_guard
from .connect import one, write
from .pin_guard import CODE, PinOutcome
from .sessions import hashed
from .times import to_text
from .who import Who

# No pair that is mistaken in handwriting or on a dim screen: 0 O, 1 I L, 2 Z, 5 S, 8 B.
ALPHABET = "3467ACDEFGHJKMNPQRTUVWXY9"
LENGTH = {"setup": 12, "enrol": 8}
GOOD_FOR = {"setup": timedelta(hours=24), "enrol": timedelta(minutes=10)}


@dataclass(frozen=True)
class Code:
    """A fresh code as it is shown, once."""

    text: str
    expires_at: datetime


def tidy(typed: str) -> str:
    """What was typed, without the spaces and hyphens that make it easier to read, in capitals."""
    return "".join(c for c in typed.upper() if c not in " -–\t")


def make_code(db: Database, purpose: str, who: Who, now: datetime) -> Code:
    """A new code for `purpose` ("setup" or "enrol"). Earlier ones of that purpose end, wrong tries are forgotten."""
    raw = "".join(secrets.choice(ALPHABET) for _ in range(LENGTH[purpose]))
    expires_at = now + GOOD_FOR[purpose]
    with write(db):
        db.conn.execute("DELETE FROM one_time_code WHERE purpose = ? AND used_at IS NULL", (purpose,))
        db.conn.execute(
            "INSERT INTO one_time_code (code_hash, purpose, made_by, made_at, expires_at) VALUES (?, ?, ?, ?, ?)",
            (hashed(raw), purpose, who.person_id, to_text(now), to_text(expires_at)),
        )
        pin_guard.forget(db, purpose)
    return Code("-".join(raw[i : i + 4] for i in range(0, len(raw), 4)), expires_at)


def try_code(db: Database, purpose: str, typed: str, now: datetime) -> PinOutcome:
    """Whether the code is good, counting wrong ones. It is not used up: see `use_code`."""
    with write(db):
        if (refusal := pin_guard.claim(db, purpose, CODE, now)) is not None:
            return refusal
        if _good(db, purpose, typed, now) is None:
            return pin_guard.refused(db, purpose, CODE, now)
        pin_guard.forget(db, purpose)
        return PinOutcome(True)


def use_code(db: Database, purpose: str, typed: str, now: datetime) -> Who | None:
    """Use the code up, inside the transaction of what it is for; returns whoever made it, None if it is not good."""
    if not db.conn.in_transaction:
        raise RuntimeError("a code is used up in the transaction of what it is for")
    row = _good(db, purpose, typed, now)
    if row is None:
        return None
    db.conn.execute("UPDATE one_time_code SET used_at = ? WHERE code_hash = ?", (to_text(now), row["code_hash"]))
    return Who(row["made_by"])


def _good(db: Database, purpose: str, typed: str, now: datetime) -> dict | None:
    return one(
        db,
        "SELECT code_hash, made_by FROM one_time_code"
        " WHERE code_hash = ? AND purpose = ? AND used_at IS NULL AND expires_at > ?",
        (hashed(tidy(typed)), purpose, to_text(now)),
    )
