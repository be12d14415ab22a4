"""What a run says: advice, signals with what happened around them, on scales that run either way."""

import uuid
from datetime import timedelta

import pytest

from webapp.measure.charts import LEAST_BASELINE
from webapp.store import grinder_log, products
from webapp.store.products import TargetBand
from webapp.store.trends import ALL
from webapp.trends import run


@pytest.fixture
def look(db, bench):
    """look(kind) at the newest batches of the product."""

    def at(kind="whole", product=None, most=100):
        return run.look_at(db, product or bench.product, kind, ALL, most)

    return at


def test_it_says_nothing_of_nothing(look):
    it = look()
    assert (it.advice.word, it.missing, it.signals, it.events) == ("too_few", LEAST_BASELINE, (), ())


def test_it_says_nothing_before_there_are_twenty(look, roast, steady):
    roast(steady(LEAST_BASELINE - 1))
    it = look()
    assert (it.advice.word, it.missing, it.signals, it.capability) == ("too_few", 1, (), None)


def test_it_leaves_steady_roasts_alone(look, roast, steady):
    roast(steady(25))
    it = look()
    assert (it.advice.word, it.signals, it.missing) == ("leave", (), 0)
    assert it.capability.inside == 25
    assert it.band == (54.5, 56.0, 57.5)


def test_it_sees_a_change_to_the_dark_side_and_what_was_done_before(look, roast, steady, bench, db):
    roast([*steady(24), 54.2, 54.0])
    when = bench.now - timedelta(hours=3.5)
    grinder_log.add_event(db, str(uuid.uuid4()), bench.grinder, "burrs", None, "", bench.who("lead"), when)
    it = look()
    assert (it.advice.word, it.advice.side, it.advice.rule) == ("changed", "below", 1)
    told = [one for one in it.signals if one.rule == 1]
    assert [(one.point, one.lighter) for one in told] == [(24, False)]
    # Whole beans go through no grinder.
    assert told[0].near == ()


def test_it_names_new_burrs_where_ground_coffee_changed(look, roast, steady, bench, db):
    roast([*steady(24), 54.0, 53.9], ground=5.0)
    when = bench.now - timedelta(hours=2.5)
    grinder_log.add_event(db, str(uuid.uuid4()), bench.grinder, "burrs", None, "", bench.who("lead"), when)
    it = look("ground")
    assert it.advice.word == "changed"
    assert ("burrs", 24) in [(event.what, event.before) for one in it.signals for event in one.near]


def test_it_tells_who_read_for_the_first_time(look, roast, steady):
    roast(steady(12), ago=40)
    roast(steady(12, seed=4), role="trainee")
    assert [(event.what, event.name, event.before) for event in look().events] == [("person", "Tomas", 12)]


def test_it_turns_round_where_small_numbers_are_light(db, bench, roast, steady, look):
    other = products.add_product(
        db, "Paper Boat", "PB", bench.flipped, "guarded", 0.8, None, None, [TargetBand("whole", 4300, 4400, 4500)],
        bench.who("lead"), bench.now - timedelta(days=9),
    )  # fmt: skip
    bench.product, values = other, [round(100 - value, 1) for value in steady(24)]
    roast([*values, 47.0], meter=bench.flipped_meter)
    it = look(product=other)
    # A large number on such a scale is dark.
    assert (it.way, it.advice.side) == (-1, "below")
    assert [one.lighter for one in it.signals if one.rule == 1] == [False]
    assert it.capability.nearer == "lower"
    assert it.limits.centre < 0


def test_it_says_when_a_steady_process_cannot_hold_its_band(db, bench, roast, steady, look):
    products.add_target_version(
        db, bench.product, bench.scale, "guarded", 0.8, None, None, [TargetBand("whole", 5590, 5600, 5610)], "Strict",
        bench.who("lead"), bench.now - timedelta(days=3),
    )  # fmt: skip
    roast(steady(25))
    it = look()
    assert it.advice.word == "cannot_hold"
    assert it.capability.cp.value < 1


def test_it_says_when_a_steady_process_lies_off_the_centre(roast, steady, look):
    roast([value + 1.3 for value in steady(25)])
    it = look()
    assert (it.advice.word, it.advice.side) == ("off_centre", "above")


def test_it_keeps_the_events_that_matter(bench):
    events = [run.Event(no, "", what, "") for no, what in enumerate(["cleaned"] * 25 + ["burrs", "lot"])]
    kept = run.fewer(events, run.MOST_EVENTS)
    assert len(kept) == run.MOST_EVENTS
    assert [event.what for event in kept][-2:] == ["burrs", "lot"]
    # Of equals the newest.
    assert kept[0].before == 7
