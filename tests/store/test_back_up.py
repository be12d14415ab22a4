"""Copies of a bench in use: whole, readable by any SQLite, thinned out by age; nothing that was stored is missing."""

from __future__ import annotations

import multiprocessing
import os
import shutil
import sqlite3
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from webapp.store import backups, connect, ledger, serving

OLDEST = Path(__file__).with_name("bench_0001.sql")
NOW = datetime(2026, 5, 14, 22, 0, tzinfo=UTC)


def head(path):
    """(lines, newest hash) of a file's ledger."""
    db = connect.connect(path)
    try:
        return ledger.head(db)
    finally:
        db.close()


def test_it_copies_a_bench_and_finds_the_copy_whole(worked_path, tmp_path):
    copy = backups.make(worked_path, tmp_path / "copies", NOW)
    assert copy.path.name == "bench-20260514T220000Z.sqlite"
    assert (copy.lines, copy.newest) == head(worked_path)
    assert os.listdir(tmp_path / "copies") == [copy.path.name]
    assert copy.path.stat().st_mode & 0o077 == 0


def test_the_copy_is_one_file_that_the_standard_library_reads(worked_path, tmp_path):
    copy = backups.make(worked_path, tmp_path / "copies", NOW)
    plain = sqlite3.connect(f"file:{copy.path}?mode=ro", uri=True)
    try:
        assert plain.execute("PRAGMA journal_mode").fetchone() == ("delete",)
        assert plain.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert plain.execute("SELECT count(*) FROM ledger").fetchone() == (copy.lines,)
    finally:
        plain.close()


