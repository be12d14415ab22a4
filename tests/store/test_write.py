"""One write: all or nothing, locked from its first word, whatever happens inside."""

import threading
import time

import pytest
from sqlite_utils.utils import sqlite3

from webapp.store import connect


@pytest.fixture
def two(path, monkeypatch):
    """Two connections to one file; neither waits long for the other."""
    first, second = connect.connect(path), connect.connect(path)
    monkeypatch.setattr(connect, "BUSY_MS", 30)
    yield first, second
    first.close()
    second.close()


def names(db):
    """The machines."""
    return sorted(row["name"] for row in db.query("SELECT name FROM machine"))


def add(db, name):
    """One more machine."""
    db.conn.execute("INSERT INTO machine (id, name, created_at) VALUES (?, ?, 'x')", (name, name))


def test_it_keeps_what_was_written(two):
    first, second = two
    with connect.write(first) as db:
        add(db, "New")
    assert names(second) == ["Machine 1", "New"]


def test_it_takes_the_lock_before_anything_is_read(two):
    """A deferred BEGIN would read first and then be refused the lock at once, however long it may wait."""
    first, second = two
    with connect.write(first):
        assert first.conn.in_transaction
        with pytest.raises(sqlite3.OperationalError, match="locked"), connect.write(second):
            raise AssertionError("the second came in")
    with connect.write(second):
        add(second, "New")


def test_it_waits_for_the_lock_as_long_as_it_was_told_to(two, monkeypatch):
    first, second = two
    monkeypatch.setattr(connect, "BUSY_MS", 300)
    began = time.monotonic()
    with connect.write(first), pytest.raises(sqlite3.OperationalError, match="locked"), connect.write(second):
        raise AssertionError("the second came in")
    assert 0.3 <= time.monotonic() - began < 8
    # Whatever else the connection waits for, it waits for as before.
    assert second.conn.execute("PRAGMA busy_timeout").fetchone()[0] == 300


def test_it_comes_in_as_soon_as_the_other_is_done(two, monkeypatch):
    first, second = two
    monkeypatch.setattr(connect, "BUSY_MS", 8000)
    first.conn.execute("BEGIN IMMEDIATE")
    timer = threading.Timer(0.2, lambda: first.conn.execute("COMMIT"))
    timer.start()
    with connect.write(second):
        add(second, "After")
    timer.join()
    assert names(first) == ["After", "Machine 1"]


def test_it_lets_others_read_meanwhile_what_was_there_before(two):
    first, second = two
    with connect.write(first):
        add(first, "New")
        assert names(second) == ["Machine 1"]
        assert names(first) == ["Machine 1", "New"]


def add_and_raise(db, error):
    """A write that breaks off after its first row."""
    with connect.write(db):
        add(db, "New")
        raise error


@pytest.mark.parametrize("error", [ValueError, KeyboardInterrupt, SystemExit, GeneratorExit, MemoryError])
def test_it_takes_everything_back_when_anything_is_raised(two, error):
    first, second = two
    with pytest.raises(error):
        add_and_raise(first, error)
    assert not first.conn.in_transaction
    assert names(second) == ["Machine 1"]
    with connect.write(second):
        add(second, "After")


def test_it_takes_a_nested_write_into_the_outer_one(two):
    first, second = two
    with connect.write(first):
        with connect.write(first):
            add(first, "Inner")
        assert first.conn.in_transaction
        assert names(second) == ["Machine 1"]
    assert not first.conn.in_transaction
    assert names(second) == ["Inner", "Machine 1"]


def test_it_takes_the_nested_write_back_with_the_outer_one(two):
    first, second = two

    def write_and_fail():
        with connect.write(first):
            with connect.write(first):
                add(first, "Inner")
            raise ValueError

    with pytest.raises(ValueError):
        write_and_fail()
    assert names(second) == ["Machine 1"]


def test_it_takes_the_outer_write_back_with_the_nested_one(two):
    first, second = two

    def write_and_fail():
        with connect.write(first):
            add(first, "Outer")
            add_and_raise(first, ValueError)

    with pytest.raises(ValueError):
        write_and_fail()
    assert not first.conn.in_transaction
    assert names(second) == ["Machine 1"]


def test_it_leaves_no_transaction_open_when_the_commit_is_refused(two):
    """Here by a row whose parent never came; a full disk or a reader in the way look the same."""
    first, second = two

    def write_an_orphan():
        with connect.write(first):
            first.conn.execute("PRAGMA defer_foreign_keys = ON")
            first.conn.execute("INSERT INTO meter (id, name, scale_id, created_at) VALUES ('m', 'M', 'nowhere', 'x')")

    with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
        write_an_orphan()
    assert not first.conn.in_transaction
    with connect.write(second):
        add(second, "After")
    assert names(first) == ["After", "Machine 1"]


def test_it_reports_the_cause_when_sqlite_ended_the_transaction_itself(two):
    first, _second = two
    first.conn.execute(
        "CREATE TEMP TRIGGER stop BEFORE INSERT ON machine BEGIN SELECT RAISE(ROLLBACK, 'no more machines'); END"
    )
    with pytest.raises(sqlite3.IntegrityError, match="no more machines"), connect.write(first):
        add(first, "New")
    assert not first.conn.in_transaction


def test_it_gives_the_first_row_or_none(db):
    assert connect.one(db, "SELECT name FROM machine WHERE name = ?", ("Machine 1",)) == {"name": "Machine 1"}
    assert connect.one(db, "SELECT name FROM machine WHERE name = ?", ("nothing",)) is None
