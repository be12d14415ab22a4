"""Opening the database: the engine gate, the pragmas of every connection, and the one way to write."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlite_utils import Database
from sqlite_utils.utils import sqlite3

BUSY_MS = 8000


def engine_is_sound(version: tuple[int, int, int]) -> bool:
    """Whether this SQLite may use WAL with several connections.

    Versions before 3.51.3 (except 3.44.6+ in 3.44 and 3.50.7+ in 3.50) and the withdrawn 3.52.0 can lose
    committed rows in WAL mode. Source: sqlite.org, release notes of 3.51.3 and 3.53.0, "WAL-reset" fault.
    """
    if version[:2] == (3, 44):
        return version >= (3, 44, 6)
    if version[:2] == (3, 50):
        return version >= (3, 50, 7)
    return version >= (3, 51, 3) and version != (3, 52, 0)


def engine_version() -> tuple[int, int, int]:
    """The linked SQLite's version, e.g. (3, 53, 4)."""
    major, minor, patch = sqlite3.sqlite_version.split(".")[:3]
    return int(major), int(minor), int(patch)


def journal_for(version: tuple[int, int, int]) -> tuple[str, str]:
    """(journal_mode, synchronous) that loses nothing on this engine: WAL/FULL, or DELETE/EXTRA."""
    return ("wal", "FULL") if engine_is_sound(version) else ("delete", "EXTRA")


def connect(path: str | Path, *, create: bool = False) -> Database:
    """Open the database with the pragmas that every connection needs.

    Raises FileNotFoundError if there is no file and `create` is false, so that a wrong path never becomes
    a second, empty bench.
    """
    if not create and not Path(path).exists():
        raise FileNotFoundError(path)
    connection = sqlite3.connect(str(path), timeout=BUSY_MS / 1000, isolation_level=None, check_same_thread=False)
    db = Database(connection, use_counts_table=False, execute_plugins=False)
    journal, synchronous = journal_for(engine_version())
    # journal_mode is a property of the file: asking first saves a lock on every later connection.
    if connection.execute("PRAGMA journal_mode").fetchone()[0] != journal:
        connection.execute(f"PRAGMA journal_mode={journal}")
    connection.execute(f"PRAGMA synchronous={synchronous}")
    connection.execute("PRAGMA foreign_keys=ON")
    connection.execute("PRAGMA trusted_schema=OFF")
    connection.execute("PRAGMA recursive_triggers=ON")
    return db


@contextmanager
def write(db: Database) -> Iterator[Database]:
    """One write: BEGIN IMMEDIATE, so that what is read inside is still true when it is written.

    Nested use joins the outer transaction. Anything raised inside rolls everything back.
    """
    if db.conn.in_transaction:
        yield db
        return
    db.conn.execute("BEGIN IMMEDIATE")
    try:
        yield db
        db.conn.execute("COMMIT")
    except BaseException:
        if db.conn.in_transaction:
            db.conn.execute("ROLLBACK")
        raise


def one(db: Database, sql: str, parameters: object = ()) -> dict | None:
    """First row as a dict, or None."""
    return next(iter(db.query(sql, parameters)), None)
