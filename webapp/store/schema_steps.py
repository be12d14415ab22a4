"""The schema, in steps. A released migration is never edited, nor its SQL; a change is a new one below it.

No step imports application code: that could change under it, and rewrite the past.
"""

from __future__ import annotations

from sqlite_utils import Database, Migrations

from . import schema_0001, schema_0002, schema_0003, schema_0004, schema_0005, schema_0006, schema_0007
from .errors import WrongSchema

migrations = Migrations("drumside")


def _script(db: Database, sql: str) -> None:
    """Run several statements inside the migration's own transaction (executescript would commit it).

    WrongSchema, and nothing is changed, if a row is then left without the one that it belongs to.
    """
    for statement in sql.split(";\n"):
        if statement.strip():
            db.conn.execute(statement)
    if lost := db.conn.execute("PRAGMA foreign_key_check").fetchall():
        raise WrongSchema(f"rows without what they belong to: {[tuple(row) for row in lost[:5]]}")


@migrations(name="0001_bench")
def _bench(db: Database) -> None:
    _script(db, schema_0001.SQL)


@migrations(name="0002_records")
def _records(db: Database) -> None:
    _script(db, schema_0002.SQL)


@migrations(name="0003_control")
def _control(db: Database) -> None:
    _script(db, schema_0003.SQL)


@migrations(name="0004_hands")
def _hands(db: Database) -> None:
    _script(db, schema_0004.SQL)


@migrations(name="0005_trends")
def _trends(db: Database) -> None:
    _script(db, schema_0005.SQL)


@migrations(name="0006_decisions")
def _decisions(db: Database) -> None:
    _script(db, schema_0006.SQL)


@migrations(name="0007_upkeep")
def _upkeep(db: Database) -> None:
    _script(db, schema_0007.SQL)
