"""An export is streamed: the memory that it takes does not grow with the readings.

By what Python allocates (tracemalloc), of five thousand readings and of four times as many. A million, and a worker's
whole memory: tests/benchmarks/export.py.
"""

import tracemalloc

import pytest

from tests.benchmarks import export
from webapp.exchange import columnar, csv_files, json_lines, workbook
from webapp.store import connect, export_sets

FEW, MANY = 5_000, 20_000
MOST = 1.25


@pytest.fixture(scope="module")
def benches(tmp_path_factory):
    """Number of readings -> a bench that has them."""
    folder = tmp_path_factory.mktemp("benches")
    for count in (FEW, MANY):
        export.make(folder / f"{count}.db", count)
    return {count: folder / f"{count}.db" for count in (FEW, MANY)}


def peak(path, consume):
    """The most memory, in bytes, while `consume` goes through the rows of a bench's readings."""
    db = connect.connect(path)
    tracemalloc.start()
    try:
        consume(export_sets.rows(db, export_sets.BY_NAME["readings"]))
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
        db.close()


def drain(pieces):
    """As a server sends them: each is gone before the next is made."""
    for _piece in pieces:
        pass


def ratio(benches, consume):
    """How much more many readings take than few."""
    small, large = (peak(benches[count], consume) for count in (FEW, MANY))
    print(f"{small / 1e6:.1f} MB, {large / 1e6:.1f} MB, x {large / small:.2f}")
    return large / small


COLUMNS = export_sets.BY_NAME["readings"].columns


def test_it_has_as_many_readings_as_it_says(benches):
    for count, path in benches.items():
        db = connect.connect(path)
        assert count <= db.conn.execute("SELECT count(*) FROM reading").fetchone()[0] < count + export.PER_SAMPLE
        db.close()


def test_csv_takes_no_more_memory_for_many(benches):
    assert ratio(benches, lambda rows: drain(csv_files.written(COLUMNS, rows))) < MOST


def test_json_lines_take_no_more_memory_for_many(benches):
    assert ratio(benches, lambda rows: drain(json_lines.written(COLUMNS, rows))) < MOST


def test_parquet_takes_no_more_memory_for_many(benches, tmp_path, monkeypatch):
    """In groups smaller than usual, so that both have some."""
    monkeypatch.setattr(columnar, "GROUP", 2_000)
    assert ratio(benches, lambda rows: columnar.write(tmp_path / "x", COLUMNS, rows)) < MOST


def test_a_workbook_takes_no_more_memory_for_many(benches, tmp_path):
    """Three of its columns: it takes a second for a hundred thousand cells."""

    def consume(rows):
        narrow = ((row[3], row[5], row[6]) for row in rows)
        workbook.write(tmp_path / "x.xlsx", [("readings", (COLUMNS[3], COLUMNS[5], COLUMNS[6]), narrow)])

    assert ratio(benches, consume) < MOST


def test_it_would_notice_what_gathers_rows_first(benches):
    assert ratio(benches, lambda rows: drain(csv_files.written(COLUMNS, list(rows)))) > 2
