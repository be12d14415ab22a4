"""The demo holds what a real bench would show, and holds it as the software itself would have stored it."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from random import Random
from statistics import mean

import pytest

from demo import environment, nature
from demo.scenario import load
from tests.demo.conftest import VIENNA
from webapp.measure import nested
from webapp.measure import routine as rules
from webapp.store import (
    blends,
    checks,
    compared,
    comparisons,
    decisions,
    ledger,
    look_backs,
    precision,
    results,
    routine,
    standings,
    witnesses,
)
from webapp.store.times import from_text, to_text

# Everything about a batch but the ids, of which some are random.
STORY = (
    "SELECT b.code, b.day, b.roasted_at, b.green_g, b.roasted_g, b.lot, p.name, w.name AS roaster, r.verdict,"
    " (SELECT group_concat(s.kind || s.made_at || s.checklist || (SELECT group_concat(typed || void_reason, ' ')"
    "  FROM (SELECT * FROM reading WHERE sample_id = s.id ORDER BY fill_no, no)), '/')"
    "  FROM (SELECT * FROM sample WHERE batch_id = b.id ORDER BY received_at) s) AS samples,"
    " (SELECT group_concat(what || reason, '/') FROM (SELECT * FROM decision WHERE batch_id = b.id"
    "  ORDER BY received_at)) AS decisions"
    " FROM batch b JOIN product p ON p.id = b.product_id JOIN person w ON w.id = b.person_id"
    " LEFT JOIN batch_result r ON r.batch_id = b.id ORDER BY b.roasted_at"
)


def test_it_is_built_in_under_a_minute(demo):
    assert demo.seconds < 60


def test_it_is_as_the_software_would_have_stored_it(demo):
    assert list(ledger.faults(demo.db)) == []
    assert results.rebuild(demo.db) == []
    assert checks.rebuild(demo.db) == []


def test_it_covers_ninety_days_without_sundays(demo):
    assert load().days["history"] == environment.MOST_DAYS == environment.days() == 90
    days = [date.fromisoformat(day) for (day,) in demo.rows("SELECT DISTINCT day FROM batch ORDER BY day")]
    assert days[-1] == date(2026, 5, 14)
    assert days[0] >= days[-1] - timedelta(days=89)
    expected = {days[-1] - timedelta(days=n) for n in range(90)}
    assert set(days) == {day for day in expected if day.weekday() != 6}


def test_it_has_a_believable_number_of_batches_each_day(demo):
    for day, count in demo.rows("SELECT day, count(*) FROM batch GROUP BY day"):
        if date.fromisoformat(day) < demo.now.date():
            assert (4 <= count <= 7) if date.fromisoformat(day).weekday() == 5 else (8 <= count <= 16), day


def test_it_knows_nothing_of_the_future(demo):
    now = to_text(demo.now)
    times = (("batch", "received_at"), ("sample", "received_at"), ("decision", "made_at"), ("ledger", "at"))
    for table, column in times:
        assert demo.rows(f"SELECT count(*) FROM {table} WHERE {column} > ?", now) == [(0,)], table


def test_it_tells_the_same_story_for_the_same_day_and_time(short):
    now = datetime(2026, 3, 11, 11, 5, tzinfo=VIENNA)
    first, second = short(now, "first.db"), short(now, "second.db")
    assert first.rows(STORY) == second.rows(STORY)
    assert len(first.rows(STORY)) > 20


def test_it_tells_another_story_on_another_day(short):
    first = short(datetime(2026, 3, 11, 11, 5, tzinfo=VIENNA), "first.db")
    second = short(datetime(2026, 3, 12, 11, 5, tzinfo=VIENNA), "second.db")
    assert first.rows(STORY) != second.rows(STORY)


def test_it_only_adds_as_the_day_goes_on(short):
    """The days before are the same whether the demo is built at noon or in the evening."""
    noon = short(datetime(2026, 3, 11, 11, 0, tzinfo=VIENNA), "noon.db", 3)
    evening = short(datetime(2026, 3, 11, 19, 0, tzinfo=VIENNA), "evening.db", 3)
    before_today = [row for row in noon.rows(STORY) if row[1] < "2026-03-11"]
    assert before_today == [row for row in evening.rows(STORY) if row[1] < "2026-03-11"]
    assert len(evening.rows(STORY)) > len(noon.rows(STORY))


@pytest.mark.parametrize(
    "now",
    [
        datetime(2026, 5, 17, 10, 0, tzinfo=VIENNA),  # a Sunday
        datetime(2026, 5, 14, 0, 4, tzinfo=VIENNA),  # just past midnight
        datetime(2026, 5, 14, 3, 0, tzinfo=VIENNA),
        datetime(2026, 3, 29, 3, 30, tzinfo=VIENNA),  # the hour after the clock went forward
        datetime(2026, 5, 14, 23, 58, tzinfo=VIENNA),
    ],
)
def test_it_has_batches_today_whenever_it_is_started(short, now):
    built = short(now, days=2)
    today = built.rows("SELECT roasted_at FROM batch WHERE day = ?", now.date().isoformat())
    assert len(today) >= 7
    assert max(today)[0] <= to_text(now)


def test_it_leaves_something_to_do_today(demo):
    today = demo.now.date().isoformat()
    verdicts = [v for (v,) in demo.rows(
        "SELECT coalesce(r.verdict, 'unmeasured') FROM batch b LEFT JOIN batch_result r ON r.batch_id = b.id"
        " WHERE b.day = ? ORDER BY b.roasted_at", today,
    )]  # fmt: skip
    assert verdicts[-1] == "unmeasured"
    assert "incomplete" in verdicts
    assert verdicts.count("inside") >= 3
    assert {"outside", "undecided"} & set(verdicts)
    last = dict(demo.rows(
        "SELECT d.batch_id, d.what FROM decision d JOIN batch b ON b.id = d.batch_id WHERE b.day = ?"
        " ORDER BY d.received_at", today,
    ))  # fmt: skip
    assert "hold" in last.values()


def test_it_shows_two_scales_of_opposite_direction(demo):
    assert sorted(demo.rows("SELECT DISTINCT c.lighter FROM sample s JOIN meter m ON m.id = s.meter_id"
                            " JOIN scale c ON c.id = m.scale_id")) == [(-1,), (1,)]  # fmt: skip


def spread_of_demo(demo, kind: str) -> tuple[float, float]:
    """(standard deviation of readings of one fill, of fills of one sample) on the first scale."""
    rows = demo.rows(
        "SELECT r.sample_id, r.fill_no, r.value FROM reading r JOIN sample s ON s.id = r.sample_id"
        " JOIN meter m ON m.id = s.meter_id JOIN scale c ON c.id = m.scale_id"
        " WHERE c.lighter = 1 AND s.kind = ? AND r.void_reason = ''", kind,
    )  # fmt: skip
    fills: dict[tuple, list[float]] = {}
    for sample_id, fill_no, value in rows:
        fills.setdefault((sample_id, fill_no), []).append(value / 100)
    within = [sum((v - mean(vs)) ** 2 for v in vs) / (len(vs) - 1) for vs in fills.values() if max(vs) - min(vs) < 3]
    pairs = [
        (mean(vs) - mean(fills[sample_id, 2])) ** 2 / 2
        for (sample_id, fill_no), vs in fills.items()
        if fill_no == 1 and (sample_id, 2) in fills and max(vs) - min(vs) < 3
    ]
    return mean(within) ** 0.5, mean(pairs) ** 0.5


def test_its_fills_vary_more_than_its_readings(demo):
    readings, fills = spread_of_demo(demo, "whole")
    assert readings < fills
    assert 0.1 < readings < 0.5
    assert 0.2 < fills < 1.0


def found(demo, meter: str) -> list[tuple[str, float, int, int]]:
    """(when, deviation as found, passed, proven) of a meter's checks, oldest first."""
    return demo.rows(
        "SELECT r.made_at, r.found, r.passed, r.proven FROM meter_check_result r JOIN meter m ON m.id = r.meter_id"
        " WHERE m.name = ? ORDER BY r.made_at", meter,
    )  # fmt: skip


