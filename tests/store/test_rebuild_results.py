"""Results are kept for speed; the facts alone give them again, to the last stored digit, whatever happened."""

from collections import Counter
from datetime import UTC, datetime

import pytest

from tests.store.histories import Morning
from tests.support.roastery import later
from webapp import create_app
from webapp.config import Config
from webapp.store import connect, corrections, ledger, products, results, samples
from webapp.store.products import TargetBand
from webapp.store.spreads import SUMS, spread_of

START = datetime(2026, 5, 14, 6, 0, tzinfo=UTC)
DERIVED = ("part_result", "batch_result", "method_spread", "routine_spread", "trend_state")


def derived(db):
    """Every stored derived value."""
    return {t: sorted(db.conn.execute(f"SELECT * FROM {t}").fetchall(), key=repr) for t in DERIVED}


@pytest.fixture
def morning(bench):
    """morning(seed, steps) has happened at the bench."""

    def made(seed, steps=25):
        history = Morning(bench, seed, START)
        history.work(steps)
        return history

    return made


@pytest.mark.parametrize("seed", range(8))
def test_it_finds_nothing_to_change_after_any_history(bench, morning, seed):
    """Second samples, two meters with opposite scales, corrections, voided readings, new targets and methods."""
    morning(seed)
    before = derived(bench.db)
    assert results.rebuild(bench.db) == []
    assert results.rebuild(bench.db, store=True) == []
    assert derived(bench.db) == before
    assert list(ledger.faults(bench.db)) == []


def test_it_has_been_asked_something_by_these_histories(bench):
    """The mornings above are worth something only if all of this happens in them."""
    seen = Counter()
    for seed in range(8):
        history = Morning(bench, seed, START)
        history.work(25)
    for row in bench.db.query("SELECT kind, verdict, apart > 0 AS apart, samples > 1 AS more FROM part_result"):
        seen[row["kind"], row["verdict"]] += 1
        seen["apart"] += row["apart"]
        seen["more"] += row["more"]
    for row in bench.db.query("SELECT verdict FROM batch_result"):
        seen[row["verdict"]] += 1
    seen["void"] = bench.db.conn.execute("SELECT count(*) FROM correction WHERE value IS NULL").fetchone()[0]
    kinds = [(kind, verdict) for kind in ("whole", "ground") for verdict in ("inside", "undecided", "outside", None)]
    wanted = [*kinds, "apart", "more", "void", "inside", "outside", "undecided", "incomplete"]
    assert [what for what in wanted if not seen[what]] == []


@pytest.mark.parametrize("seed", range(3))
def test_it_makes_the_same_of_facts_alone(bench, morning, seed):
    """Every derived row thrown away, then worked out from nothing."""
    morning(seed)
    before = derived(bench.db)
    for table in DERIVED:
        bench.db.conn.execute(f"DELETE FROM {table}")
    assert results.rebuild(bench.db) != []
    assert derived(bench.db) == {t: [] for t in DERIVED}
    results.rebuild(bench.db, store=True)
    after = derived(bench.db)
    assert after["batch_result"] == before["batch_result"]
    assert after["part_result"] == before["part_result"]
    assert results.rebuild(bench.db) == []


@pytest.mark.parametrize("seed", range(12, 15))
def test_it_keeps_the_running_spread_of_routine_work_true_to_the_samples(bench, morning, seed):
    """Added up here from the stored samples: what corrections took out and put in again leaves no trace."""
    morning(seed)
    sums = {}
    for row in bench.db.query("SELECT id FROM sample"):
        sample = samples.get_sample(bench.db, row["id"])
        key = sample.method_version_id, sample.scale_id
        sums.setdefault(key, []).append(spread_of(sample))
    there = {
        (row["method_version_id"], row["scale_id"]): [row[name] for name in SUMS]
        for row in bench.db.query("SELECT * FROM method_spread")
    }
    assert there.keys() == sums.keys()
    for key, added in sums.items():
        assert [sum(column) for column in zip(*added, strict=True)] == pytest.approx(there[key], abs=1e-9)


@pytest.fixture
def db_of_work(worked_path):
    """The bench after a morning's work."""
    db = connect.connect(worked_path)
    yield db
    db.close()


TAMPERED = [
    *(
        ("part_result", f"{column} = {column} + 0.001")
        for column in ("value", "u", "fill_term", "reading_term", "step_term", "meter_term")
    ),
    *(
        ("part_result", f"{column} = {column} + 1")
        for column in ("fills", "readings", "samples", "readings_disagree", "fills_disagree", "apart")
    ),
    ("part_result", "verdict = 'outside'"),
    ("part_result", "side = 'darker'"),
    ("part_result", "chance = 0.99"),
    ("part_result", "position = 0"),
    ("part_result", "beyond = 0.5"),
    ("part_result", "settle_fills = 40"),
    ("part_result", "target_version_id = NULL"),
    ("part_result", "sigma_r = 0.001"),
    ("part_result", "sigma_source = 'study'"),
    ("part_result", "u_meter_source = 'checks'"),
    ("part_result", "chance = NULL"),
    ("batch_result", "verdict = 'outside'"),
    ("batch_result", "chance = 0.99"),
    ("batch_result", "missing = 'whole'"),
]


@pytest.mark.parametrize(("table", "change"), TAMPERED, ids=str)
def test_it_names_and_mends_a_result_that_was_tampered_with(db_of_work, ids, table, change):
    db = db_of_work
    before = derived(db)
    kind = " AND kind = 'whole'" if table == "part_result" else ""
    db.conn.execute(f"UPDATE {table} SET {change} WHERE batch_id = ?{kind}", (ids["batch"],))
    assert derived(db) != before, "the change changed nothing"
    assert results.rebuild(db) == [f"the result of batch {ids['batch']}"]
    assert results.rebuild(db, store=True) == [f"the result of batch {ids['batch']}"]
    assert derived(db) == before