@pytest.mark.parametrize("where", [0.3, 0.6, 0.9])
def test_it_says_that_a_damaged_copy_is_not_whole(worked_path, tmp_path, where):
    copy = backups.make(worked_path, tmp_path / "copies", NOW).path
    size = copy.stat().st_size
    with open(copy, "r+b") as file:
        file.seek(int(size * where) // 4096 * 4096)
        file.write(b"\xa5" * 4096)
    with pytest.raises(backups.BadCopy):
        backups.look_through(copy)


def test_it_says_that_a_cut_off_copy_is_not_whole(worked_path, tmp_path):
    copy = backups.make(worked_path, tmp_path / "copies", NOW).path
    os.truncate(copy, copy.stat().st_size // 2)
    with pytest.raises(backups.BadCopy):
        backups.look_through(copy)


def test_it_takes_no_other_file_for_a_copy(tmp_path):
    other = tmp_path / "other.sqlite"
    db = sqlite3.connect(other)
    db.execute("CREATE TABLE coffee (name TEXT)")
    db.commit()
    db.close()
    with pytest.raises(backups.BadCopy, match="no bench"):
        backups.look_through(other)
    with pytest.raises(backups.BadCopy, match="no such file"):
        backups.look_through(tmp_path / "none.sqlite")
    (tmp_path / "text.sqlite").write_text("Half a sentence")
    with pytest.raises(backups.BadCopy):
        backups.look_through(tmp_path / "text.sqlite")


def test_it_finds_a_ledger_that_was_shortened_in_the_middle(worked_path, tmp_path):
    copy = backups.make(worked_path, tmp_path / "copies", NOW).path
    plain = sqlite3.connect(copy)
    plain.execute("DROP TRIGGER ledger_no_delete")
    plain.execute("DELETE FROM ledger WHERE seq = 5")
    plain.commit()
    plain.close()
    with pytest.raises(backups.BadCopy, match="line 5 is missing"):
        backups.look_through(copy)


def test_it_keeps_days_weeks_and_months(tmp_path):
    """Four hundred nights; counted by hand: 14 days, the Sundays before, the last nights of months before those."""
    for night in range(400):
        at = NOW - timedelta(days=night)
        (tmp_path / f"bench-{at.strftime(backups.STAMP)}.sqlite").write_bytes(b"")
    (tmp_path / "notes.txt").write_text("mine")
    gone = backups.thin_out(tmp_path, backups.Keep(days=14, weeks=8, months=12))
    kept = [at.date().isoformat() for at, _path in backups.list_copies(tmp_path)]
    assert kept[:14] == [(NOW - timedelta(days=n)).date().isoformat() for n in range(14)]
    # The week of 14 May and the one before lie in the 14 days; six Sundays are left of eight weeks.
    assert kept[14:] == [
        "2026-04-30", "2026-04-26", "2026-04-19", "2026-04-12", "2026-04-05", "2026-03-31", "2026-03-29", "2026-02-28",
        "2026-01-31", "2025-12-31", "2025-11-30", "2025-10-31", "2025-09-30", "2025-08-31", "2025-07-31", "2025-06-30",
    ]  # fmt: skip
    assert len(gone) == 400 - len(kept)
    assert (tmp_path / "notes.txt").exists()


def test_it_never_removes_the_only_copy(tmp_path):
    old = tmp_path / "bench-20200101T000000Z.sqlite"
    old.write_bytes(b"")
    assert backups.thin_out(tmp_path, backups.Keep(0, 0, 0)) == []
    assert old.exists()


def test_it_restores_a_copy_and_keeps_what_was_there(worked_path, tmp_path):
    copy = backups.make(worked_path, tmp_path / "copies", NOW)
    db = connect.connect(worked_path)
    with connect.write(db):
        db.conn.execute("UPDATE site SET name = 'Later'")
        ledger.note(db, "site changed", "site", "1", NOW, None, None)
    db.close()
    later = head(worked_path)
    done = backups.restore(copy.path, worked_path, NOW + timedelta(hours=1))
    assert done.before is not None
    assert head(done.before) == later
    db = connect.connect(worked_path)
    lines = list(db.query("SELECT action FROM ledger ORDER BY seq DESC LIMIT 1"))
    assert [line["action"] for line in lines] == ["restored from a copy"]
    assert ledger.head(db)[0] == copy.lines + 1
    assert list(ledger.faults(db)) == []
    assert list(db.query("SELECT 1 FROM session WHERE ended_at IS NULL")) == []
    db.close()


def test_it_restores_where_nothing_is_left(worked_path, tmp_path):
    copy = backups.make(worked_path, tmp_path / "copies", NOW)
    target = tmp_path / "new" / "bench.db"
    assert backups.restore(copy.path, target, NOW).before is None
    assert head(target)[0] == copy.lines + 1


def test_it_restores_over_a_damaged_file_with_a_journal_beside_it(worked_path, tmp_path):
    """What lies in the damaged file's journal must not be played into the file that comes in its place."""
    copy = backups.make(worked_path, tmp_path / "copies", NOW)
    broken = tmp_path / "broken" / "bench.db"
    broken.parent.mkdir()
    shutil.copy(worked_path, broken)
    with open(broken, "r+b") as file:
        file.write(b"\x00" * 8192)
    (broken.parent / "bench.db-wal").write_bytes(os.urandom(4096 * 3))
    done = backups.restore(copy.path, broken, NOW)
    assert head(broken)[0] == copy.lines + 1
    assert done.before.read_bytes()[:100] == b"\x00" * 100
    assert backups.look_through(broken).lines == copy.lines + 1


def test_it_restores_an_older_bench_and_brings_it_up_to_date(tmp_path):
    """`bench_0001.sql` is a file of the first version, see test_upgrade_0001.py."""
    old = tmp_path / "bench-20260101T000000Z.sqlite"
    db = sqlite3.connect(old)
    db.executescript(OLDEST.read_text())
    db.close()
    done = backups.restore(old, tmp_path / "bench.db", NOW)
    assert done.applied[0] == "0002_records"
    assert backups.look_through(tmp_path / "bench.db").lines == done.copy.lines + 1


def test_it_does_not_restore_under_a_running_server(worked_path, tmp_path):
    copy = backups.make(worked_path, tmp_path / "copies", NOW)
    before = worked_path.read_bytes()
    with serving.alone(worked_path), pytest.raises(serving.InUse):
        backups.restore(copy.path, worked_path, NOW)
    assert worked_path.read_bytes() == before


def test_it_changes_nothing_when_the_copy_is_bad(worked_path, tmp_path):
    bad = tmp_path / "bad.sqlite"
    bad.write_bytes(os.urandom(20_000))
    before = worked_path.read_bytes()
    with pytest.raises(backups.BadCopy):
        backups.restore(bad, worked_path, NOW)
    assert worked_path.read_bytes() == before


def write_for_ever(path, stored, stop):
    """A worker of the bench: one line after the other, and its number when it is on the disk."""
    db = connect.connect(path)
    while not stop.is_set():
        with connect.write(db):
            ledger.note(db, "site changed", "site", "1", datetime.now(UTC), None, None)
            seq = ledger.head(db)[0]
        stored.value = max(stored.value, seq)
    db.close()


def test_it_misses_nothing_that_was_stored_before_while_others_write(worked_path, tmp_path):
    """Five copies under three writers: each has every line that was acknowledged before it began, and is whole."""
    context = multiprocessing.get_context("spawn")
    stored, stop = context.Value("q", 0), context.Event()
    writers = [context.Process(target=write_for_ever, args=(worked_path, stored, stop)) for _no in range(3)]
    for writer in writers:
        writer.start()
    try:
        end = time.monotonic() + 60
        while stored.value == 0 and time.monotonic() < end:
            time.sleep(0.01)
        found = []
        for no in range(5):
            acknowledged = stored.value
            copy = backups.make(worked_path, tmp_path / "copies", NOW + timedelta(minutes=no))
            found.append((acknowledged, copy.lines))
    finally:
        stop.set()
        for writer in writers:
            writer.join(30)
    assert all(0 < before <= lines for before, lines in found)
    assert found[-1][1] > found[0][1]
    target = tmp_path / "put-back.db"
    backups.restore(copy.path, target, NOW)
    db = connect.connect(target)
    assert list(ledger.faults(db)) == []
    db.close()
