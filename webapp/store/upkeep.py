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
