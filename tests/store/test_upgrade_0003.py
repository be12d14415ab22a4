"""A bench with comparisons, from before two people could be compared: their table is made anew, and nothing is lost."""

from __future__ import annotations

import pytest

from tests.store import plain
from webapp.store import comparisons, connect, migrations
from webapp.store.errors import WrongSchema

AT = "2026-05-14T08:00:00.000Z"
# Oldest first, with what each refers to; a comparison that was read on both sides, and one that was not.
ROWS = {
    "person": [("p", "Ada", "lead", "x", 1, 0, 0, AT)],
    "tablet": [("t", "Bench", "x", AT, None, None)],
    "scale": [("s", "Scale A", 0, 15000, 10, 1, AT)],
    "meter": [("m1", "Meter A", "s", 1, AT), ("m2", "Meter B", "s", 1, AT)],
    "method": [("w", "Whole", "whole", 1, AT)],
    "method_version": [("v", "w", 1, "", 3, 1, None, "", None, AT)],
    "comparison": [
        (f"c{no}", f"Comparison {no}", "meters", "whole", "s", "m1", "m2", "v", "v", None, None, 1, 2, 75, 1, "p", "t",
         AT, AT) for no in (2, 1)
    ],
    "comparison_coffee": [("c2", 1, "Harbour", "101", "a")],
    "comparison_sample": [
        (f"x{side}", "c2", 1, side, "", "p", "lead", "t", AT, AT, None, None, None, None) for side in "ab"
    ],
    "comparison_reading": [("xa", 1, 1, 5610, "56.1", "", 0)],
}  # fmt: skip


@pytest.fixture
def old_path(tmp_path):
    """The file as the third migration left it, closed."""
    path = tmp_path / "bench.db"
    db = connect.connect(path, create=True)
    migrations.migrations.apply(db, stop_before="0004_hands")
    for table, rows in ROWS.items():
        for row in rows:
            db.conn.execute(f"INSERT INTO {table} VALUES ({', '.join('?' * len(row))})", row)
    db.conn.commit()
    db.close()
    return path


def test_it_keeps_every_comparison_in_its_place_and_what_belongs_to_it(old_path):
    assert migrations.migrate(old_path) [0] == "0004_hands"
    for table, rows in ROWS.items():
        there = plain.force(old_path, f"SELECT * FROM {table} ORDER BY rowid")
        assert [tuple(row[: len(rows[0])]) for row in there] == rows, table
    assert plain.force(old_path, "SELECT DISTINCT a_person_id, b_person_id FROM comparison") == [[None, None]]
    assert plain.force(old_path, "PRAGMA foreign_key_check") == []
    db = connect.connect(old_path)
    assert [one.id for one in comparisons.list_comparisons(db)] == ["c1", "c2"]
    assert len(comparisons.list_samples(db, "c2")) == 2
    assert db.conn.execute("PRAGMA foreign_keys").fetchone()[0] == 1
    db.close()


def test_it_changes_nothing_where_a_row_has_lost_what_it_belongs_to(old_path):
    plain.force(old_path, "DELETE FROM comparison WHERE id = 'c2'")
    before = plain.force(old_path, "SELECT name, sql FROM sqlite_master ORDER BY name")
    with pytest.raises(WrongSchema, match="comparison_coffee"):
        migrations.migrate(old_path)
    assert plain.force(old_path, "SELECT name, sql FROM sqlite_master ORDER BY name") == before
