"""The read model of a day: what it tells, and that a long history costs it nothing."""

import re

import pytest

from tests.strip.days import DAY, batch, decide, measured, product, read
from webapp.store import strip_days


def only(bench):
    day = strip_days.get_day(bench.db, DAY)
    assert len(day.batches) == 1
    return day.batches[0]


def test_it_orders_the_days_batches_by_time_and_leaves_other_days_out(bench):
    for clock in ("11:00", "07:30", "09:15"):
        batch(bench, clock)
    batch(bench, "10:00", day="2026-05-13")
    batch(bench, "10:00", day="2026-05-15")
    day = strip_days.get_day(bench.db, DAY)
    times = [b.roasted_at for b in day.batches]
    assert len(times) == 3
    assert times == sorted(times)


def test_it_cuts_the_day_at_the_sites_midnight(bench):
    batch(bench, "00:00")
    batch(bench, "23:59")
    batch(bench, "23:59", day="2026-05-13")
    assert len(strip_days.get_day(bench.db, DAY).batches) == 2


def test_it_names_the_nearest_days_that_have_batches(bench):
    for day in ("2026-05-01", "2026-05-10", DAY, "2026-05-20"):
        batch(bench, "10:00", day=day)
    assert strip_days.neighbours(bench.db, DAY) == ("2026-05-10", "2026-05-20")
    assert strip_days.neighbours(bench.db, "2026-05-01") == (None, "2026-05-10")
    assert strip_days.neighbours(bench.db, "2030-01-01") == ("2026-05-20", None)


def test_it_gives_value_give_or_take_verdict_and_position_of_each_part(bench):
    measured(bench, "10:00", whole=0.2, ground=2.0)
    found = only(bench)
    whole, ground = found.parts["whole"], found.parts["ground"]
    assert whole.value == pytest.approx(56.3)
    assert whole.position == pytest.approx(0.2)
    assert whole.U > 0
    assert (whole.verdict, whole.side) == ("inside", None)
    assert ground.position == pytest.approx(2.0)
    assert (ground.verdict, ground.side) == ("outside", "lighter")
    assert (found.verdict, found.side) == ("outside", "lighter")
    assert found.missing == ()


def test_it_counts_a_position_towards_lighter_where_the_scale_runs_the_other_way(bench):
    from webapp.store.products import TargetBand, add_product
    from webapp.store.who import SYSTEM

    other = add_product(
        bench.db, "Other way", "OW", bench.flipped, "guarded", 0.8, bench.methods["whole"], None,
        [TargetBand("whole", 4000, 4200, 4400)], SYSTEM, bench.now,
    )  # fmt: skip
    made = batch(bench, "10:00", product=other)
    bench.sample(made.id, "whole", [39.0, 39.0, 39.0], meter=bench.flipped_meter)
    part = only(bench).parts["whole"]
    assert part.position == pytest.approx(1.5)
    assert part.lighter == -1


def test_it_lists_what_has_still_to_be_read(bench):
    batch(bench, "08:00")
    measured(bench, "09:00", whole=0)
    measured(bench, "10:00", whole=0, ground=0)
    nothing, half, whole = strip_days.get_day(bench.db, DAY).batches
    assert (nothing.verdict, nothing.missing) == ("incomplete", ("whole", "ground"))
    assert (half.verdict, half.missing) == ("incomplete", ("ground",))
    assert whole.missing == ()


def test_it_asks_for_nothing_that_the_product_has_no_target_for(bench):
    batch(bench, "08:00", product=product(bench, "Only whole", "OW", whole=True))
    made = batch(bench, "09:00", product=product(bench, "No target at all", "NT"))
    read(bench, made, whole=0)
    unread, judged_by_nothing = strip_days.get_day(bench.db, DAY).batches
    assert unread.missing == ("whole",)
    assert (judged_by_nothing.verdict, judged_by_nothing.missing) == ("unjudged", ())
    assert judged_by_nothing.parts["whole"].position is None


def test_it_tells_who_read_it_and_that_it_was_read_twice(bench):
    made = batch(bench, "10:00")
    read(bench, made, "trainee", whole=0.1)
    read(bench, made, "lead", whole=0.1, ground=0)
    found = only(bench)
    assert found.parts["whole"].readers == (("Tomas", "trainee"), ("Ada", "lead"))
    assert found.parts["whole"].samples == 2
    assert found.parts["ground"].readers == (("Ada", "lead"),)


def test_it_lets_the_newest_decision_stand(bench):
    made = measured(bench, "10:00", whole=0, ground=0)
    decide(bench, made, "hold")
    decide(bench, made, "release")
    found = only(bench)
    assert (found.decision, found.decided_on, found.decided_by) == ("release", "inside", "Ada")


@pytest.mark.parametrize(
    ("positions", "decision", "waits"),
    [
        ({"whole": 0, "ground": 0}, None, False),
        ({"whole": 0, "ground": 0}, "hold", True),
        ({"whole": 3, "ground": 3}, None, True),
        ({"whole": 3, "ground": 3}, "hold", True),
        ({"whole": 3, "ground": 3}, "reject", False),
        ({"whole": 3, "ground": 3}, "concession", False),
        ({"whole": 1, "ground": 1}, None, True),
        ({"whole": 0}, None, False),
    ],
)
def test_it_knows_what_waits_for_a_decision(bench, positions, decision, waits):
    made = measured(bench, "10:00", **positions)
    if decision:
        decide(bench, made, decision)
    assert only(bench).waits is waits


def test_it_asks_again_when_a_released_batch_reads_otherwise_later(bench):
    made = measured(bench, "10:00", whole=0, ground=0)
    decide(bench, made, "release")
    assert not only(bench).waits
    for _again in range(3):
        read(bench, made, whole=8)
    assert only(bench).verdict == "outside"
    assert only(bench).waits


def statements(db, day):
    said = []
    db.conn.set_trace_callback(said.append)
    try:
        strip_days.get_day(db, day)
    finally:
        db.conn.set_trace_callback(None)
    return [s for s in said if s.lstrip().upper().startswith("SELECT")]


def test_it_asks_as_many_queries_for_thirty_batches_as_for_one(bench):
    measured(bench, "05:00", whole=0, ground=0)
    batch(bench, "05:30")
    few = len(statements(bench.db, DAY))
    for n in range(28):
        measured(bench, f"{6 + n // 4:02d}:{n % 4 * 15:02d}", whole=0.1, ground=0)
    assert len(statements(bench.db, DAY)) == few <= 7


def test_it_reaches_every_row_by_an_index(bench):
    batch(bench, "10:00")
    for statement in statements(bench.db, DAY):
        plan = [row[3] for row in bench.db.conn.execute("EXPLAIN QUERY PLAN " + statement)]
        scans = [step for step in plan if re.match(r"SCAN (?!CONSTANT ROW)", step)]
        assert not scans, (statement, plan)


def test_its_version_grows_with_every_write(bench):
    seen = [strip_days.version(bench.db)]
    made = batch(bench, "10:00")
    seen.append(strip_days.version(bench.db))
    read(bench, made, whole=0)
    seen.append(strip_days.version(bench.db))
    decide(bench, made, "hold")
    seen.append(strip_days.version(bench.db))
    assert seen == sorted(set(seen))
