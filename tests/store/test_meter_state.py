"""What stands behind a meter at a moment, and what that makes of a sample: by the time of reading, not of arrival."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime

import pytest

from tests.support.roastery import later
from webapp.store import checks, look_backs, meter_state, results
from webapp.store.meter_rules import add_rule, shift_after
from webapp.store.times import to_text

# A day at the bench in Vienna, in summer: 09:00 there.
NINE = datetime(2026, 5, 14, 7, 0, tzinfo=UTC)
GOOD, BAD = [60.0, 60.1, 60.0], [60.6, 60.6, 60.6]


def read(bench, minutes, code=None):
    """A sample read some minutes after nine, of a batch of its own."""
    at = later(NINE, minutes=minutes)
    return bench.sample(bench.batch(code or "", at=at).id, "whole", [56.0, 56.1, 56.0], at=at)


def check(bench, minutes, found=GOOD, left=None):
    """A check some minutes after nine."""
    return bench.check(found, left, at=later(NINE, minutes=minutes))


def stands(bench, minutes):
    """How the meter stands some minutes after nine."""
    return meter_state.standing(bench.db, bench.meter, later(NINE, minutes=minutes))


def state(bench, sample):
    """What stands behind a sample now."""
    return meter_state.sample_state(bench.db, sample.id, sample.meter_id, sample.made_at)


def kept(bench, sample):
    """What its batch's stored result says of the meter."""
    return results.get_batch_result(bench.db, sample.batch_id).meter_state


def accept(bench, failed, sample):
    """A lead's word on a sample of a look-back."""
    reason, who = "Far inside.", bench.who("lead")
    look_backs.settle(bench.db, failed, sample.id, "accepted", reason, who, bench.now, str(uuid.uuid4()))


@pytest.fixture
def sound(bench):
    """After the test nothing that is stored differs from what the facts give."""
    yield
    assert checks.rebuild(bench.db) == []
    assert results.rebuild(bench.db) == []


def test_it_says_nothing_where_nobody_asks_for_checks(bench, sound):
    assert stands(bench, 0).state is None
    assert kept(bench, read(bench, 0)) is None
    bench.ask_for_checks("never", None)
    assert stands(bench, 0).state is None
    check(bench, 5)
    assert stands(bench, 10).state == "proven"
    assert stands(bench, 60 * 24 * 365).state == "proven"


def test_it_goes_by_hours(bench, sound):
    bench.ask_for_checks("hours", 2)
    assert stands(bench, 0).state == "missing"
    check(bench, 0)
    assert stands(bench, 119).state == "proven"
    assert stands(bench, 119).due_at == later(NINE, hours=2)
    assert stands(bench, 120).state == "overdue"
    assert [kept(bench, read(bench, minutes)) for minutes in (-1, 60, 130)] == ["missing", "proven", "overdue"]


def test_it_goes_by_shifts(bench, sound):
    bench.ask_for_checks("shift", None, "06:00 14:00")
    check(bench, 0)
    # 14:00 in Vienna is five hours after nine.
    assert stands(bench, 299).state == "proven"
    assert stands(bench, 300).state == "overdue"
    check(bench, 310)
    # And 06:00 of the next day is sixteen hours after 14:00.
    assert stands(bench, 311).due_at == later(NINE, hours=5 + 16)


def test_it_goes_by_samples(bench, sound):
    bench.ask_for_checks("samples", 3)
    check(bench, 0)
    assert [kept(bench, read(bench, minutes)) for minutes in (1, 2, 3, 4)] == ["proven"] * 3 + ["overdue"]
    assert stands(bench, 10).samples_left == 0
    check(bench, 11)
    assert stands(bench, 12).samples_left == 3


def test_it_counts_a_sample_in_the_moment_of_a_check_as_read_after_it(bench, sound):
    bench.ask_for_checks("samples", 1)
    check(bench, 0)
    assert kept(bench, read(bench, 0)) == "proven"
    assert kept(bench, read(bench, 5)) == "overdue"
    failed = check(bench, 5, BAD, GOOD)
    # Read at the check before: in doubt. Read at the failed check itself: after the adjustment.
    assert [doubt.made_at for doubt in look_backs.doubts(bench.db, failed)] == [to_text(NINE)]


