"""Bringing a bench's file to the newest schema (schema_steps.py), and refusing one that is not at it."""

from __future__ import annotations

import fcntl
import os
from pathlib import Path

from sqlite_utils import Database

from . import connect as connecting
from . import countersigns, routine, trend_states, waiting
from .errors import WrongSchema
from .schema_steps import migrations
from .triggers import create_triggers, trigger_faults


def migrate(path: str | Path) -> list[str]:
    """Bring the file at `path` to the newest schema, creating it if need be; returns the names applied.

    Runs before the workers start, under a file lock (two starters at once do no harm). An existing file is
    copied beside itself first (`VACUUM INTO`), so that a failed upgrade can be undone by hand. Sums and
    marks that an older bench has not kept are worked out after the migrations, which know no application code.
    """
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    with open(path.with_name(path.name + ".migrating"), "w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        existed = path.exists() and path.stat().st_size > 0
        db = connecting.connect(path, create=True)
        try:
            refuse_newer(db)
            pending = [m.name for m in migrations.pending(db)]
            if pending and existed:
                keep_copy(db, path.with_name(f"{path.name}.before-{pending[0]}"))
            if pending:
                apply_pending(db)
            with connecting.write(db):
                create_triggers(db)
            # Sums and marks that an older bench has not kept. The migrations themselves know no application code.
            routine.fill_if_empty(db)
            countersigns.mark_older(db)
            trend_states.fill_if_empty(db)
            waiting.fill_if_empty(db)
            return pending
        finally:
            db.close()


def apply_pending(db: Database) -> None:
    """Apply what is pending, with foreign keys off: a table that is made anew is dropped under those that refer to it.

    SQLite's own procedure (https://www.sqlite.org/lang_altertable.html#otheralter); `_script` looks for orphans.
    """
    db.conn.execute("PRAGMA foreign_keys=OFF")
    try:
        migrations.apply(db)
    finally:
        db.conn.execute("PRAGMA foreign_keys=ON")


def keep_copy(db: Database, copy: Path) -> None:
    """Write the whole database to `copy`, in place of an older one; a copy cut off half way never has its name."""
    part = copy.with_name(f"{copy.name}.part")
    part.unlink(missing_ok=True)
    db.conn.execute("VACUUM INTO ?", (str(part),))
    os.replace(part, copy)


def known_names() -> set[str]:
    """Every migration that this version of the software has."""
    empty = Database(memory=True)
    try:
        return {m.name for m in migrations.pending(empty)}
    finally:
        empty.close()


def refuse_newer(db: Database) -> None:
    """WrongSchema if the file has migrations that this version of the software does not know."""
    if newer := sorted({m.name for m in migrations.applied(db)} - known_names()):
        raise WrongSchema(f"this database is from a newer version (it has {', '.join(newer)})")


def require_current(db: Database) -> None:
    """WrongSchema unless every migration has been applied: workers check, they never migrate."""
    refuse_newer(db)
    if pending := [m.name for m in migrations.pending(db)]:
        raise WrongSchema(f"run `flask migrate` first (pending: {', '.join(pending)})")


def require_triggers(db: Database) -> None:
    """WrongSchema unless every trigger is there: without them, facts could be changed without a word."""
    if faults := trigger_faults(db):
        raise WrongSchema(f"run `flask check`, then `flask migrate` (triggers missing or changed: {', '.join(faults)})")
