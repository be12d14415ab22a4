"""Wrong PINs and codes slow down: counted in the database, so across processes, restarts and tablets.

A try is counted in one immediate transaction BEFORE the secret is looked at. However many guesses arrive at
once, no more are verified than the ladder allows; a right one takes its count back afterwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlite_utils import Database

from . import ledger
from .connect import one, write
from .errors import NotFound
from .people import pin_matches
from .times import from_text, to_text
from .who import Who

FIRST_WAIT_S, LONGEST_WAIT_S = 30, 15 * 60


@dataclass(frozen=True)
class Ladder:
    """After `free` wrong tries a wait, which doubles with each further one; forgotten after `forget`, if set."""

    free: int
    forget: timedelta | None = None


PERSON = Ladder(5)
# One tablet is shared by many: it takes more, and a bad morning is forgotten.
TABLET = Ladder(20, timedelta(hours=1))
CODE = Ladder(5, timedelta(hours=1))


@dataclass(frozen=True)
class PinOutcome:
    """Whether it was right. If not: seconds to wait before the next try, and tries left before a wait.

    `whole_tablet`: it is the tablet that waits, so nobody can sign in on it.
    """

    ok: bool
    wait_seconds: int = 0
    tries_left: int = 0
    whole_tablet: bool = False


def wait_for(failures: int, ladder: Ladder) -> int:
    """Seconds to wait after this many wrong tries."""
    if failures < ladder.free:
        return 0
    return min(LONGEST_WAIT_S, FIRST_WAIT_S * 2 ** min(failures - ladder.free, 10))


def person_subject(person_id: str) -> str:
    """The counter of a person, on whatever tablet."""
    return f"person:{person_id}"


def tablet_subject(tablet_id: str) -> str:
    """The counter of a tablet, for whatever person."""
    return f"tablet:{tablet_id}"


def seconds_left(db: Database, subject: str, now: datetime) -> int:
    """How long this subject still has to wait; 0 if it need not."""
    row = one(db, "SELECT locked_until FROM pin_guard WHERE subject = ?", (subject,))
    if row is None or row["locked_until"] is None:
        return 0
    left = (from_text(row["locked_until"]) - now).total_seconds()
    return max(0, -int(-left // 1))


def _failures(db: Database, subject: str, ladder: Ladder, now: datetime) -> int:
    row = one(db, "SELECT failures, last_failed_at FROM pin_guard WHERE subject = ?", (subject,))
    if row is None or (ladder.forget and now - from_text(row["last_failed_at"]) >= ladder.forget):
        return 0
    return row["failures"]


def _put(db: Database, subject: str, failures: int, wait: int, now: datetime) -> None:
    until = to_text(now + timedelta(seconds=wait)) if wait else None
    db.conn.execute(
        "INSERT INTO pin_guard (subject, failures, last_failed_at, locked_until) VALUES (?, ?, ?, ?)"
        " ON CONFLICT (subject) DO UPDATE SET failures = excluded.failures,"
        " last_failed_at = excluded.last_failed_at, locked_until = excluded.locked_until",
        (subject, failures, to_text(now), until),
    )


def claim(db: Database, subject: str, ladder: Ladder, now: datetime) -> PinOutcome | None:
    """Count one try as wrong; None if it may now be verified, else how long to wait (then nothing is counted)."""
    if (left := seconds_left(db, subject, now)) > 0:
        return PinOutcome(False, left)
    failures = _failures(db, subject, ladder, now) + 1
    _put(db, subject, failures, wait_for(failures, ladder), now)
    return None


def refused(db: Database, subject: str, ladder: Ladder, now: datetime) -> PinOutcome:
    """What to say after a try that was counted and turned out wrong."""
    failures = _failures(db, subject, ladder, now)
    return PinOutcome(False, seconds_left(db, subject, now), max(0, ladder.free - failures))


def forget(db: Database, subject: str) -> None:
    """Start again from nothing."""
    with write(db):
        db.conn.execute("DELETE FROM pin_guard WHERE subject = ?", (subject,))


def forget_all(db: Database) -> int:
    """Lift every wait there is (people, tablets, codes); returns how many counters were dropped."""
    with write(db):
        return db.conn.execute("DELETE FROM pin_guard").rowcount


def _take_back(db: Database, subject: str) -> None:
    """Undo the one try that turned out right: the others on this tablet stay counted."""
    db.conn.execute(
        "UPDATE pin_guard SET failures = max(0, failures - 1), locked_until = NULL WHERE subject = ?", (subject,)
    )


def check_pin(db: Database, person_id: str, tablet_id: str, pin: str, now: datetime) -> PinOutcome:
    """Count, verify, and on success forget the person's wrong tries (the tablet's stay)."""
    person, tablet = person_subject(person_id), tablet_subject(tablet_id)
    with write(db):
        if (left := seconds_left(db, tablet, now)) > 0:
            return PinOutcome(False, left, whole_tablet=True)
        if (refusal := claim(db, person, PERSON, now)) is not None:
            return refusal
        claim(db, tablet, TABLET, now)
    if pin_matches(db, person_id, pin):
        with write(db):
            forget(db, person)
            _take_back(db, tablet)
        return PinOutcome(True)
    if (left := seconds_left(db, tablet, now)) > 0:
        return PinOutcome(False, left, whole_tablet=True)
    return refused(db, person, PERSON, now)


def unlock_person(db: Database, person_id: str, who: Who, now: datetime) -> None:
    """A lead (or the command line) lets the person try again at once."""
    with write(db):
        forget(db, person_subject(person_id))
        ledger.note(db, "PIN unlocked", "person", person_id, now, who.person_id, who.tablet_id)


def waiting(db: Database, now: datetime) -> dict[str, int]:
    """Subject -> seconds left, for every person, tablet and code that has to wait."""
    rows = list(db.query("SELECT subject FROM pin_guard WHERE locked_until > ?", (to_text(now),)))
    return {row["subject"]: seconds_left(db, row["subject"], now) for row in rows}


def unlock_tablet(db: Database, tablet_id: str, who: Who, now: datetime) -> None:
    """A lead lets everybody on this tablet try again at once. NotFound if there is no such tablet."""
    with write(db):
        if one(db, "SELECT 1 AS there FROM tablet WHERE id = ?", (tablet_id,)) is None:
            raise NotFound(tablet_id)
        forget(db, tablet_subject(tablet_id))
        ledger.note(db, "PIN unlocked", "tablet", tablet_id, now, who.person_id, who.tablet_id)
