"""The engine gate: which SQLite may use write-ahead logging, and that every connection gets what the gate says."""

import json

import pytest

from tests.store import standard_engine
from webapp.assemble import log_engine
from webapp.db import get_db
from webapp.store import connect, ledger, migrations, results

# Source: sqlite.org, "Write-Ahead Logging", section "The WAL-reset bug", and the release notes (changes.html):
# 3.7.0 to 3.51.2 can lose committed rows; mended in 3.51.3 and, for older lines, in 3.44.6 and 3.50.7;
# 3.52.0 was withdrawn.
SAFE = ("wal", "FULL")
FALLBACK = ("delete", "EXTRA")
VERSIONS = [
    ((3, 7, 0), FALLBACK),
    ((3, 34, 1), FALLBACK),
    ((3, 40, 1), FALLBACK),
    ((3, 43, 9), FALLBACK),
    ((3, 44, 0), FALLBACK),
    ((3, 44, 5), FALLBACK),
    ((3, 44, 6), SAFE),
    ((3, 44, 7), SAFE),
    ((3, 45, 3), FALLBACK),
    ((3, 46, 1), FALLBACK),
    ((3, 49, 2), FALLBACK),
    ((3, 50, 4), FALLBACK),
    ((3, 50, 6), FALLBACK),
    ((3, 50, 7), SAFE),
    ((3, 50, 8), SAFE),
    ((3, 51, 0), FALLBACK),
    ((3, 51, 2), FALLBACK),
    ((3, 51, 3), SAFE),
    ((3, 51, 4), SAFE),
    ((3, 52, 0), FALLBACK),
    ((3, 52, 1), SAFE),
    ((3, 53, 0), SAFE),
    ((3, 53, 4), SAFE),
    ((4, 0, 0), SAFE),
]


@pytest.mark.parametrize(("version", "modes"), VERSIONS, ids=lambda v: ".".join(map(str, v)))
def test_it_uses_write_ahead_logging_only_on_an_engine_that_loses_nothing(version, modes):
    assert connect.journal_for(version) == modes


def pragmas(db):
    """What this connection is set to."""
    names = ("journal_mode", "synchronous", "foreign_keys", "trusted_schema", "recursive_triggers", "busy_timeout")
    return {name: db.conn.execute(f"PRAGMA {name}").fetchone()[0] for name in names}


# sqlite.org/pragma.html: synchronous reads back as 0 OFF, 1 NORMAL, 2 FULL, 3 EXTRA.
LEVEL = {"FULL": 2, "EXTRA": 3}


def expected():
    """What every connection must be set to, with the engine that runs this test."""
    journal, synchronous = connect.journal_for(connect.engine_version())
    return {
        "journal_mode": journal,
        "synchronous": LEVEL[synchronous],
        "foreign_keys": 1,
        "trusted_schema": 0,
        "recursive_triggers": 1,
        "busy_timeout": connect.BUSY_MS,
    }


def test_it_sets_the_pragmas_on_every_connection(path):
    opened = [connect.connect(path) for _ in range(3)]
    assert [pragmas(db) for db in opened] == [expected()] * 3
    for db in opened:
        db.close()


def test_it_sets_the_pragmas_on_the_connections_of_requests(app, path):
    for _ in range(2):
        with app.test_request_context("/"):
            assert pragmas(get_db()) == expected()


def test_it_waits_at_least_five_seconds_for_a_lock():
    # SQLite's own default is not to wait at all; 5 to 10 s is common practice, no source.
    assert 5_000 <= connect.BUSY_MS <= 10_000


def test_it_refuses_a_missing_file_rather_than_making_a_second_bench(tmp_path):
    with pytest.raises(FileNotFoundError):
        connect.connect(tmp_path / "typo.db")
    assert list(tmp_path.iterdir()) == []