def test_every_meter_is_checked_twice_a_day(demo):
    """Before the first batch, and again at midday; on Saturdays nobody is there then."""
    for name, due in (("Meter A", "hours"), ("Meter B", "hours"), ("Meter C", "shift")):
        assert demo.rows("SELECT r.due FROM meter_rule r JOIN meter m ON m.id = r.meter_id WHERE m.name = ?", name) == [
            (due,)
        ]
        days = [date.fromisoformat(day).weekday() for (day,) in demo.rows("SELECT DISTINCT day FROM batch")]
        # At half past one the second shift of today has not begun yet.
        missing = days.count(5) + (due == "shift")
        assert len(found(demo, name)) == 2 * len(days) - missing
    assert demo.rows("SELECT DISTINCT count(*) FROM meter_check_step GROUP BY check_id") == [(4,)]
    assert demo.rows("SELECT DISTINCT count(*) FROM meter_check_reading GROUP BY check_id, stage") == [(3,)]


def test_one_meter_drifts_until_its_check_fails_and_is_good_again(demo):
    (failed,) = [at for at, _off, passed, _proven in found(demo, "Meter B") if not passed]
    assert timedelta(days=22) < demo.now - from_text(failed) < timedelta(days=34)
    offs = [(at, off) for at, off, _passed, _proven in found(demo, "Meter B")]
    first, before = [off for _at, off in offs][:40], [off for at, off in offs if at < failed][-10:]
    after = [off for at, off in offs if at > failed][:10]
    assert mean(before) < -0.08
    assert max(abs(mean(first)), abs(mean(after))) < 0.1
    assert all(passed for _at, _off, passed, _proven in found(demo, "Meter A"))
    assert all(proven for name in "ABC" for _at, _off, _passed, proven in found(demo, f"Meter {name}"))


