"""Set up an empty bench, and enrol a tablet: each in one transaction with the code that allows it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlite_utils import Database

from webapp.store import codes, sessions
from webapp.store.connect import write
from webapp.store.people import add_person, anybody
from webapp.store.site import Site, put_site
from webapp.store.who import SYSTEM, Who

IDLE_MINUTES, SHIFT_HOURS = 10, 12


class Closed(Exception):
    """Somebody set the bench up a moment ago, or used the code."""


@dataclass(frozen=True)
class Started:
    """What the first browser gets: its secret as a tablet, and the first lead's session."""

    tablet_secret: str
    session_token: str


def first_lead(db: Database, site_name: str, zone: str, name: str, pin: str, now: datetime) -> Who:
    """The site and its first lead. Closed if there is a person already."""
    with write(db):
        if anybody(db):
            raise Closed
        put_site(db, Site(site_name, zone, IDLE_MINUTES, SHIFT_HOURS), SYSTEM, now)
        return Who(add_person(db, name, "lead", pin, SYSTEM, now))


def set_up(
    db: Database, code: str, site_name: str, zone: str, name: str, pin: str, tablet_name: str, now: datetime
) -> Started:
    """Site, first lead, this tablet and a session on it. Closed if it is too late for that."""
    with write(db):
        if codes.use_code(db, "setup", code, now) is None:
            raise Closed
        lead = first_lead(db, site_name, zone, name, pin, now)
        tablet_id, secret = sessions.enrol_tablet(db, tablet_name, lead, now)
        return Started(secret, sessions.start_session(db, lead.person_id, tablet_id, SHIFT_HOURS, now))


def enrol(db: Database, code: str, tablet_name: str, now: datetime) -> str:
    """Enrol this browser as a tablet; returns its secret. Closed if the code is no longer good."""
    with write(db):
        lead = codes.use_code(db, "enrol", code, now)
        if lead is None:
            raise Closed
        return sessions.enrol_tablet(db, tablet_name, lead, now)[1]
