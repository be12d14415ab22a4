"""Tablets and sessions: who stands at the bench, and on what. Secrets are kept only as hashes."""

from __future__ import annotations

import hashlib
import secrets
import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlite_utils import Database

from . import ledger
from .connect import one, write
from .errors import NotFound
from .times import from_text, to_text
from .who import Who

CONFIRMED_FOR = timedelta(minutes=10)


@dataclass(frozen=True)
class Tablet:
    """An enrolled device."""

    id: str
    name: str
    enrolled_at: str
    revoked_at: str | None


@dataclass(frozen=True)
class Session:
    """A person signed in on a tablet. `confirmed`: the PIN was entered again within the last ten minutes."""

    token_hash: str
    person_id: str
    tablet_id: str
    name: str
    role: str
    auto_point: bool
    short_checklist: bool
    last_seen_at: datetime
    confirmed: bool

    @property
    def mark(self) -> str:
        """Tells this session from every other one; opens nothing."""
        return self.token_hash[:16]

    @property
    def who(self) -> Who:
        """For the store's writing functions."""
        return Who(self.person_id, self.role, self.tablet_id)


def hashed(secret: str) -> str:
    """SHA-256 of a random 256-bit secret: enough without a slow hash, since it cannot be guessed."""
    return hashlib.sha256(secret.encode()).hexdigest()


def enrol_tablet(db: Database, name: str, who: Who, now: datetime) -> tuple[str, str]:
    """A new tablet; returns (id, secret). The secret is shown to nobody and lives in the tablet's cookie."""
    tablet_id, secret = str(uuid.uuid4()), secrets.token_urlsafe(32)
    with write(db):
        db.conn.execute(
            "INSERT INTO tablet (id, name, secret_hash, enrolled_at, enrolled_by) VALUES (?, ?, ?, ?, ?)",
            (tablet_id, name, hashed(secret), to_text(now), who.person_id),
        )
        ledger.note(db, "tablet enrolled", "tablet", tablet_id, now, who.person_id, who.tablet_id)
    return tablet_id, secret


def revoke_tablet(db: Database, tablet_id: str, who: Who, now: datetime) -> None:
    """End the tablet and every session on it. NotFound if there is no such tablet in use."""
    with write(db):
        done = db.conn.execute(
            "UPDATE tablet SET revoked_at = ? WHERE id = ? AND revoked_at IS NULL", (to_text(now), tablet_id)
        )
        if done.rowcount != 1:
            raise NotFound(tablet_id)
        db.conn.execute(
            "UPDATE session SET ended_at = ? WHERE tablet_id = ? AND ended_at IS NULL",
            (to_text(now), tablet_id),
        )
        ledger.note(db, "tablet revoked", "tablet", tablet_id, now, who.person_id, who.tablet_id)


def find_tablet(db: Database, secret: str) -> Tablet | None:
    """The tablet with this secret, unless it was revoked."""
    row = one(
        db,
        "SELECT id, name, enrolled_at, revoked_at FROM tablet WHERE secret_hash = ? AND revoked_at IS NULL",
        (hashed(secret),),
    )
    return Tablet(**row) if row else None


def all_tablets(db: Database) -> list[Tablet]:
    """Every tablet, in use first, newest first."""
    return [
        Tablet(**row)
        for row in db.query(
            "SELECT id, name, enrolled_at, revoked_at FROM tablet ORDER BY revoked_at IS NOT NULL, enrolled_at DESC"
        )
    ]


def start_session(db: Database, person_id: str, tablet_id: str, shift_hours: int, now: datetime) -> str:
    """Sign a person in, ending what was open on this tablet; returns the token for the cookie."""
    token = secrets.token_urlsafe(32)
    moment = to_text(now)
    with write(db):
        db.conn.execute("UPDATE session SET ended_at = ? WHERE tablet_id = ? AND ended_at IS NULL", (moment, tablet_id))
        db.conn.execute(
            "INSERT INTO session (token_hash, person_id, tablet_id, started_at, last_seen_at, ends_at, confirmed_at)"
            " VALUES (?, ?, ?, ?, ?, ?, ?)",
            (
                hashed(token),
                person_id,
                tablet_id,
                moment,
                moment,
                to_text(now + timedelta(hours=shift_hours)),
                moment,
            ),
        )
    return token


def find_session(
    db: Database, token: str, tablet_id: str, now: datetime, *, touch: bool = True
) -> Session | None:
    """The live session with this token on this tablet; None when ended, idle too long, or past the shift.

    With `touch` it notes `last_seen_at`, at most once a minute so that reading a page seldom costs a write. What a
    tablet asks for by itself is no sign that somebody stands there.
    """
    row = one(
        db,
        "SELECT s.*, p.name, p.role, p.auto_point, p.short_checklist, site.idle_minutes FROM session s"
        " JOIN person p ON p.id = s.person_id AND p.active = 1 JOIN site"
        " WHERE s.token_hash = ? AND s.tablet_id = ? AND s.ended_at IS NULL",
        (hashed(token), tablet_id),
    )
    if row is None:
        return None
    seen = from_text(row["last_seen_at"])
    if now >= from_text(row["ends_at"]) or now - seen > timedelta(minutes=row["idle_minutes"] + 1):
        return None
    if touch and now - seen > timedelta(minutes=1):
        with write(db):
            db.conn.execute(
                "UPDATE session SET last_seen_at = ? WHERE token_hash = ?", (to_text(now), row["token_hash"])
            )
    confirmed = row["confirmed_at"] is not None and now - from_text(row["confirmed_at"]) < CONFIRMED_FOR
    return Session(
        row["token_hash"], row["person_id"], row["tablet_id"], row["name"], row["role"],
        bool(row["auto_point"]), bool(row["short_checklist"]), seen, confirmed,
    )  # fmt: skip


def confirm_session(db: Database, token_hash: str, now: datetime) -> None:
    """Note that the person entered the PIN again just now."""
    with write(db):
        db.conn.execute("UPDATE session SET confirmed_at = ? WHERE token_hash = ?", (to_text(now), token_hash))


def end_session(db: Database, token_hash: str, now: datetime) -> None:
    """Lock: the token is worth nothing from here on."""
    with write(db):
        db.conn.execute(
            "UPDATE session SET ended_at = ? WHERE token_hash = ? AND ended_at IS NULL",
            (to_text(now), token_hash),
        )