def test_coffee_and_plate_see_the_same_error():
    told = load()
    meter, person, product = told.get("meters", "meter_b"), told.people[0], told.products[0]
    errors, day = nature.Errors(told), -30
    for adjusted in (False, True):
        if adjusted:
            errors.adjust(meter, day)
        error = errors.of(meter, day)
        right, seen = (nature.Dish(Random(1), told, product, "whole", 0.0, person, meter, e, day) for e in (0.0, error))
        assert seen.level - right.level == pytest.approx(error)
        plate = nature.plate_readings(Random(1), told, meter, error, 2000)
        assert mean(plate) / 100 - 62.1 == pytest.approx(error, abs=0.07)
        assert (error == 0) is adjusted


def test_one_look_back_is_closed_and_one_is_open(demo):
    closed, opened = (checks.get_check(demo.db, id) for id in reversed(look_backs.failed_checks(demo.db)))
    assert (closed.adjusted, opened.adjusted) == (True, True)
    entry = look_backs.closed_by(demo.db, closed)
    assert from_text(entry.made_at) - from_text(closed.made_at) < timedelta(days=1)
    said = [d.entry.what for d in look_backs.doubts(demo.db, closed)]
    assert said.count("reread") == 1
    assert "accepted" in said
    assert from_text(opened.made_at).astimezone(VIENNA).date() == date(2026, 5, 13)
    assert look_backs.open_count(demo.db, opened) == look_backs.sample_count(demo.db, opened) >= 2
    doubted = "SELECT DISTINCT b.day FROM batch_result r JOIN batch b ON b.id = r.batch_id WHERE r.meter_state = ?"
    assert demo.rows(doubted, "doubted") == [("2026-05-13",)]


def test_everything_of_today_is_proven(demo, short):
    early = short(datetime(2026, 5, 18, 0, 4, tzinfo=VIENNA), days=4)
    busy = short(datetime(2026, 5, 14, 8, 30, tzinfo=VIENNA), "busy.db", 4)
    for built in (demo, early, busy):
        today = built.now.date().isoformat()
        states = "SELECT DISTINCT r.meter_state FROM batch_result r JOIN batch b ON b.id = r.batch_id WHERE b.day = ?"
        assert built.rows(states, today) == [("proven",)]
        assert sum(checks.get_check(built.db, id).passed for id in look_backs.failed_checks(built.db)) == 0
        for table in ("meter_check", "grinder_event", "comparison_sample", "precision_fill"):
            assert built.rows(f"SELECT count(*) FROM {table} WHERE made_at > ?", to_text(built.now)) == [(0,)]