def test_it_marks_later_samples_when_one_arrives_late(bench, sound):
    bench.ask_for_checks("samples", 2)
    check(bench, 0)
    first, second = read(bench, 10), read(bench, 20)
    assert [kept(bench, sample) for sample in (first, second)] == ["proven", "proven"]
    late = read(bench, 5)
    assert [kept(bench, sample) for sample in (late, first, second)] == ["proven", "proven", "overdue"]


def test_it_names_the_batches_that_a_late_sample_touches_only_where_samples_count(bench):
    bench.ask_for_checks("hours", 2)
    check(bench, 0)
    first, second = read(bench, 10), read(bench, 20)
    at = to_text(later(NINE, minutes=5))
    assert meter_state.touched_by_sample(bench.db, bench.meter, at) == []
    bench.ask_for_checks("samples", 2)
    assert set(meter_state.touched_by_sample(bench.db, bench.meter, at)) == {first.batch_id, second.batch_id}
    check(bench, 15)
    assert meter_state.touched_by_sample(bench.db, bench.meter, at) == [first.batch_id]


def test_it_names_the_batches_that_a_check_touches(bench):
    """From the last that proved the meter to the next one of any outcome."""
    samples = {}
    for minutes, outcome in ((0, GOOD), (20, BAD), (40, None), (60, GOOD)):
        if outcome:
            check(bench, minutes, outcome)
        samples[minutes] = read(bench, minutes + 10)
    touched = meter_state.touched_by_check(bench.db, bench.meter, to_text(later(NINE, minutes=40)))
    assert set(touched) == {samples[minutes].batch_id for minutes in (0, 20, 40)}


def test_it_works_a_batch_out_again_when_a_check_arrives_late(bench, sound):
    bench.ask_for_checks("hours", 2)
    sample = read(bench, 30)
    assert kept(bench, sample) == "missing"
    check(bench, 0)
    assert kept(bench, sample) == "proven"
    failed = check(bench, 60, BAD, GOOD)
    assert kept(bench, sample) == "doubted"
    # A good check between the two vouches for it: there is nothing to look back at any more.
    check(bench, 45)
    assert kept(bench, sample) == "proven"
    assert look_backs.doubts(bench.db, failed) == []


def test_it_fails_a_meter_until_it_is_left_right(bench, sound):
    bench.ask_for_checks("hours", 8)
    check(bench, 0, BAD)
    assert stands(bench, 1).state == "failed"
    assert kept(bench, read(bench, 5)) == "failed"
    check(bench, 10, BAD, BAD)
    assert stands(bench, 11).state == "failed"
    check(bench, 20, BAD, GOOD)
    assert stands(bench, 21).state == "proven"
    # As found it was good; the adjustment spoilt it.
    check(bench, 30, GOOD, BAD)
    assert stands(bench, 31).state == "failed"


def test_it_doubts_what_was_read_before_a_check_that_failed_until_it_is_accepted(bench, sound):
    check(bench, 0)
    before = read(bench, 10)
    failed = check(bench, 20, BAD, GOOD)
    after = read(bench, 30)
    assert [state(bench, sample) for sample in (before, after)] == ["doubted", "proven"]
    assert kept(bench, before) == "doubted"
    accept(bench, failed, before)
    assert (state(bench, before), kept(bench, before)) == ("accepted", "accepted")


def test_it_leaves_out_of_a_look_back_what_a_check_vouched_for_before_its_adjustment_spoilt_the_meter(bench, sound):
    check(bench, 0)
    vouched = read(bench, 10)
    check(bench, 20, GOOD, BAD)
    read_on_it = read(bench, 30)
    failed = check(bench, 40, BAD, GOOD)
    assert [doubt.sample_id for doubt in look_backs.doubts(bench.db, failed)] == [read_on_it.id]
    assert [state(bench, sample) for sample in (vouched, read_on_it)] == ["proven", "doubted"]


