"""`flask backup`, `flask try-restore`, `flask restore`: what an operator sees, and what is kept of it."""

import sqlite3
from datetime import UTC, datetime

import pytest

from webapp.store import backups, connect, serving, upkeep


def run(app, *words: str):
    """A command, as typed."""
    return app.test_cli_runner().invoke(args=list(words))


def chore(path, what):
    """What is kept of a chore."""
    db = connect.connect(path)
    try:
        return upkeep.chores(db).get(what)
    finally:
        db.close()


@pytest.fixture
def worked(bench):
    """A bench with something on it."""
    batch = bench.batch("A-1")
    bench.sample(batch.id, "whole", [56.2, 56.3, 56.1])
    return bench


def test_it_makes_a_copy_and_says_where_it_lies(app, path, worked):
    done = run(app, "backup")
    assert done.exit_code == 0, done.output
    (_at, copy) = backups.list_copies(path.parent / "backups")[0]
    assert str(copy) in done.output
    assert "newest hash" in done.output
    assert chore(path, "backup").well


def test_it_hands_the_copy_to_the_program_that_brings_it_away(app, path, worked, tmp_path):
    away, program = tmp_path / "away", tmp_path / "bring.sh"
    away.mkdir()
    program.write_text(f'#!/bin/sh\ncp "$1" {away}/\n')
    program.chmod(0o755)
    app.config["AFTER_BACKUP"] = str(program)
    try:
        assert run(app, "backup").exit_code == 0
    finally:
        app.config["AFTER_BACKUP"] = ""
    (brought,) = away.iterdir()
    assert backups.look_through(brought).lines > 0


@pytest.mark.parametrize("script", ["#!/bin/sh\necho no route >&2\nexit 7\n", None])
def test_it_fails_and_keeps_why_when_the_copy_was_not_brought_away(app, path, worked, tmp_path, script):
    program = tmp_path / "bring.sh"
    if script:
        program.write_text(script)
        program.chmod(0o755)
    app.config["AFTER_BACKUP"] = str(program)
    try:
        done = run(app, "backup")
    finally:
        app.config["AFTER_BACKUP"] = ""
    assert done.exit_code == 1
    assert ("no route" if script else "did not run") in done.output
    kept = chore(path, "backup")
    assert not kept.well
    assert ("no route" if script else "did not run") in kept.said
    assert len(backups.list_copies(path.parent / "backups")) == 1  # the copy itself is there


def test_it_says_that_the_bench_is_damaged_and_makes_no_copy(app, path, worked):
    worked.db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    worked.db.close()
    with open(path, "r+b") as file:
        file.seek(path.stat().st_size // 4096 // 2 * 4096)
        file.write(b"\xff" * 4096 * 8)
    done = run(app, "backup")
    assert done.exit_code == 1
    assert backups.list_copies(path.parent / "backups") == []


def test_it_tries_the_newest_copy(app, path, worked):
    run(app, "backup")
    done = run(app, "try-restore")
    assert done.exit_code == 0, done.output
    assert "every record and every result as it was written" in done.output
    assert chore(path, "trial").well


def test_it_finds_a_record_that_was_changed_in_the_copy(app, path, worked):
    """Whole for SQLite and for the chain: only the record's own hash tells."""
    run(app, "backup")
    (_at, copy) = backups.list_copies(path.parent / "backups")[0]
    plain = sqlite3.connect(copy)
    (sql,) = plain.execute("SELECT sql FROM sqlite_master WHERE name = 'reading_no_update'").fetchone()
    plain.execute("DROP TRIGGER reading_no_update")
    plain.execute("UPDATE reading SET value = value + 100")
    plain.execute(sql)
    plain.commit()
    plain.close()
    done = run(app, "try-restore")
    assert done.exit_code == 1
    assert "was changed after ledger line" in done.output
    assert not chore(path, "trial").well


def test_it_restores_and_refuses_under_a_server(app, path, worked):
    run(app, "backup")
    (_at, copy) = backups.list_copies(path.parent / "backups")[0]
    with serving.alone(path):
        done = run(app, "restore", str(copy))
    assert done.exit_code == 1
    assert "stop it first" in done.output
    worked.batch("A-2")
    done = run(app, "restore", str(copy))
    assert done.exit_code == 0, done.output
    db = connect.connect(path)
    assert [row["code"] for row in db.query("SELECT code FROM batch")] == ["A-1"]
    db.close()


def test_it_says_what_to_do_without_a_database_or_a_copy(app, path, worked):
    assert "run `flask backup` first" in run(app, "try-restore").output
    assert "there is no such file" in run(app, "restore", "nowhere.sqlite").output
    path.rename(path.with_name("gone.db"))
    for command in ("backup", "status"):
        done = run(app, command)
        assert done.exit_code == 1
        assert "there is no database" in done.output


def test_check_keeps_when_the_ledger_was_looked_through(app, path, worked):
    before = datetime.now(UTC)
    assert run(app, "check").exit_code == 0
    kept = chore(path, "check")
    assert kept.well
    assert kept.lines > 0
    assert kept.at[:16] >= before.isoformat()[:16]
