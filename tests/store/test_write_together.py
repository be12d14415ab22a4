"""Four processes write at once, as gunicorn's workers do: nothing is lost, nothing doubled, nobody is refused."""

import json
import shutil
import subprocess
import sys
from collections import Counter

import pytest

from tests.store import workers
from tests.store.standard_engine import ROOT, WITHOUT_PYSQLITE3
from webapp.store import connect, ledger, results

ENTER = "import runpy; runpy.run_module('tests.store.workers', run_name='__main__', alter_sys=True)"


@pytest.fixture(
    scope="module", params=[("", 200, 12), (WITHOUT_PYSQLITE3, 50, 4)], ids=["this engine", "the standard library's"]
)
def raced(request, templates, tmp_path_factory):
    """(connection, what each process said, counts, posts) after the race."""
    prelude, counts, posts = request.param
    path = tmp_path_factory.mktemp("race") / "bench.db"
    shutil.copy(templates["roastery"], path)
    made = templates["made"]
    db = connect.connect(path)
    db.conn.execute("CREATE TABLE counter (n INTEGER NOT NULL) STRICT")
    db.conn.execute("INSERT INTO counter VALUES (0)")
    db.close()
    ids = {
        "product": made.product, "machine": made.machine, "person": made.people["roaster"], "tablet": made.tablet,
        "version": made.versions["whole"].id, "meter": made.meter,
    }  # fmt: skip
    running = [
        subprocess.Popen(
            [sys.executable, "-c", prelude + ENTER, str(path), str(n), json.dumps(ids), str(counts), str(posts)],
            stdout=subprocess.PIPE, text=True, cwd=ROOT,
        )
        for n in range(workers.HOW_MANY)
    ]  # fmt: skip
    said = [json.loads(process.communicate(timeout=120)[0]) for process in running]
    db = connect.connect(path)
    yield db, said, counts, posts
    db.close()


def number(db, sql):
    """One number."""
    return db.conn.execute(sql).fetchone()[0]


def test_it_refuses_nobody_for_a_lock(raced):
    _db, said, _counts, posts = raced
    troubles = Counter(word for one in said for word in one["trouble"])
    # Only what must be refused: of four different batches with one id, three.
    assert troubles == {"AlreadyThere": (workers.HOW_MANY - 1) * posts}


def test_it_loses_no_update(raced):
    db, _said, counts, _posts = raced
    assert number(db, "SELECT n FROM counter") == workers.HOW_MANY * counts


def test_it_stores_everything_of_everybody(raced):
    db, _said, _counts, posts = raced
    assert number(db, "SELECT count(*) FROM batch WHERE id LIKE 'own-%'") == workers.HOW_MANY * posts


def test_it_stores_once_what_all_four_send(raced):
    """Chromium itself sends a POST twice when a kept-open connection dies after the server has stored it."""
    db, _said, _counts, posts = raced
    for table in ("batch", "sample", "correction", "decision"):
        assert number(db, f"SELECT count(*) FROM {table} WHERE id LIKE 'same-{table}-%'") == posts
    assert number(db, "SELECT count(*) FROM reading") == 3 * posts
    assert number(db, "SELECT count(*) FROM ledger WHERE record_id LIKE 'same-%'") == 4 * posts
    assert number(db, "SELECT fills FROM method_spread") == posts


def test_it_keeps_the_first_of_four_with_one_id(raced):
    db, _said, _counts, posts = raced
    assert number(db, "SELECT count(*) FROM batch WHERE id LIKE 'clash-%'") == posts


def test_it_keeps_the_ledger_without_a_gap(raced):
    db, _said, _counts, _posts = raced
    assert list(ledger.faults(db)) == []
    assert number(db, "SELECT max(seq) FROM ledger") == number(db, "SELECT count(*) FROM ledger")


def test_it_works_out_the_same_results_again(raced):
    assert results.rebuild(raced[0]) == []
