"""What comes of a file afterwards: averages, spreads, trends, look-backs, the record, and the way back out."""

from __future__ import annotations

import csv
import io
import uuid
from datetime import UTC, datetime

import pytest

from tests.exchange.conftest import NASTY
from tests.exchange.taking import GOOD, counts, looked, taken_in
from tests.store.worked import on
from tests.support.roastery import later, make
from webapp.exchange.csv_files import Style, written
from webapp.store import (
    batches,
    connect,
    export_sets,
    ledger,
    meter_rules,
    migrations,
    products,
    results,
    samples,
    sessions,
    spreads,
)
from webapp.store.batches import NewBatch
from webapp.store.export_sets import BY_NAME
from webapp.store.products import TargetBand
from webapp.store.times import to_text

WAYS = {"average-whole": "reading", "time": "07:00"}


@pytest.fixture
def lead(sign_in):
    return sign_in("lead")


def table(*rows: str, head: str = "Batch code,Product,Date,Whole bean") -> bytes:
    return "\n".join([head, *rows]).encode()


def test_an_average_says_nothing_of_scatter(bench, lead):
    """It would pass for a fill that was read once: the share of readings to a fill is what sigma_f is found by."""
    for no in range(12):
        batch = bench.batch(f"T-{no}")
        bench.sample(batch.id, "whole", [56.2, 56.4, 56.1], [56.0 + no / 20, 56.3, 56.2])
    before = list(bench.db.query("SELECT * FROM method_spread"))
    known = spreads.sigmas_for(bench.db, bench.versions["whole"].id, bench.scale, "whole", 150)
    rows = [f"A{no},LH,2026-02-{no:02d},56.2333" for no in range(1, 21)]
    taken_in(lead, bench, table(*rows), **WAYS | {"average-whole": "average"})
    assert list(bench.db.query("SELECT * FROM method_spread")) == before
    assert spreads.sigmas_for(bench.db, bench.versions["whole"].id, bench.scale, "whole", 150) == known
    assert results.rebuild(bench.db) == []


def test_an_average_has_the_give_or_take_of_one_reading(bench, lead):
    """u^2 = sigma_f^2 + sigma_r^2 + step^2/12 + u_m^2 (JCGM 100, the project's section 3), one fill, one reading."""
    taken_in(lead, bench, table("A,LH,2026-02-01,56.2333"), **WAYS | {"average-whole": "average"})
    (batch,) = bench.db.query("SELECT id FROM batch")
    (sample,) = samples.get_samples(bench.db, batch["id"])
    part = results.get_parts(bench.db, batch["id"])["whole"]
    assert (part.value, part.fills, part.readings) == (56.23, 1, 1)
    assert part.u**2 == pytest.approx(sample.sigma_f**2 + sample.sigma_r**2 + 0.1**2 / 12 + sample.u_meter**2)


def test_readings_of_a_fill_do_count_for_the_scatter_within_it(bench, lead):
    taken_in(lead, bench, table("A,LH,2026-02-01,56.0,56.2,56.4", head="Code,Product,Date,W1,W2,W3"), time="07:00",
             columns={f"column-{no}": "whole" for no in (3, 4, 5)})  # fmt: skip
    (row,) = bench.db.query("SELECT df_r, df_f, readings, fills, ss_r FROM method_spread")
    assert [row[name] for name in ("df_r", "df_f", "readings", "fills")] == [2, 0, 3, 1]
    assert row["ss_r"] == pytest.approx(0.08)
    (month,) = bench.db.query("SELECT month, samples FROM routine_spread")
    assert month == {"month": "2026-02", "samples": 1}


def test_all_are_judged_by_the_target_that_was_in_force(bench, lead):
    """The second version was made in June: what was roasted before it is judged by the first one."""
    target = products.target_in_force(bench.db, bench.product)
    made = bench.now.replace(month=6, day=1)
    products.add_target_version(
        bench.db, bench.product, bench.scale, "guarded", 0.8, target.whole_method_id, target.ground_method_id,
        [TargetBand("whole", 5000, 5100, 5200)], "Darker.", bench.who("lead"), made,
    )  # fmt: skip
    taken_in(lead, bench, table("A,LH,2026-02-01,56.0", "B,LH,2025-12-01,56.0", "C,LH,2026-07-01,56.0"), **WAYS)
    found = bench.db.query(
        "SELECT b.code, v.no, r.verdict FROM batch b JOIN batch_result r ON r.batch_id = b.id JOIN sample s"
        " ON s.batch_id = b.id JOIN target_version v ON v.id = s.target_version_id ORDER BY b.code"
    )
    assert [(row["code"], row["no"]) for row in found] == [("A", 1), ("B", 1), ("C", 2)]
    assert results.rebuild(bench.db) == []


def test_a_meter_that_counts_samples_counts_these(bench, lead):
    """A sample that is taken in late may make those after it overdue: their marks follow."""
    january = bench.now.replace(month=1, day=10)
    meter_rules.add_rule(bench.db, bench.meter, "samples", 2, "", 600, 3, "First rule.", bench.who("lead"), january)
    bench.check([60.0, 60.1, 60.0], at=january)
    batch = bench.batch("T-1", at=bench.now.replace(month=3, day=1))
    bench.sample(batch.id, "whole", [56.2, 56.2, 56.2], at=bench.now.replace(month=3, day=1))
    assert results.get_batch_result(bench.db, batch.id).meter_state == "proven"
    taken_in(lead, bench, table("A,LH,2026-02-01,56.0", "B,LH,2026-02-02,56.0"), **WAYS)
    assert results.get_batch_result(bench.db, batch.id).meter_state == "overdue"
    assert results.rebuild(bench.db) == []


