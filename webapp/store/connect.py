"""Opening the database: the engine gate, the pragmas of every connection, and the one way to write."""

from __future__ import annotations

import random
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from sqlite_utils import Database
from sqlite_utils.utils import sqlite3

BUSY_MS = 8000
# Storing one sample and showing what follows takes some two hundred different statements, time and again the same: a
# connection that remembers fewer translates nearly all of them anew.
STATEMENTS = 400


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


class Bench(Database):
    """sqlite-utils' Database, without the savepoint that its `query` puts around every read.

    Half of a request's statements would be savepoints.
    """

    def query(self, sql: str, params: Sequence | dict | None = None) -> Iterator[dict]:
        """The rows as dicts, read one after the other as they are asked for."""
        cursor = self.conn.execute(sql, params or ())
        names = [column[0] for column in cursor.description]
        return (dict(zip(names, row, strict=True)) for row in cursor)


def connect(path: str | Path, *, create: bool = False) -> Database:
    """Open the database with the pragmas that every connection needs.

    Raises FileNotFoundError if there is no file and `create` is false, so that a wrong path never becomes
    a second, empty bench.
    """
    if not create and not Path(path).exists():
        raise FileNotFoundError(path)
    journal, synchronous = journal_for(engine_version())
    connection = _opened_in(journal, path)
    db = Bench(connection, use_counts_table=False, execute_plugins=False)
    connection.execute(f"PRAGMA synchronous={synchronous}")
    connection.execute("PRAGMA foreign_keys=ON")
    connection.execute("PRAGMA trusted_schema=OFF")
    connection.execute("PRAGMA recursive_triggers=ON")
    return db


def _opened_in(journal: str, path: str | Path) -> sqlite3.Connection:
    """A connection, and the file in this journal mode.

    The mode is a property of the file: only the first connection after a change of engine switches it, and needs
    the file to itself for that. Workers that start together would wait for each other in vain, each holding it
    open: so whoever cannot switch closes it, and tries again at another moment.
    """
    end = time.monotonic() + BUSY_MS / 1000
    while True:
        connection = sqlite3.connect(
            str(path), timeout=BUSY_MS / 1000, isolation_level=None, check_same_thread=False,
            cached_statements=STATEMENTS,
        )  # fmt: skip
        try:
            if connection.execute("PRAGMA journal_mode").fetchone()[0] == journal:
                return connection
            connection.execute("PRAGMA busy_timeout=0")
            mode = connection.execute(f"PRAGMA journal_mode={journal}").fetchone()[0]
            if mode != journal:
                raise sqlite3.OperationalError(f"the journal mode is locked: {mode} instead of {journal}")
            connection.execute(f"PRAGMA busy_timeout={BUSY_MS}")
            return connection
        except sqlite3.OperationalError as problem:
            connection.close()
            if "locked" not in str(problem) or time.monotonic() > end:
                raise
            time.sleep(random.uniform(0.01, 0.1))


@contextmanager
def write(db: Database) -> Iterator[Database]:
    """One write: BEGIN IMMEDIATE, so that what is read inside is still true when it is written.

    Nested use joins the outer transaction. Anything raised inside rolls everything back.
    """
    if db.conn.in_transaction:
        yield db
        return
    _begin(db.conn)
    try:
        yield db
        db.conn.execute("COMMIT")
    except BaseException:
        if db.conn.in_transaction:
            db.conn.execute("ROLLBACK")
        raise


@contextmanager
def read_only(db: Database) -> Iterator[Database]:
    """Within it nothing is written through this connection: SQLite itself refuses (sqlite3.OperationalError).

    For what must never leave a trace, whatever the code below it does. Not for use inside `write`.
    """
    db.conn.execute("PRAGMA query_only=ON")
    try:
        yield db
    finally:
        db.conn.execute("PRAGMA query_only=OFF")


def _begin(connection: sqlite3.Connection) -> None:
    """BEGIN IMMEDIATE, waiting up to BUSY_MS for the lock.

    SQLite's own wait looks again only every tenth of a second: on a slow disk, where the others follow each other
    closely, it could miss every gap between them until its time is over.
    """
    end = time.monotonic() + BUSY_MS / 1000
    connection.execute("PRAGMA busy_timeout=0")
    try:
        while True:
            try:
                connection.execute("BEGIN IMMEDIATE")
                return
            except sqlite3.OperationalError as problem:
                if "locked" not in str(problem) or time.monotonic() > end:
                    raise
                time.sleep(random.uniform(0.0005, 0.003))
    finally:
        connection.execute(f"PRAGMA busy_timeout={BUSY_MS}")


def one(db: Database, sql: str, parameters: object = ()) -> dict | None:
    """First row as a dict, or None."""
    cursor = db.conn.execute(sql, parameters)
    row = cursor.fetchone()
    return None if row is None else {column[0]: value for column, value in zip(cursor.description, row, strict=True)}
