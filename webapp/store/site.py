"""The one site this database belongs to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlite_utils import Database

from . import ledger, routine
from .connect import one, write
from .who import Who


@dataclass(frozen=True)
class Site:
    """Name, IANA time zone, minutes until an idle tablet locks, hours after which a session ends."""

    name: str
    time_zone: str
    idle_minutes: int
    shift_hours: int


def get_site(db: Database) -> Site | None:
    """The site, or None before the first set-up."""
    row = one(db, "SELECT name, time_zone, idle_minutes, shift_hours FROM site")
    return Site(**row) if row else None


def put_site(db: Database, site: Site, who: Who, now: datetime) -> None:
    """Make or change the site's facts."""
    with write(db):
        before = get_site(db)
        db.conn.execute(
            "INSERT INTO site (id, name, time_zone, idle_minutes, shift_hours) VALUES (1, ?, ?, ?, ?)"
            " ON CONFLICT (id) DO UPDATE SET name = excluded.name, time_zone = excluded.time_zone,"
            " idle_minutes = excluded.idle_minutes, shift_hours = excluded.shift_hours",
            (site.name, site.time_zone, site.idle_minutes, site.shift_hours),
        )
        if before and before.time_zone != site.time_zone:
            routine.change_zone(db, before.time_zone, site.time_zone)
        ledger.note(db, "site changed", "site", "1", now, who.person_id, who.tablet_id)