@pytest.mark.parametrize("table", ["part_result", "batch_result"])
def test_it_names_a_result_that_is_gone(db_of_work, ids, table):
    before = derived(db_of_work)
    db_of_work.conn.execute(f"DELETE FROM {table} WHERE batch_id = ?", (ids["batch"],))
    assert results.rebuild(db_of_work, store=True) == [f"the result of batch {ids['batch']}"]
    assert derived(db_of_work) == before


def test_it_names_a_verdict_on_a_batch_without_a_reading(bench):
    """Nothing was read, or all of it is void: nothing may be said about it."""
    batch = bench.batch()
    bench.db.conn.execute("INSERT INTO batch_result (batch_id, verdict) VALUES (?, 'inside')", (batch.id,))
    assert results.rebuild(bench.db, store=True) == [f"the result of batch {batch.id}"]
    assert results.get_batch_result(bench.db, batch.id) is None


@pytest.mark.parametrize("column", SUMS)
def test_it_names_and_mends_a_spread_that_was_tampered_with(db_of_work, ids, column):
    """It would make every later judgement surer, or less sure, than the work was."""
    db = db_of_work
    before = derived(db)
    db.conn.execute(
        f"UPDATE method_spread SET {column} = {column} + 1 WHERE method_version_id = ?", (ids["method_version"],)
    )
    assert results.rebuild(db) == [f"the spread of method version {ids['method_version']}"]
    results.rebuild(db, store=True)
    after = derived(db)
    assert after["part_result"] == before["part_result"]
    for row, was in zip(after["method_spread"], before["method_spread"], strict=True):
        assert row[2:] == pytest.approx(was[2:], abs=1e-9)


def test_it_has_no_result_once_every_reading_is_void(bench, db):
    batch = bench.batch()
    sample = bench.sample(batch.id, "whole", [56.2, 56.3])
    assert set(results.get_parts(db, batch.id)) == {"whole"}
    for no in (1, 2):
        corrections.add_correction(db, f"c{no}", sample.id, 1, no, None, "Wrong dish.", bench.who(), bench.now)
    assert results.get_parts(db, batch.id) == {}
    assert results.get_batch_result(db, batch.id) is None
    assert results.rebuild(db) == []
    row = connect.one(db, "SELECT fills, readings FROM method_spread")
    assert row == {"fills": 0, "readings": 0}


def test_it_judges_by_the_targets_that_were_in_force_not_by_todays(bench, db):
    batch = bench.batch()
    bench.sample(batch.id, "whole", [56.0, 56.0, 56.0])
    verdict = results.get_parts(db, batch.id)["whole"].verdict
    assert verdict == "inside"
    products.add_target_version(
        db, bench.product, bench.scale, "guarded", 0.8, None, None, [TargetBand("whole", 4000, 4100, 4200)], "New.",
        bench.who("lead"), bench.now,
    )  # fmt: skip
    assert results.rebuild(db) == []
    assert results.get_parts(db, batch.id)["whole"].verdict == verdict


@pytest.mark.parametrize("first", ["whole", "ground"])
@pytest.mark.parametrize("clock", [1, -1], ids=["clock runs", "clock set back"])
def test_it_judges_the_difference_by_the_targets_of_the_sample_stored_last(bench, db, first, clock):
    """New targets between the two kinds of one batch: what the batch still lacks and its difference follow them."""
    batch, values = bench.batch(), {"whole": [56.0, 56.0, 56.0], "ground": [61.0, 61.0, 61.0]}
    then = later(bench.now, minutes=clock)
    bench.sample(batch.id, first, values[first])
    before = results.get_parts(db, batch.id)[first].target_version_id
    newest = products.add_target_version(
        db, bench.product, bench.scale, "simple", 0.8, None, None, [TargetBand("difference", 100, 200, 300)], "New.",
        bench.who("lead"), later(bench.now, hours=-1),
    )  # fmt: skip
    second = {"whole": "ground", "ground": "whole"}[first]
    bench.sample(batch.id, second, values[second], at=then)
    parts = results.get_parts(db, batch.id)
    assert {kind: part.target_version_id for kind, part in parts.items()} == {
        first: before, second: newest, "difference": newest,
    }  # fmt: skip
    # Five points apart, where the new targets want one to three.
    assert parts["difference"].verdict == "outside"
    assert results.get_batch_result(db, batch.id).verdict == "outside"
    assert results.rebuild(db) == []


def test_it_says_on_the_command_line_what_differs_and_mends_it_only_when_told_to(worked_path, ids):
    app = create_app(Config(database=worked_path, secret_key="tests only: long enough for a secret", testing=True))
    run = app.test_cli_runner().invoke
    assert run(args=["rebuild-results"]).output == "Results that differ: 0\n"
    db = connect.connect(worked_path)
    before = derived(db)
    db.conn.execute("UPDATE batch_result SET verdict = 'outside' WHERE batch_id = ?", (ids["batch"],))
    said = run(args=["rebuild-results"])
    assert said.exit_code == 1
    assert f"the result of batch {ids['batch']} differs" in said.output
    assert derived(db) != before
    said = run(args=["rebuild-results", "--write"])
    assert (said.exit_code, "now stored" in said.output) == (0, True)
    assert derived(db) == before
    db.close()
