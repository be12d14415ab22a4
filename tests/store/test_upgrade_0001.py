"""A bench of the first release, brought up to date with everything that is on it.

bench_0001.sql is such a bench: the morning of worked.py, written by the code of the first migration and dumped as
SQL. It is never written anew: newer code would write another file.
"""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.store import plain
from webapp.store import batches, claims, connect, decisions, ledger, migrations, results, routine, samples, spreads
from webapp.store.who import Sent, Who

DUMP = Path(__file__).with_name("bench_0001.sql")
FACTS = ("batch", "sample", "decision")
NEW = ("sent_by", "claim_id", "tablet_clock", "tablet_seq")


@pytest.fixture
def old_path(tmp_path):
    """The first release's file, closed."""
    path = tmp_path / "bench.db"
    db = connect.connect(path, create=True)
    # The tables stand there by name, not parents first.
    db.conn.execute("PRAGMA foreign_keys=OFF")
    db.conn.executescript(DUMP.read_text(encoding="utf-8"))
    db.close()
    return path


@pytest.fixture
def upgraded(old_path):
    """The same after `flask migrate`."""
    migrations.migrate(old_path)
    db = connect.connect(old_path)
    yield db
    db.close()


def test_it_brings_the_first_release_up_to_date_and_keeps_a_copy(old_path):
    assert migrations.migrate(old_path)[0] == "0002_records"
    assert migrations.migrate(old_path) == []
    copy = old_path.with_name("bench.db.before-0002_records")
    assert plain.force(copy, "SELECT name FROM _sqlite_migrations") == [["0001_bench"]]


def test_it_leaves_every_row_and_every_ledger_line_as_they_were(old_path):
    tables = [row[0] for row in plain.force(old_path, "SELECT name FROM sqlite_master WHERE type = 'table'")]
    tables.remove("_sqlite_migrations")
    names = {t: [row[1] for row in plain.force(old_path, f"PRAGMA table_info({t})")] for t in tables}
    rows = {t: plain.force(old_path, f"SELECT {', '.join(names[t])} FROM {t} ORDER BY rowid") for t in tables}
    assert all(rows[t] for t in (*FACTS, "reading", "correction", "ledger", "part_result"))
    migrations.migrate(old_path)
    for table in tables:
        assert plain.force(old_path, f"SELECT {', '.join(names[table])} FROM {table} ORDER BY rowid") == rows[table]
    for table in FACTS:
        assert plain.force(old_path, f"SELECT DISTINCT {', '.join(NEW)} FROM {table}") == [[None] * len(NEW)]


def test_it_finds_the_old_hashes_true(old_path):
    before = plain.force(old_path, "SELECT seq, hash FROM ledger ORDER BY seq DESC LIMIT 1")[0]
    migrations.migrate(old_path)
    db = connect.connect(old_path)
    assert list(ledger.head(db)) == before
    assert list(ledger.faults(db)) == []
    assert results.rebuild(db) == []
    db.close()


def test_it_still_names_what_is_changed_in_an_old_record_and_in_a_new_column(upgraded):
    for change in ("roasted_g = roasted_g - 1", "tablet_clock = 'x'", "sent_by = person_id"):
        upgraded.conn.execute("BEGIN IMMEDIATE")
        upgraded.conn.execute("DROP TRIGGER batch_no_update")
        upgraded.conn.execute(f"UPDATE batch SET {change} WHERE code = '0514-01'")
        assert any("was changed after ledger line" in fault for fault in ledger.faults(upgraded)), change
        upgraded.conn.execute("ROLLBACK")
    assert list(ledger.faults(upgraded)) == []


def test_it_reads_the_old_records_and_takes_new_ones(upgraded):
    db, now = upgraded, datetime(2026, 5, 15, 9, 0, tzinfo=UTC)
    [old] = batches.find_by_code(db, "0514-01")
    assert [getattr(old, name) for name in NEW] == [None] * 4
    taken = samples.get_samples(db, old.id)
    assert [(s.kind, s.sent_by, len(s.readings)) for s in taken] == [("whole", None, 6), ("ground", None, 3)]
    [decided] = decisions.get_decisions(db, old.id)
    who = Who(old.person_id, "roaster", old.tablet_id)
    claim = claims.add_claim(db, "5d2c1f0e-0000-4000-8000-000000000001", old.received_at, who, Sent(old.person_id), now)
    claims.confirm_claim(db, claim.id, old.tablet_id, now)
    sent = Sent(old.person_id, claim.id, None, 3)
    new_id = "5d2c1f0e-0000-4000-8000-000000000002"
    decisions.add_decision(db, new_id, old.id, "hold", "look again", who, now, sent)
    assert [d.claim_id for d in decisions.get_decisions(db, old.id)] == [None, claim.id]
    assert decided.sent_by is None
    assert list(ledger.faults(db)) == []


def test_it_works_out_the_months_that_the_old_bench_has_not_kept(upgraded):
    [month] = {row["month"] for row in upgraded.query("SELECT month FROM routine_spread")}
    assert month == "2026-05"
    names = ", ".join(f"sum({name})" for name in spreads.SUMS)
    both = [upgraded.conn.execute(f"SELECT {names} FROM {t}").fetchone() for t in ("routine_spread", "method_spread")]
    assert tuple(both[0]) == pytest.approx(tuple(both[1]), abs=1e-9)
    stored = upgraded.conn.execute("SELECT count(DISTINCT sample_id) FROM reading WHERE void_reason = ''").fetchone()[0]
    assert sum(m.spread.samples for m in routine.list_months(upgraded, "2026-01")) == stored > 0
    assert results.rebuild(upgraded) == []