def test_the_batchs_page_says_where_it_came_from(bench, lead):
    taken_in(lead, bench, GOOD, "history.csv")
    batch = next(bench.db.query("SELECT id FROM batch WHERE import_row = 3"))
    page = lead.page(f"/batches/{batch['id']}")
    assert "history.csv, row 3, by Ada" in [" ".join(e.text.split()) for e in page.find("dd")]
    assert "batch taken in from a file" in page.find("table")[-1].text
    cells = [" ".join(e.text.split()) for e in page.find("td")]
    assert "60.85" in cells
    assert "an average: 60,85 in the file" in cells
    assert "Read by" not in [e.text for e in page.find("dt")]


def test_a_second_file_with_the_same_rows_written_otherwise_is_known(bench, lead):
    taken_in(lead, bench, table("A,LH,2026-02-01,56.2", "B,LH,2026-02-13,56.3"), **WAYS)
    rows = (b"A;Lantern House;1.2.2026;7:00;56,20", b"B;lh;13.2.2026;07:00:00;56,3")
    other = b"\r\n".join([b"Charge;Sorte;Datum;Uhrzeit;Bohne", *rows])
    _there, page = looked(lead, bench, other, "other.txt", **{"average-whole": "reading"})
    assert counts(page) == (0, 2, 0)


def test_what_is_at_the_bench_already_with_the_same_content_is_known(bench, lead):
    batch = bench.batch("0514-01", at=bench.now.replace(month=5, day=14, hour=6, minute=0, second=0, microsecond=0))
    bench.sample(batch.id, "whole", [56.2, 56.3])
    exported = b"".join(written(BY_NAME["batches"].columns, export_sets.rows(bench.db, BY_NAME["batches"])))
    _there, page = looked(lead, bench, exported, columns={f"column-{at(exported, 'whole_average')}": ""})
    assert counts(page) == (0, 1, 0)


def at(content: bytes, name: str) -> int:
    """The column of this name."""
    (names,) = list(csv.reader(io.StringIO(content.decode("utf-8-sig").splitlines()[0])))[:1]
    return names.index(name)


@pytest.fixture
def history(bench):
    """A batch for each text that a spreadsheet would run, with samples of some."""
    bench.now = later(bench.now, minutes=-60 * 72)
    for no, text in enumerate(NASTY):
        moment = later(bench.now, minutes=20 * no)
        new = NewBatch(
            str(uuid.uuid4()), f"T-{no}", bench.product, bench.machine, text[:80], 12350 + no if no % 3 else None,
            10200 if no % 3 else None, 2045 + no if no % 2 else None, 690, 105 if no % 2 else None, text,
            to_text(moment), to_text(moment),
        )  # fmt: skip
        batches.add_batch(bench.db, new, bench.who(), moment)
        for kind, value in (("whole", 56.0), ("ground", 61.0))[: no % 3]:
            bench.sample(new.id, kind, [value + no / 10, value + 0.2], [value, value + 0.1, value + 0.3], at=moment)
    return bench


@pytest.mark.parametrize("style", [Style(), Style("\t", ","), Style(";", ".", True)], ids=["comma", "tab", "point"])
def test_what_the_export_wrote_is_taken_in_on_an_empty_bench(history, app, tmp_path, style):
    """With the same products, machines, meters and methods; averages to the hundredth, everything else as it was."""
    one = BY_NAME["batches"]
    content = b"".join(written(one.columns, export_sets.rows(history.db, one), style))
    path = tmp_path / "empty.db"
    migrations.migrate(path)
    db = connect.connect(path)
    empty = on(db, make(db), datetime.now(UTC))
    app.config["DATABASE"] = path
    client = app.test_client()
    client.set_cookie("tablet", empty.tablet_secret)
    client.set_cookie("person", sessions.start_session(db, empty.people["lead"], empty.tablet, 12, empty.now))
    taken_in(client, empty, content, "batches.csv", **{"average-whole": "average"})
    names = ("code", "product", "machine", "day", "roasted_at", "lot", "green_kg", "roasted_kg", "loss_percent",
             "drop_celsius", "total_s", "development_s", "note")  # fmt: skip
    before, after = (facts(bench.db, names) for bench in (history, empty))
    assert before
    assert before == after
    for bench in (history, empty):
        bench.read = facts(bench.db, ("code", "whole_average", "ground_average"))
    for old, new in zip(history.read, empty.read, strict=True):
        for was, now in zip(old[1:], new[1:], strict=True):
            assert (was is None) == (now is None)
            assert was is None or abs(was - now) <= 0.005 + 1e-9
    assert list(ledger.faults(db)) == []
    assert results.rebuild(db) == []
    db.close()


def facts(db, names: tuple[str, ...]) -> list[tuple]:
    """These columns of the set of batches."""
    one = BY_NAME["batches"]
    where = [[column.name for column in one.columns].index(name) for name in names]
    return [tuple(row[no] for no in where) for row in export_sets.rows(db, one)]
