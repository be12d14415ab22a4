"""The chores of a server: when each was last done, and how it went. Only the newest word is kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlite_utils import Database

from .connect import write
from .times import to_text


@dataclass(frozen=True)
class Chore:
    """what: backup, trial (a copy was put back somewhere else and looked through) or check (of the whole ledger).

    lines: the ledger's length at that moment, if it was looked at; said: what was wrong, or where it lies.
    """

    what: str
    at: str
    well: bool
    lines: int | None
    said: str


def note_chore(db: Database, what: str, well: bool, now: datetime, lines: int | None = None, said: str = "") -> None:
    """Keep that a chore was done now, in the place of the last time."""
    with write(db):
        db.conn.execute(
            "INSERT INTO upkeep (what, at, well, lines, said) VALUES (?, ?, ?, ?, ?) ON CONFLICT (what) DO UPDATE SET"
            " at = excluded.at, well = excluded.well, lines = excluded.lines, said = excluded.said",
            (what, to_text(now), int(well), lines, said[:500]),
        )


def chores(db: Database) -> dict[str, Chore]:
    """what -> when it was last done; those that never were are missing."""
    rows = db.query("SELECT what, at, well, lines, said FROM upkeep")
    return {row["what"]: Chore(**(row | {"well": bool(row["well"])})) for row in rows}


@dataclass(frozen=True)
class Outbox:
    """What a tablet said when it was last heard: how many entries waited on it, how many of them need attention, and
    since when the oldest does. Empty (None) where it never said anything."""

    tablet_id: str
    tablet_name: str
    heard_at: str | None
    waiting: int | None
    stuck: int | None
    oldest_at: str | None


def hear_tablet(
    db: Database, tablet_id: str, waiting: int, stuck: int, oldest_at: str | None, now: datetime
) -> None:  # fmt: skip
    """Keep what a tablet says of its outbox."""
    with write(db):
        db.conn.execute(
            "INSERT INTO tablet_outbox (tablet_id, heard_at, waiting, stuck, oldest_at) VALUES (?, ?, ?, ?, ?)"
            " ON CONFLICT (tablet_id) DO UPDATE SET heard_at = excluded.heard_at, waiting = excluded.waiting,"
            " stuck = excluded.stuck, oldest_at = excluded.oldest_at",
            (tablet_id, to_text(now), waiting, stuck, oldest_at),
        )


def outboxes(db: Database) -> list[Outbox]:
    """Every enrolled tablet's, those with most waiting first."""
    rows = db.query(
        "SELECT t.id AS tablet_id, t.name AS tablet_name, o.heard_at, o.waiting, o.stuck, o.oldest_at FROM tablet t"
        " LEFT JOIN tablet_outbox o ON o.tablet_id = t.id WHERE t.revoked_at IS NULL"
        " ORDER BY coalesce(o.waiting, 0) DESC, t.name"
    )
    return [Outbox(**row) for row in rows]