def test_the_grinder_has_a_log_and_its_grind_is_checked(demo):
    events = demo.rows("SELECT what, count(*) FROM grinder_event GROUP BY what ORDER BY what")
    assert events == [("burrs", 1), ("cleaned", 12), ("setting", 3)]
    shares = demo.rows("SELECT made_at, passing_cg * 1.0 / total_cg, sieve_um FROM grind_check ORDER BY made_at")
    assert {from_text(at).weekday() for at, _share, _sieve in shares} == {0}
    assert len(shares) == 13
    assert all(0.69 < share < 0.76 and sieve == 850 for _at, share, sieve in shares)
    assert mean(share for _at, share, _sieve in shares[-5:]) > mean(share for _at, share, _sieve in shares[:5])


def test_new_burrs_are_a_new_version_and_the_targets_follow_a_comparison(demo):
    assert demo.rows(
        "SELECT v.no, v.reason != '', s.name FROM method_version v JOIN method m ON m.id = v.method_id"
        " JOIN grinder_setting s ON s.id = v.grinder_setting_id WHERE m.kind = 'ground' ORDER BY v.no"
    ) == [(1, 0, "4.0"), (2, 1, "4.0 on the new burrs")]
    read = "SELECT avg(r.value) FROM part_result r JOIN method_version v ON v.id = r.method_version_id" \
        " JOIN batch b ON b.id = r.batch_id JOIN product p ON p.id = b.product_id" \
        " WHERE r.kind = 'ground' AND p.short = 'LH' AND v.no = ?"  # fmt: skip
    (before,), (after,) = demo.rows(read, 1)[0], demo.rows(read, 2)[0]
    assert 0.6 < after - before < 1.6
    assert demo.rows("SELECT outcome, coffees FROM comparison_outcome") == [("move", 10), ("move", 10)]
    assert demo.rows("SELECT count(*) FROM comparison_target") == [(7,)]
    (first, second, third) = [centre for (centre,) in demo.rows(
        "SELECT t.centre FROM target_band t JOIN target_version v ON v.id = t.target_version_id"
        " JOIN product p ON p.id = v.product_id WHERE p.short = 'LH' AND t.kind = 'ground' ORDER BY v.no"
    )]  # fmt: skip
    assert (first, third) == (6100, second)
    assert 6180 <= second <= 6240
    marked = demo.rows(
        "SELECT min(b.day), max(b.day) FROM batch_result r JOIN batch b ON b.id = r.batch_id"
        " WHERE r.grinder_state = 'burrs'"
    )
    assert marked == [("2026-04-06", "2026-04-09")]


def test_a_comparison_of_two_meters_is_under_way_today(demo):
    (row,) = demo.rows(
        "SELECT id, what, kind, blind, made_at FROM comparison c WHERE what <> 'people' AND NOT EXISTS"
        " (SELECT 1 FROM comparison_outcome o WHERE o.comparison_id = c.id)"
    )
    assert row[1:4] == ("meters", "whole", 1)
    assert row[4] >= "2026-05-14"
    comparison = comparisons.get_comparison(demo.db, row[0])
    assert (comparison.a.meter.name, comparison.b.meter.name) == ("Meter A", "Meter B")
    assert len(comparison.coffees) == 12
    assert len(compared.complete(comparison, compared.values(demo.db, comparison))) == 5


