"""A site's part for a group: added to, never written over; the same questions answered by DuckDB and by the benches."""

from __future__ import annotations

import shutil
import uuid
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.support.roastery import Roastery
from webapp.exchange import group
from webapp.store import connect, corrections, decisions
from webapp.store.connect import one

duckdb = pytest.importorskip("duckdb")
QUESTIONS = Path(__file__).parents[2] / "deploy" / "group"
START = datetime(2026, 3, 20, 8, 0, tzinfo=UTC)


def ask(name: str, folder: Path) -> list[dict]:
    """A question's rows."""
    with duckdb.connect() as asked:
        found = asked.execute((QUESTIONS / name).read_text(), {"folder": str(folder)})
        names = [column[0] for column in found.description]
        return [dict(zip(names, row, strict=True)) for row in found.fetchall()]


def on(bench: Roastery, path: Path, target: Path) -> Roastery:
    """The small roastery at another site."""
    bench.db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    shutil.copy(path, target)
    copy = Roastery(connect.connect(target), now=START)
    copy.__dict__.update({k: v for k, v in bench.__dict__.items() if k not in ("db", "now")})
    return copy


@pytest.fixture
def sites(bench, path, tmp_path):
    """Two sites of thirty batches over two months; every third, and every fifth, of them out of band."""
    made = {name: on(bench, path, tmp_path / f"{name}.db") for name in ("Kiln", "Harbour")}
    for every, site in zip((3, 5), made.values(), strict=True):
        for no in range(30):
            at = START + timedelta(days=no)
            batch = site.batch(f"B-{no}", at=at)
            value = 70.0 if no % every == 0 else 56.0
            site.sample(batch.id, "whole", [value, value, value], [value, value, value], at=at)
            site.sample(batch.id, "ground", [61.0, 61.0, 61.0], [61.0, 61.0, 61.0], at=at)
    yield made
    for site in made.values():
        site.db.close()


def by_hand(site: Roastery) -> dict[str, tuple[int, int]]:
    """month -> (judged, inside), from the site's own database."""
    rows = site.db.query(
        "SELECT substr(b.day, 1, 7) AS month, count(*) AS n, sum(r.verdict = 'inside') AS inside FROM batch b"
        " JOIN batch_result r ON r.batch_id = b.id WHERE r.verdict IN ('inside','undecided','outside')"
        " GROUP BY 1 ORDER BY 1"
    )
    return {row["month"]: (row["n"], row["inside"]) for row in rows}


def test_it_adds_what_changed_and_nothing_twice(sites, tmp_path):
    folder, site = tmp_path / "group", sites["Kiln"]
    first = group.export(site.db, folder, "Kiln")
    assert [str(file.parent.relative_to(folder)) for file in first.written] == [
        "batches/site=Kiln/month=2026-03", "batches/site=Kiln/month=2026-04",
    ]  # fmt: skip
    assert group.export(site.db, folder, "Kiln").written == ()
    before = {file: file.read_bytes() for file in folder.rglob("*.parquet")}
    batch = one(site.db, "SELECT id FROM batch WHERE code = 'B-25'")["id"]
    decisions.add_decision(site.db, "d-1", batch, "hold", "looks odd", site.who(), START + timedelta(days=40))
    (added,) = group.export(site.db, folder, "Kiln").written
    assert "month=2026-04" in str(added)
    assert {file: file.read_bytes() for file in before} == before
    assert not list(folder.rglob(".*.part"))


def test_the_group_counts_as_the_sites_do(sites, tmp_path):
    folder = tmp_path / "group"
    for name, site in sites.items():
        group.export(site.db, folder, name)
    rows = ask("share_in_band.sql", folder)
    found = {(row["site"], row["month"]): (row["judged"], row["inside"]) for row in rows}
    assert found == {(name, month): n for name, site in sites.items() for month, n in by_hand(site).items()}
    assert len(found) == 4


def test_its_interval_is_wilsons(sites, tmp_path):
    """Against scipy's (binomtest, method "wilson"): another's code."""
    from scipy.stats import binomtest

    folder = tmp_path / "group"
    group.export(sites["Kiln"].db, folder, "Kiln")
    for row in ask("share_in_band.sql", folder):
        interval = binomtest(row["inside"], row["judged"]).proportion_ci(0.95, method="wilson")
        assert (row["lower"], row["upper"]) == pytest.approx((interval.low, interval.high), abs=1e-12)


def test_a_month_that_was_corrected_counts_as_it_stands_now(sites, tmp_path):
    folder, site = tmp_path / "group", sites["Kiln"]
    group.export(site.db, folder, "Kiln")
    before = {row["month"]: row["inside"] for row in ask("share_in_band.sql", folder)}
    batch = one(site.db, "SELECT id FROM batch WHERE code = 'B-27'")["id"]
    sample = one(site.db, "SELECT id FROM sample WHERE batch_id = ? AND kind = 'whole'", (batch,))["id"]
    for fill in (1, 2):
        for no in (1, 2, 3):
            corrections.add_correction(
                site.db, str(uuid.uuid4()), sample, fill, no, 5600, "Mistyped.", site.who(), START + timedelta(days=41)
            )
    group.export(site.db, folder, "Kiln")
    after = {row["month"]: row["inside"] for row in ask("share_in_band.sql", folder)}
    assert after == {month: inside for month, (_judged, inside) in by_hand(site).items()}
    assert after["2026-04"] == before["2026-04"] + 1
    assert after["2026-03"] == before["2026-03"]


def test_it_finds_the_meter_that_walks_and_not_the_steady_one(sites, tmp_path):
    """One site's meter goes up by 0.05 a day; the other's only scatters. The line is drawn by scipy, too."""
    from scipy.stats import linregress

    days = range(0, 40, 4)
    noise = [0.1, -0.1, 0.1, -0.2, 0.0, 0.1, -0.1, 0.2, 0.0, -0.1]
    drifting = [60 + 0.05 * day + add for day, add in zip(days, noise, strict=True)]
    for name, values in (("Kiln", drifting), ("Harbour", [60 + add for add in noise])):
        for day, value in zip(days, values, strict=True):
            sites[name].check([round(value, 1)] * 3, at=START + timedelta(days=day))
        group.export(sites[name].db, tmp_path / "group", name)
    (row,) = ask("drifting_meters.sql", tmp_path / "group")
    line = linregress(list(days), [round(value, 1) for value in drifting])
    assert row["site"] == "Kiln"
    assert row["per_month"] == pytest.approx(30 * line.slope, rel=1e-9)
    assert row["t"] == pytest.approx(line.slope / line.stderr, rel=1e-6)


def test_the_command_refuses_a_site_that_is_no_name(app, tmp_path, bench):
    run = app.test_cli_runner()
    for name in ("../up", "", "a/b", "a=b", "-x"):
        done = run.invoke(args=["export-group", str(tmp_path / "group"), f"--site={name}"])
        assert done.exit_code == 2, done.output
    assert not (tmp_path / "group").exists()
    done = run.invoke(args=["export-group", str(tmp_path / "group"), "--site", "Kiln"])
    assert done.exit_code == 0
    assert "Files added: 0." in done.output
