"""People: name, role, PIN, habits. A PIN is kept only as an argon2id hash; it is checked in pin_guard.py."""

from __future__ import annotations

import re
import uuid
from dataclasses import dataclass
from datetime import datetime

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from sqlite_utils import Database

from . import ledger
from .connect import one, write
from .errors import AlreadyThere, NotFound, StoreError
from .hands import state_of
from .times import to_text
from .who import Who

ROLES = ("trainee", "roaster", "lead")
# argon2id with the library's own cost (RFC 9106, low memory). Six digits can be tried out by anyone who holds
# the database file, whatever the cost: what protects a PIN is the tablet's secret and the guard.
hasher = PasswordHasher()


class LastLead(StoreError):
    """The change would leave the site without an active lead."""


@dataclass(frozen=True)
class Person:
    """Somebody who works at the bench. `auto_point` and `short_checklist` are their own habits."""

    id: str
    name: str
    role: str
    active: bool
    auto_point: bool
    short_checklist: bool


COLUMNS = "id, name, role, active, auto_point, short_checklist"


def _person(row: dict) -> Person:
    return Person(
        row["id"], row["name"], row["role"],
        bool(row["active"]), bool(row["auto_point"]), bool(row["short_checklist"]),
    )  # fmt: skip


def anybody(db: Database) -> bool:
    """Whether there is a person at all: before that the set-up page is open."""
    return one(db, "SELECT 1 AS there FROM person LIMIT 1") is not None


def get_person(db: Database, person_id: str) -> Person:
    """NotFound if there is none."""
    row = one(db, f"SELECT {COLUMNS} FROM person WHERE id = ?", (person_id,))
    if row is None:
        raise NotFound(person_id)
    return _person(row)


def list_people(db: Database, active_only: bool = True) -> list[Person]:
    """Everybody by name, active first."""
    where = "WHERE active = 1" if active_only else ""
    people = [_person(row) for row in db.query(f"SELECT {COLUMNS} FROM person {where}")]
    return sorted(people, key=lambda p: (not p.active, p.name.casefold(), p.id))


def find_by_name(db: Database, name: str, active_only: bool = True) -> Person | None:
    """The person with this name, letter case aside. Among several (retired namesakes) an active one."""
    return next((p for p in list_people(db, active_only) if p.name.casefold() == name.strip().casefold()), None)


def _refuse_namesake(db: Database, name: str, own_id: str | None = None) -> None:
    """AlreadyThere if somebody else who is active has this name: two equal buttons invite a wrong signature."""
    there = find_by_name(db, name)
    if there is not None and there.id != own_id:
        raise AlreadyThere(name)


def hash_pin(pin: str) -> str:
    """The argon2id hash of six ASCII digits; ValueError for anything else."""
    if not re.fullmatch("[0-9]{6}", pin):
        raise ValueError("a PIN is six digits")
    return hasher.hash(pin)


def pin_matches(db: Database, person_id: str, pin: str) -> bool:
    """Whether this is an active person's PIN. Slow on purpose; call it only behind pin_guard."""
    row = one(db, "SELECT pin_hash FROM person WHERE id = ? AND active = 1", (person_id,))
    if row is None:
        return False
    try:
        return hasher.verify(row["pin_hash"], pin)
    except (VerificationError, InvalidHashError):
        return False


def add_person(db: Database, name: str, role: str, pin: str, who: Who, now: datetime) -> str:
    """A new active person; returns the id. ValueError for a bad PIN, AlreadyThere for an active namesake."""
    person_id, pin_hash = str(uuid.uuid4()), hash_pin(pin)
    with write(db):
        _refuse_namesake(db, name)
        db.conn.execute(
            "INSERT INTO person (id, name, role, pin_hash, created_at) VALUES (?, ?, ?, ?, ?)",
            (person_id, name, role, pin_hash, to_text(now)),
        )
        ledger.note(db, "person added", "person", person_id, now, who.person_id, who.tablet_id)
    return person_id


def change_person(
    db: Database, person_id: str, name: str, role: str, active: bool, who: Who, now: datetime
) -> None:
    """Change name, role or whether they work here. LastLead, AlreadyThere (namesake), NotFound.

    A trainee walks the steps: the short checklist is switched off with the role. Retiring ends every session.
    """
    with write(db):
        before = get_person(db, person_id)
        if active:
            _refuse_namesake(db, name, person_id)
        if before.role == "lead" and before.active and (role != "lead" or not active):
            _refuse_last_lead(db, person_id)
        db.conn.execute(
            "UPDATE person SET name = ?, role = ?, active = ?, short_checklist = ? WHERE id = ?",
            (name, role, int(active), int(before.short_checklist and role != "trainee"), person_id),
        )
        if not active:
            end_sessions(db, person_id, now)
        ledger.note(db, "person changed", "person", person_id, now, who.person_id, who.tablet_id)


def _refuse_last_lead(db: Database, person_id: str) -> None:
    if one(db, "SELECT 1 AS there FROM person WHERE role = 'lead' AND active = 1 AND id <> ?", (person_id,)) is None:
        raise LastLead(person_id)


def set_habits(
    db: Database, person_id: str, auto_point: bool, short_checklist: bool, who: Who, now: datetime
) -> None:
    """A person's own choices. A trainee's short checklist stays off, whatever is asked for, until a sign-off."""
    with write(db):
        may = get_person(db, person_id).role != "trainee" or any(
            state_of(db, person_id, kind, to_text(now)).signed for kind in ("whole", "ground")
        )
        db.conn.execute(
            "UPDATE person SET auto_point = ?, short_checklist = ? WHERE id = ?",
            (int(auto_point), int(short_checklist and may), person_id),
        )
        ledger.note(db, "habits changed", "person", person_id, now, who.person_id, who.tablet_id)


def set_pin(db: Database, person_id: str, pin: str, who: Who, now: datetime, keep_session: str | None = None) -> None:
    """A new PIN. Ends the person's sessions except the one whose token hash is `keep_session`."""
    pin_hash = hash_pin(pin)
    with write(db):
        get_person(db, person_id)
        db.conn.execute("UPDATE person SET pin_hash = ? WHERE id = ?", (pin_hash, person_id))
        end_sessions(db, person_id, now, keep_session)
        ledger.note(db, "PIN set", "person", person_id, now, who.person_id, who.tablet_id)


def end_sessions(db: Database, person_id: str, now: datetime, keep_session: str | None = None) -> None:
    """Sign the person out everywhere (but in `keep_session`)."""
    with write(db):
        db.conn.execute(
            "UPDATE session SET ended_at = ? WHERE person_id = ? AND ended_at IS NULL AND token_hash IS NOT ?",
            (to_text(now), person_id, keep_session),
        )


def last_seen(db: Database) -> dict[str, tuple[str, str]]:
    """Tablet id -> (time, name) of whoever was signed in on it last."""
    rows = db.query(
        "SELECT s.tablet_id, max(s.last_seen_at) AS at, p.name FROM session s JOIN person p ON p.id = s.person_id"
        " GROUP BY s.tablet_id"
    )
    return {row["tablet_id"]: (row["at"], row["name"]) for row in rows}
