"""Whether the file still has the tables that its migrations made: a rewritten table may have lost its checks."""

from __future__ import annotations

from sqlite_utils import Database

from .schema_steps import migrations


def schema_faults(db: Database) -> list[str]:
    """Names of our tables and indexes that are missing, or whose text differs from what the migrations give.

    Tables of other software in the same file are none of our business.
    """
    made = Database(memory=True)
    try:
        migrations.apply(made)
        wanted = _texts(made)
    finally:
        made.close()
    there = _texts(db)
    return [name for name, sql in sorted(wanted.items()) if there.get(name) != sql]


def _texts(db: Database) -> dict[str, str]:
    """Name -> SQL of tables and indexes; not of the library's own list of migrations."""
    return {
        row["name"]: row["sql"]
        for row in db.query(
            "SELECT name, sql FROM sqlite_master WHERE type IN ('table', 'index') AND sql IS NOT NULL"
            " AND tbl_name <> ?",
            (migrations.migrations_table,),
        )
    }