def test_a_precision_study_is_accepted_and_another_is_under_way(demo):
    """The finished one finds about what the demo is made with (nature.py): 0.14 from reading to reading, 0.24 from fill
    to fill, each within its own interval."""
    under_way, finished = precision.list_studies(demo.db)
    assert [len(study.places) for study in (under_way, finished)] == [12, 12]
    assert len(precision.list_fills(demo.db, under_way.id)) == 5
    assert under_way.made_at >= "2026-05-14"
    part = nested.complete_part(precision.values(demo.db, finished), 3)
    found, spread = nested.components(part.values), load().spread
    assert found.interval_r[0] < spread["reading"]["ground"] < found.interval_r[1]
    assert found.interval_f[0] < spread["fill"]["ground"] < found.interval_f[1]
    accepted = precision.accepted_for(demo.db, finished.method.id, finished.scale.id)
    assert (accepted.study_id, accepted.sigma_r, accepted.sigma_f) == (finished.id, found.sigma_r, found.sigma_f)
    assert from_text(accepted.made_at).date() == date(2026, 4, 24)
    # From then on everything that is read by this method on this scale is judged by it.
    sources = demo.rows(
        "SELECT DISTINCT s.sigma_source, s.received_at > ? FROM sample s JOIN meter m ON m.id = s.meter_id"
        " WHERE s.method_version_id = ? AND m.scale_id = ?",
        accepted.received_at, finished.method.id, finished.scale.id,
    )  # fmt: skip
    assert ("study", 1) in sources
    assert {source == "study" for source, after in sources if after} == {True}
    assert {source == "study" for source, after in sources if not after} == {False}


def test_one_sample_was_ground_elsewhere_and_read_again(demo):
    assert demo.rows(
        "SELECT b.day, r.kind, r.samples, r.apart, r.apart_why FROM part_result r JOIN batch b ON b.id = r.batch_id"
        " WHERE r.apart > 0"
    ) == [("2026-05-13", "ground", 1, 1, None)]


def test_one_product_walks_darker(demo):
    values = [v for (v,) in demo.rows(
        "SELECT r.position FROM part_result r JOIN batch b ON b.id = r.batch_id JOIN product p ON p.id = b.product_id"
        " WHERE r.kind = 'whole' AND p.short = 'PB' ORDER BY b.roasted_at"
    )]  # fmt: skip
    assert mean(values[-3:]) < mean(values[:-20]) - 0.5


def test_one_mass_is_another_batch_s_and_the_colour_tells(demo):
    [(product_id, of_other)] = demo.rows(
        "SELECT b.product_id, b.code FROM batch b JOIN product p ON p.id = b.product_id"
        " WHERE p.short = 'LH' AND 100.0 * (b.green_g - b.roasted_g) / b.green_g > 17"
    )  # fmt: skip
    [found] = witnesses.disagreeing(demo.db, product_id)
    assert found.point.code == of_other
    assert (found.kind, found.doubt.odd) == ("ground", "loss")
    # With every product looked at, there is little besides: see measure.witness for how much is to be expected.
    products = [id for (id,) in demo.rows("SELECT id FROM product")]
    assert sum(len(witnesses.disagreeing(demo.db, id)) for id in products) <= 3


def test_one_blend_was_tried_read_and_carried_out(demo):
    [blend] = blends.list_blends(demo.db)
    assert (blend.decision, bool(blend.carried_out)) == ("release", True)
    assert len(blend.parts) >= 2
    assert {decisions.last_decision(demo.db, part.batch_id).what for part in blend.parts} == {"blend"}
    [(offs,)] = demo.rows(
        "SELECT max(abs(r.value - x.value) / x.u) FROM blend_expected x JOIN part_result r ON r.batch_id = ?"
        " AND r.kind = x.kind", blend.batch_id,
    )  # fmt: skip
    assert offs < 4


def test_some_batches_are_unmeasured_half_measured_corrected_or_read_twice(demo):
    count = "SELECT count(*) FROM batch b WHERE b.day < '2026-05-13' AND "
    assert demo.rows(count + "NOT EXISTS (SELECT 1 FROM sample s WHERE s.batch_id = b.id)")[0][0] >= 5
    assert demo.rows(count + "(SELECT verdict FROM batch_result r WHERE r.batch_id = b.id) = 'incomplete'")[0][0] >= 5
    assert demo.rows("SELECT count(*) FROM correction")[0][0] >= 5
    assert demo.rows("SELECT count(*) FROM reading WHERE void_reason != ''")[0][0] >= 10
    twice = demo.rows(
        "SELECT count(DISTINCT tablet_id), count(DISTINCT person_id) FROM sample WHERE kind = 'whole'"
        " AND id NOT IN (SELECT new_sample_id FROM look_back_entry WHERE what = 'reread')"
        " GROUP BY batch_id HAVING count(*) > 1"
    )
    assert twice == [(2, 2)]


