"""A bench with decisions, from before they named what they replace: their table is made anew, and nothing is lost."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from tests.store import plain
from webapp.store import connect, decisions, ledger, migrations
from webapp.store.connect import write
from webapp.store.errors import WrongSchema

AT = "2026-05-14T08:00:00.000Z"
NOW = datetime(2026, 5, 14, 8, 0, tzinfo=UTC)
SENT = (None, None, None, None)
# Stored in this order, which is neither that of their ids nor that of their times.
DECISIONS = [
    ("d3", "b1", "hold", "Look again.", "undecided", "p", "t", AT, AT, *SENT),
    ("d1", "b2", "release", "", "inside", "p", "t", "2026-05-14T07:00:00.000Z", AT, "p", None, AT, 7),
    ("d2", "b1", "concession", "The customer asked for it.", "undecided", "p", "t", AT, AT, *SENT),
]
ROWS = {
    "site": [(1, "Test roastery", "Europe/Vienna", 10, 12)],
    "person": [("p", "Ada", "lead", "x", 1, 0, 0, AT)],
    "tablet": [("t", "Bench", "x", AT, None, None)],
    "machine": [("m", "Machine 1", 1, AT)],
    "product": [("c", "Lantern House", "LH", 1, AT)],
    "batch": [
        (f"b{no}", f"0514-0{no}", "c", "m", "", None, None, None, None, None, "", "2026-05-14", AT, "p", "t", AT, AT,
         *SENT) for no in (1, 2)
    ],
    "decision": DECISIONS,
}  # fmt: skip


@pytest.fixture
def old_path(tmp_path):
    """The file as the fifth migration left it, with a ledger line for every record, closed."""
    path = tmp_path / "bench.db"
    db = connect.connect(path, create=True)
    migrations.migrations.apply(db, stop_before="0006_decisions")
    with write(db):
        for table, rows in ROWS.items():
            for row in rows:
                db.conn.execute(f"INSERT INTO {table} VALUES ({', '.join('?' * len(row))})", row)
                ledger.note(db, f"{table} made", table, str(row[0]), NOW, None, None)
    db.close()
    return path


def test_it_keeps_every_decision_in_its_place_with_the_hash_it_had(old_path):
    lines = plain.force(old_path, "SELECT * FROM ledger ORDER BY seq")
    assert migrations.migrate(old_path)[0] == "0006_decisions"
    there = plain.force(old_path, "SELECT rowid, * FROM decision ORDER BY rowid")
    assert [tuple(row[: 1 + len(DECISIONS[0])]) for row in there] == [
        (no, *row) for no, row in enumerate(DECISIONS, 1)
    ]
    assert {tuple(row[1 + len(DECISIONS[0]) :]) for row in there} == {(None, None, None, None)}
    assert plain.force(old_path, "SELECT * FROM ledger ORDER BY seq") == lines
    db = connect.connect(old_path)
    assert list(ledger.faults(db)) == []
    assert [decision.id for decision in decisions.get_decisions(db, "b1")] == ["d3", "d2"]
    db.close()


def test_it_holds_them_fast_again(old_path):
    """The rewrite dropped the triggers of the old table."""
    migrations.migrate(old_path)
    said = plain.run(old_path, ["UPDATE decision SET what = 'reject'"], ["DELETE FROM decision"],
                     ["UPDATE batch SET code = 'x'"], ["UPDATE batch SET blend = 1"])  # fmt: skip
    assert said == [f"IntegrityError: {table} is append-only" for table in ("decision", "decision", "batch", "batch")]


def test_it_names_a_decision_that_was_changed_before_the_upgrade(old_path):
    plain.force(old_path, "UPDATE decision SET reason = 'Never mind.' WHERE id = 'd3'")
    migrations.migrate(old_path)
    db = connect.connect(old_path)
    assert [fault.split(" after ")[0] for fault in ledger.faults(db)] == ["decision d3 was changed"]
    db.close()


def test_it_changes_nothing_where_a_decision_has_lost_its_batch(old_path):
    plain.force(old_path, "DELETE FROM batch WHERE id = 'b2'")
    before = plain.force(old_path, "SELECT name, sql FROM sqlite_master ORDER BY name")
    with pytest.raises(WrongSchema, match="decision"):
        migrations.migrate(old_path)
    assert plain.force(old_path, "SELECT name, sql FROM sqlite_master ORDER BY name") == before