BENCH = """
from datetime import UTC, datetime
from pathlib import Path
import json, sqlite3
from sqlite_utils.utils import sqlite3 as used
from tests.support import roastery
from webapp.store import connect, ledger, migrations, results, times

path = Path(sys.argv[1])
applied = migrations.migrate(path)
again = migrations.migrate(path)
db = connect.connect(path)
migrations.require_current(db)
bench = roastery.make(db)
bench.now = datetime(2026, 5, 14, 9, 0, tzinfo=UTC)
batch = bench.batch("0514-01")
bench.sample(batch.id, "whole", [56.2, 56.3, 56.1])
bench.sample(batch.id, "ground", [61.0, 61.2, 61.1])
asked = {n: db.conn.execute(f"PRAGMA {n}").fetchone()[0] for n in ("journal_mode", "synchronous")}
print(json.dumps({
    "same engine": used is sqlite3,
    "version": connect.engine_version(),
    "applied": applied, "again": again, "pragmas": asked,
    "faults": list(ledger.faults(db)), "rebuilt": results.rebuild(db),
    "verdict": results.get_batch_result(db, batch.id).verdict,
}))
"""


def test_it_works_with_the_standard_librarys_engine_in_the_mode_which_that_needs(tmp_path):
    """Migrate, store, judge and check without pysqlite3: as on a board for which there is no wheel of it.

    The file is then read here, with whichever engine runs the tests: the same rows, nothing to mend.
    """
    file = tmp_path / "bench.db"
    said = json.loads(standard_engine.run(BENCH, file))
    journal, synchronous = connect.journal_for(tuple(said["version"]))
    assert said["same engine"] is True
    assert said["pragmas"] == {"journal_mode": journal, "synchronous": LEVEL[synchronous]}
    assert said["applied"] == [m.name for m in migrations.migrations._migrations]
    assert said["again"] == []
    assert said["faults"] == []
    assert said["rebuilt"] == []
    assert said["verdict"] == "inside"
    db = connect.connect(file)
    assert db.conn.execute("PRAGMA journal_mode").fetchone()[0] == connect.journal_for(connect.engine_version())[0]
    assert list(ledger.faults(db)) == []
    assert results.rebuild(db) == []
    db.close()


@pytest.mark.parametrize("version", [(3, 40, 1), (3, 52, 0)])
def test_it_takes_a_file_out_of_write_ahead_logging_when_the_engine_is_not_safe_with_it(path, monkeypatch, version):
    """The same file, moved to a machine with an older engine (here: the gate is told so)."""
    monkeypatch.setattr(connect, "engine_version", lambda: version)
    db = connect.connect(path)
    assert db.conn.execute("PRAGMA journal_mode").fetchone()[0] == "delete"
    assert db.conn.execute("PRAGMA synchronous").fetchone()[0] == 3
    db.close()


OPEN_AT_ONCE = """
import time
from webapp.store import connect, migrations
time.sleep(-time.time() % 2)
db = connect.connect(sys.argv[1])
migrations.require_current(db)
print(connect.engine_version(), db.conn.execute("PRAGMA journal_mode").fetchone()[0])
db.close()
"""


def test_it_changes_the_journal_mode_while_four_workers_open_the_file_at_once(tmp_path):
    """An update brought another engine, and gunicorn's workers all start in the same moment."""
    file = tmp_path / "bench.db"
    standard_engine.run("from webapp.store import migrations; migrations.migrate(sys.argv[1])", file)
    mode = standard_engine.run(OPEN_AT_ONCE, file).split()[-1]
    other = {"delete": "wal", "wal": "delete"}[mode]
    standard_engine.run(f"import sqlite3; sqlite3.connect(sys.argv[1]).execute('PRAGMA journal_mode={other}')", file)
    workers = [standard_engine.start(OPEN_AT_ONCE, file) for _ in range(4)]
    assert [said.split()[-1] for said in standard_engine.outputs(*workers)] == [mode] * 4


def test_it_says_in_the_log_which_engine_and_mode_are_in_use(app, caplog):
    with caplog.at_level("INFO", logger="drumside"):
        log_engine()
    version = ".".join(map(str, connect.engine_version()))
    journal, synchronous = connect.journal_for(connect.engine_version())
    assert caplog.messages == [f"SQLite {version}, journal {journal}, synchronous {synchronous}"]


def test_it_reads_the_engines_version_as_numbers():
    assert len(connect.engine_version()) == 3
    assert all(isinstance(part, int) for part in connect.engine_version())
