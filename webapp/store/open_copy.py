"""A copy of the bench's file for reading elsewhere: all facts, the views of export_sets, and nothing secret."""

from __future__ import annotations

import os
from pathlib import Path

from sqlite_utils import Database
from sqlite_utils.utils import sqlite3

from .export_sets import SETS

# What lets somebody in, and files that nobody has taken in yet: emptied, and gone from the copy's pages too.
SECRET_TABLES = ("session", "one_time_code", "pin_guard", "import_draft")
SECRET_COLUMNS = {"person": "pin_hash", "tablet": "secret_hash"}


def write_copy(db: Database, path: Path) -> None:
    """Write the copy to `path`, which must not be there. It is as it was at one moment; writers are not kept waiting.

    In the journal mode that needs no second file, so that it can be handed on as it is.
    """
    part = path.with_name(f"{path.name}.part")
    part.unlink(missing_ok=True)
    db.conn.execute("VACUUM INTO ?", (str(part),))
    copy = sqlite3.connect(str(part), isolation_level=None)
    try:
        copy.execute("PRAGMA journal_mode=DELETE")
        for table in SECRET_TABLES:
            copy.execute(f"DELETE FROM {table}")
        for table, column in SECRET_COLUMNS.items():
            copy.execute(f"UPDATE {table} SET {column} = 'left out ' || rowid")
        for one in SETS:
            copy.execute(f"CREATE VIEW {one.name} AS {one.select}")
        # What was deleted lies in free pages until the file is written anew.
        copy.execute("VACUUM")
    finally:
        copy.close()
    os.replace(part, path)