def test_it_looks_back_over_two_failures_to_the_last_good_check(bench, sound):
    check(bench, 0)
    first = read(bench, 10)
    one = check(bench, 20, BAD)
    second = read(bench, 30)
    two = check(bench, 40, BAD, GOOD)
    assert [doubt.sample_id for doubt in look_backs.doubts(bench.db, one)] == [first.id]
    assert {doubt.sample_id for doubt in look_backs.doubts(bench.db, two)} == {first.id, second.id}
    accept(bench, one, first)
    assert [look_backs.open_count(bench.db, failed) for failed in (one, two)] == [0, 1]


def test_it_does_not_read_again_on_a_meter_that_is_not_proven(bench, sound):
    bench.ask_for_checks("hours", 8)
    check(bench, 0)
    before = read(bench, 10)
    failed = check(bench, 20, BAD)
    again = bench.sample(before.batch_id, "whole", [56.0, 56.1, 56.0], at=later(NINE, minutes=30))
    assert look_backs.entry_of(bench.db, before.id) is None
    check(bench, 40, BAD, GOOD)
    bench.sample(before.batch_id, "whole", [55.0, 55.1, 55.0], at=later(NINE, minutes=50))
    assert look_backs.entry_of(bench.db, before.id).what == "reread"
    assert look_backs.entry_of(bench.db, again.id).what == "reread"
    assert look_backs.open_count(bench.db, failed) == 0
    assert kept(bench, before) == "proven"


@pytest.mark.parametrize(("moment", "start"), [
    # The clock is put forward from 02:00 to 03:00 in Vienna on 29 March 2026: there is no 02:30, so 03:30 counts.
    ("2026-03-29T00:00+00:00", "2026-03-29T01:30+00:00"),
    ("2026-03-29T01:30+00:00", "2026-03-30T00:30+00:00"),
    # It is put back from 03:00 to 02:00 on 25 October 2026: the first of the two counts.
    ("2026-10-24T22:00+00:00", "2026-10-25T00:30+00:00"),
    ("2026-10-25T00:30+00:00", "2026-10-26T01:30+00:00"),
])  # fmt: skip
def test_it_finds_the_next_shift_in_the_nights_when_the_clock_is_changed(moment, start):
    """Dates and times of the change: the European Union's summer-time rule (last Sundays, 01:00 UTC)."""
    assert shift_after(datetime.fromisoformat(moment), "02:30", "Europe/Vienna") == datetime.fromisoformat(start)


@pytest.mark.parametrize("content", [
    ("shift", None, ""), ("shift", None, "14:00 06:00"), ("shift", None, "6:00"), ("shift", 3, "06:00"),
    ("hours", None, ""), ("never", 8, ""),
])  # fmt: skip
def test_it_refuses_a_rule_that_says_nothing(bench, content):
    due, every, starts = content
    with pytest.raises(ValueError):
        add_rule(bench.db, bench.meter, due, every, starts, 600, 3, "x", bench.who("lead"), bench.now)


def test_it_notices_numbers_that_were_edited_and_mends_them(bench):
    check(bench, 0)
    sample = read(bench, 10)
    failed = check(bench, 20, BAD, GOOD)
    assert (checks.rebuild(bench.db), results.rebuild(bench.db)) == ([], [])
    bench.db.conn.execute("UPDATE meter_check_result SET found = 0.1, passed = 1 WHERE check_id = ?", (failed.id,))
    bench.db.conn.execute("UPDATE part_result SET meter_state = 'proven' WHERE batch_id = ?", (sample.batch_id,))
    assert checks.rebuild(bench.db) == [f"meter check {failed.id}"]
    assert checks.rebuild(bench.db, store=True) == [f"meter check {failed.id}"]
    assert checks.rebuild(bench.db) == []
    assert checks.get_check(bench.db, failed.id) == failed
    assert results.rebuild(bench.db, store=True) == [f"the result of batch {sample.batch_id}"]
    assert results.rebuild(bench.db) == []
    assert kept(bench, sample) == "doubted"
