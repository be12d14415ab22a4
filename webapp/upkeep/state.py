"""How the server is: everything that whoever looks after it should see at once, gathered for the page and the command.

Every line has a state: fine; look (not urgent); act (something is lost if nobody does anything).
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Literal

from sqlite_utils import Database

from webapp.store import backups, connect, upkeep
from webapp.store.connect import one
from webapp.store.times import from_text

from . import certificate

How = Literal["fine", "look", "act"]
# A copy a day: with some slack for a box that was off at night.
COPY_OLD = timedelta(hours=30)
TRIAL_OLD = timedelta(days=35)
CHECK_OLD = timedelta(days=8)
CERTIFICATE_SHORT, CERTIFICATE_LAST = timedelta(days=14), timedelta(days=3)
SPACE_LOW, SPACE_LAST = 2_000_000_000, 300_000_000
# How far the newest line of the ledger may lie ahead of the clock before that means something.
CLOCK_SLACK = timedelta(minutes=2)


@dataclass(frozen=True)
class Line:
    """what: the line's name in the code. how: see above. facts: what its sentence is made of."""

    what: str
    how: How
    facts: dict


@dataclass(frozen=True)
class Place:
    """Where the bench lies, as far as the settings say. host: None where tablets do not come over HTTPS."""

    database: Path
    backups: Path
    build: str
    host: str | None
    authority: Path | None


def gather(db: Database, place: Place, now: datetime) -> list[Line]:
    """Every line, in the order in which it is shown."""
    done = upkeep.chores(db)
    lines = [
        _build(place),
        _engine(db),
        _certificate(place, now),
        _authority(place),
        _clock(db, now),
        _copy(place, done.get("backup"), now),
        _chore("trial", done.get("trial"), TRIAL_OLD, now),
        _chore("check", done.get("check"), CHECK_OLD, now),
        _space(place),
    ]
    return [line for line in lines if line]


def _build(place: Place) -> Line:
    return Line("build", "fine", {"build": place.build, "size": place.database.stat().st_size})


def _engine(db: Database) -> Line:
    version = connect.engine_version()
    wanted, _synchronous = connect.journal_for(version)
    journal = one(db, "PRAGMA journal_mode")["journal_mode"]
    facts = {"version": ".".join(map(str, version)), "journal": journal, "sound": connect.engine_is_sound(version)}
    return Line("engine", "fine" if journal == wanted else "act", facts)


def _certificate(place: Place, now: datetime) -> Line:
    if place.host is None:
        return Line("no_https", "look", {})
    seen = certificate.look(place.host, place.authority)
    if seen.ends_at is None:
        return Line("certificate", "act", {"host": seen.host, "problem": seen.problem, "days": None})
    left = seen.ends_at - now
    how: How = "act" if left < CERTIFICATE_LAST else "look" if left < CERTIFICATE_SHORT else "fine"
    return Line("certificate", how, {"host": seen.host, "problem": "", "days": left.days})


def _authority(place: Place) -> Line | None:
    if place.authority is None:
        return None
    found = certificate.fingerprint(place.authority)
    return Line("authority", "fine" if found else "act", {"fingerprint": found, "file": str(place.authority)})


def _clock(db: Database, now: datetime) -> Line:
    newest = one(db, "SELECT at FROM ledger ORDER BY seq DESC LIMIT 1")
    ahead = newest is not None and from_text(newest["at"]) > now + CLOCK_SLACK
    return Line("clock", "act" if ahead else "fine", {"now": now, "newest": newest and newest["at"]})


def _copy(place: Place, last: upkeep.Chore | None, now: datetime) -> Line:
    copies = backups.list_copies(place.backups)
    if not copies:
        return Line("copy", "act", {"at": None, "count": 0, "problem": last.said if last and not last.well else ""})
    newest, _path = copies[0]
    problem = last.said if last and not last.well else ""
    how: How = "act" if problem or now - newest > COPY_OLD else "fine"
    return Line("copy", how, {"at": newest, "count": len(copies), "problem": problem})


def _chore(what: str, last: upkeep.Chore | None, old: timedelta, now: datetime) -> Line:
    if last is None:
        return Line(what, "look", {"at": None, "problem": "", "lines": None})
    at = from_text(last.at)
    how: How = "act" if not last.well else "look" if now - at > old else "fine"
    return Line(what, how, {"at": at, "problem": "" if last.well else last.said, "lines": last.lines})


def _space(place: Place) -> Line:
    free = min(shutil.disk_usage(folder).free for folder in {place.database.parent, _there(place.backups)})
    how: How = "act" if free < SPACE_LAST else "look" if free < SPACE_LOW else "fine"
    return Line("space", how, {"free": free})


def _there(folder: Path) -> Path:
    """The folder, or the nearest one above it that exists."""
    return next(one for one in (folder, *folder.parents) if one.is_dir())
