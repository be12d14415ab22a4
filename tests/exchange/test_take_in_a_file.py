"""A file of older batches, from the upload to the record: what is stored, what is worked out, who did it."""

from __future__ import annotations

import pytest

from tests.exchange.taking import GOOD, counts, looked, take, taken_in
from webapp.store import imports, ledger, results, samples, trend_states


@pytest.fixture
def lead(sign_in):
    return sign_in("lead")


def test_it_takes_in_what_it_showed(bench, lead):
    there, page = looked(lead, bench, GOOD)
    assert counts(page) == (3, 0, 0)
    assert bench.db.conn.execute("SELECT count(*) FROM batch").fetchone()[0] == 0
    answer = take(lead, there, page)
    assert answer.status_code == 303
    rows = list(bench.db.query("SELECT * FROM batch ORDER BY import_row"))
    assert [(r["import_row"], r["code"], r["day"], r["roasted_at"], r["green_g"], r["drop_decicelsius"], r["total_s"],
             r["lot"], r["note"]) for r in rows] == [
        # Vienna in March is an hour ahead of UTC.
        (2, "0301-01", "2026-03-01", "2026-03-01T05:58:00.000Z", 12350, 2045, 690, "Lot 7", ""),
        (3, "0301-02", "2026-03-01", "2026-03-01T06:20:00.000Z", 12350, None, 670, "Lot 7", "Grüße; zwei\nZeilen"),
        (4, "0313-01", "2026-03-13", "2026-03-13T05:40:00.000Z", None, None, None, "", "=1+1"),
    ]  # fmt: skip
    assert {r["product_id"] for r in rows} == {bench.product}
    first = samples.get_samples(bench.db, rows[0]["id"])
    assert [(s.kind, [(r.value, r.typed) for r in s.readings], s.checklist, s.made_at) for s in first] == [
        ("whole", [(5620, "56,2"), (5640, "56,4"), (5610, "56,1")], "page", "2026-03-01T05:58:00.000Z"),
        ("ground", [(6123, "61,2333")], "page", "2026-03-01T05:58:00.000Z"),
    ]
    assert results.get_batch_result(bench.db, rows[0]["id"]).verdict in ("inside", "undecided")


def test_everything_can_be_worked_out_again_and_nothing_was_written_past_the_ledger(bench, lead):
    taken_in(lead, bench, GOOD)
    assert results.rebuild(bench.db) == []
    assert list(ledger.faults(bench.db)) == []
    assert trend_states.find_state(bench.db, bench.product, "whole").batches == 2


def test_a_second_time_nothing_is_new(bench, lead):
    taken_in(lead, bench, GOOD)
    before = bench.db.conn.execute("SELECT count(*), max(seq) FROM ledger").fetchone()
    there, page = looked(lead, bench, GOOD)
    assert counts(page) == (0, 3, 0)
    assert not [b for b in page.find("button") if "Take in" in b.text]
    assert take(lead, there, page).status_code == 409
    assert bench.db.conn.execute("SELECT count(*), max(seq) FROM ledger").fetchone() == before


def test_the_run_is_kept(bench, lead):
    there = taken_in(lead, bench, GOOD, "../../etc/history.csv")
    (run,) = imports.list_runs(bench.db)
    assert (run.file_name, run.rows, run.taken, run.known, run.refused) == ("history.csv", 3, 3, 0, 0)
    assert run.person_id == bench.people["lead"]
    assert run.chosen["averages"] == {"whole": False, "ground": True}
    assert imports.list_drafts(bench.db) == []
    assert lead.page(there).find("h1")[0].text == "3 batches were taken in"