def test_a_trainee_walks_every_step(demo):
    assert demo.rows("SELECT DISTINCT checklist FROM sample WHERE role = 'trainee'") == [("walked",)]
    assert demo.rows("SELECT count(*) FROM sample WHERE role = 'trainee'")[0][0] >= 20


def test_nobody_decides_more_than_their_role_may(demo):
    """A trainee decides nothing; a roaster releases only what is in band, and may hold anything."""
    allowed = {("roaster", "release", "inside"), ("roaster", "hold", "undecided"), ("roaster", "hold", "outside")}
    for role, what, verdict in demo.rows(
        "SELECT DISTINCT p.role, d.what, d.verdict FROM decision d JOIN person p ON p.id = d.person_id"
    ):
        assert role == "lead" or (role, what, verdict) in allowed


def test_its_pins_are_six_digits_that_the_app_would_take():
    from webapp.people.pins import pin_fault

    pins = [person.pin for person in load().people]
    assert len(set(pins)) == len(pins)
    assert [pin for pin in pins if pin_fault(pin)] == []


def test_the_fills_of_last_month_stand_out_and_no_others(demo):
    """Whole beans on scale A: April 2026 is the one month whose fills the page of routine precision points at."""
    everything = [m for m in routine.list_months(demo.db, "2026-01") if m.spread.samples > 100 and m.spread.df_f >= 10]
    versions = {row["id"]: row["kind"] for row in demo.db.query(
        "SELECT v.id, m.kind FROM method_version v JOIN method m ON m.id = v.method_id"
    )}  # fmt: skip
    whole = [m for m in everything if versions[m.method_version_id] == "whole"]
    assert len({(m.method_version_id, m.scale_id) for m in whole}) == 1
    rest = routine.all_months(demo.db, whole[0].method_version_id, whole[0].scale_id)
    words = {}
    for month in whole:
        other = rest.without(month.spread)
        words[month.month] = rules.judge_beside(month.spread.ss_f, month.spread.df_f, other.ss_f, other.df_f, 0.1).word
    assert words.pop("2026-04") == "wide"
    assert set(words.values()) == {"fine"}


def test_the_trainee_is_signed_off_for_whole_bean_and_under_way_for_ground(demo):
    assert demo.rows("SELECT kind, what, coffees FROM signoff") == [("whole", "signed_off", 10)]
    under_way = demo.rows(
        "SELECT kind, (SELECT count(*) FROM comparison_sample s WHERE s.comparison_id = c.id) FROM comparison c"
        " WHERE what = 'people' AND NOT EXISTS (SELECT 1 FROM signoff s WHERE s.comparison_id = c.id)"
    )
    assert under_way == [("ground", 10)]


def test_what_the_trainee_read_before_is_countersigned_and_the_newest_waits(demo):
    assert demo.rows("SELECT count(*) FROM countersignature")[0][0] >= 20
    days = demo.rows(
        "SELECT DISTINCT b.day FROM batch b JOIN batch_result r ON r.batch_id = b.id WHERE r.hands_state = 'waiting'"
    )
    last = demo.rows("SELECT max(day) FROM batch")
    assert days == last


def test_it_is_found_which_products_walk(demo):
    """Paper Boat's walk, in both kinds. By chance alone a steady run has a signal among its last eight batches about
    once in ten (one in 88 batches): of nearly twenty others at most five, which is exceeded once in a hundred times.
    (The demo has one story of this kind; the knocked meter was found and set right, and its batches are in doubt.)"""
    stands = [stand for of_it in standings.of_all(demo.db).values() for stand in of_it]
    told = {(s.product_name, s.state.kind, s.state.side) for s in stands if s.state.changed}
    planted = {("Paper Boat", "whole", "darker"), ("Paper Boat", "ground", "darker")}
    assert planted <= told
    assert len(told - planted) <= 5
    walking = [s for s in stands if s.product_name == "Paper Boat" and s.state.kind == "whole"]
    assert walking[0].state.lean < -1
    assert "Paper Boat" in {s.product_name for s in standings.of_day(demo.db, "2026-05-14")}
