"""How each product stands is kept as its trend's page would say it, whatever changed a result, and can be rebuilt."""

import random
import shutil
import uuid
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.store.histories import Morning
from tests.support.roastery import Roastery, later
from webapp.measure.charts import LEAST_BASELINE
from webapp.store import (
    baselines,
    connect,
    corrections,
    gear,
    methods,
    migrations,
    products,
    results,
    samples,
    trend_rules,
    trend_states,
)
from webapp.store.products import TargetBand
from webapp.store.trends import ALL, KINDS, USUAL
from webapp.trends import run

STEADY = [
    56.2, 55.9, 56.1, 56.0, 55.8, 56.2, 56.0, 55.9, 56.1, 55.8, 56.2, 56.0, 56.1, 55.9, 56.0, 56.2, 55.8, 56.1, 55.9,
    56.0, 56.1, 55.9, 56.2, 55.8,
]  # fmt: skip


@pytest.fixture
def roast(bench):
    """roast(values) measures one batch for each value, an hour apart, the last one `ago` hours ago."""

    def made(values, kind="whole", ago=1, **how):
        found = []
        for no, value in enumerate(values):
            at = bench.now - timedelta(hours=len(values) - 1 - no + ago)
            batch = bench.batch(f"T-{ago}-{no:03}", at=at)
            found.append(bench.sample(batch.id, kind, [value] * 3, at=at + timedelta(minutes=5), **how))
        return found

    return made


@pytest.fixture(scope="module")
def roastery(templates, tmp_path_factory):
    """roastery() gives a fresh one for each example."""
    opened = []

    def made():
        path = tmp_path_factory.mktemp("example") / "bench.db"
        opened.append(connect.connect(shutil.copy(templates["roastery"], path)))
        bench = Roastery(opened[-1], now=datetime.now(UTC))
        bench.__dict__.update({k: v for k, v in templates["made"].__dict__.items() if k not in ("db", "now")})
        return bench

    yield made
    for db in opened:
        db.close()


def as_the_page_says(db, product_id, kind):
    """The same from the page's own look at the newest results."""
    it = run.look_at(db, product_id, kind, ALL, USUAL)
    if not it.trend.points:
        return None
    points, said, able = it.trend.points, it.advice, it.capability
    side = None if said.side is None else "lighter" if said.side == "above" else "darker"
    return {
        "batches": len(points), "last_batch_id": points[-1].batch_id, "scale_id": it.trend.scale_id,
        "method_version_id": it.trend.method_version_id, "looked_at": len(points) + it.trend.apart,
        "word": said.word, "rule": said.rule, "side": side, "sure": said.sure, "missing": it.missing,
        "point_batch_id": None if said.point is None else points[said.point].batch_id,
        "since_batch_id": None if said.since is None else points[said.since].batch_id,
        "sigma": it.limits.sigma if it.limits else None,
        "centre": it.limits.centre * it.way if it.limits else points[-1].value,
        "cp": able.cp.value if able and able.cp else None, "cpk": able.cpk.value if able else None,
    } | ({"judged": able.values, "outside": able.values - able.inside} if able else {})  # fmt: skip


def agree(db):
    """Every product and kind: what is kept, what the page says, and what a rebuild finds."""
    for product in products.list_products(db, active_only=False):
        for kind in KINDS:
            state, page = trend_states.find_state(db, product.id, kind), as_the_page_says(db, product.id, kind)
            kept = state and {name: getattr(state, name) for name in page}
            assert kept == page, kind
    assert results.rebuild(db) == []


@pytest.mark.parametrize("seed", range(6))
def test_it_is_what_the_trend_page_says_after_any_history(bench, seed):
    """Two scales that run either way, methods and targets that change, corrections, voided readings."""
    dice, history = random.Random(seed), Morning(bench, seed, bench.now)
    for _step in range(6):
        history.work(dice.randint(3, 12))
        agree(bench.db)


@settings(max_examples=6, deadline=None)
@given(
    values=st.lists(st.integers(540, 585), min_size=18, max_size=32),
    order=st.randoms(use_true_random=False),
    data=st.data(),
)
def test_it_is_what_the_trend_page_says_in_whatever_order_samples_arrive(roastery, values, order, data):
    """Late ones, corrected ones, another meter's scale, a choice of rules, a baseline."""
    bench = roastery()
    places = list(range(len(values)))
    order.shuffle(places)
    for no in places:
        at = bench.now - timedelta(hours=len(values) - no)
        batch = bench.batch(f"H-{no:03}", at=at)
        other = {"meter": bench.flipped_meter} if data.draw(st.integers(0, 15)) == 0 else {}
        sample = bench.sample(batch.id, "whole", [values[no] / 10] * 2, at=at, **other)
        if data.draw(st.integers(0, 9)) == 0:
            value = data.draw(st.sampled_from([None, 5600]))
            corrections.add_correction(
                bench.db, str(uuid.uuid4()), sample.id, 1, 1, value, "So.", bench.who(), bench.now
            )
    agree(bench.db)
    rules = trend_rules.Rules(data.draw(st.sampled_from([(1,), (1, 4), (1, 2, 3, 4)])), data.draw(st.booleans()))
    trend_rules.add_choice(bench.db, str(uuid.uuid4()), rules, "Fewer.", bench.who("lead"), bench.now)
    agree(bench.db)


def test_it_is_not_there_before_anything_was_read(bench, db):
    bench.batch()
    assert trend_states.list_states(db) == {}
    agree(db)


def test_it_says_how_many_are_missing(db, bench, roast):
    roast(STEADY[:17])
    state = trend_states.find_state(db, bench.product, "whole")
    assert (state.word, state.missing, state.batches, state.lean) == ("too_few", 3, 17, None)


def test_it_names_the_batch_at_which_something_changed(db, bench, roast):
    made = roast([*STEADY, 54.2])
    state = trend_states.find_state(db, bench.product, "whole")
    assert (state.word, state.rule, state.side) == ("changed", 1, "darker")
    assert state.point_batch_id == state.since_batch_id == state.last_batch_id == made[-1].batch_id
    assert state.lean < -0.5
    agree(db)


def test_it_changes_with_a_correction_of_an_old_reading(db, bench, roast):
    """Typed wrong twelve batches ago: the limits were too wide to see anything."""
    made = roast([*STEADY[:12], 61.0, *STEADY[12:], 55.0, 55.1])
    assert trend_states.find_state(db, bench.product, "whole").word != "changed"
    for no in (1, 2, 3):
        corrections.add_correction(
            db, str(uuid.uuid4()), made[12].id, 1, no, 5610, "Typed wrong.", bench.who(), bench.now
        )
    state = trend_states.find_state(db, bench.product, "whole")
    assert (state.word, state.side, state.point_batch_id) == ("changed", "darker", made[-2].batch_id)
    agree(db)


def test_it_forgets_a_batch_whose_readings_are_all_void(db, bench, roast):
    only = roast([56.0])[0]
    for no in (1, 2, 3):
        corrections.add_correction(db, str(uuid.uuid4()), only.id, 1, no, None, "Wrong dish.", bench.who(), bench.now)
    assert trend_states.list_states(db) == {}
    agree(db)


def test_it_takes_a_sample_that_arrives_late_where_it_belongs(db, bench, roast):
    roast([*STEADY, 54.2])
    late = bench.batch("T-late", at=bench.now - timedelta(hours=200))
    bench.sample(late.id, "whole", [56.1] * 3, at=bench.now - timedelta(hours=199))
    assert trend_states.find_state(db, bench.product, "whole").batches == 26
    agree(db)


def test_it_starts_anew_with_another_version_of_the_method_and_knows_the_older_one_again(db, bench, roast):
    roast(STEADY)
    old = bench.versions["whole"]
    made = methods.add_version(db, old.method_id, old.dish, 3, 1, None, old.steps, "New dish.", bench.who("lead"),
                               bench.now)  # fmt: skip
    bench.versions = bench.versions | {"whole": methods.get_version(db, made)}
    batch = bench.batch("T-new", at=bench.now - timedelta(minutes=50))
    bench.sample(batch.id, "whole", [57.0] * 3, at=bench.now - timedelta(minutes=40))
    state = trend_states.find_state(db, bench.product, "whole")
    assert (state.method_version_id, state.batches, state.word) == (made, 1, "too_few")
    bench.versions = bench.versions | {"whole": old}
    batch = bench.batch("T-old", at=bench.now - timedelta(minutes=30))
    bench.sample(batch.id, "whole", [56.0] * 3, at=bench.now - timedelta(minutes=20))
    assert trend_states.find_state(db, bench.product, "whole").batches == len(STEADY) + 1
    agree(db)


def test_it_leaves_out_what_was_kept_apart(db, bench, roast):
    roast([value + 5 for value in STEADY], kind="ground", ago=2)
    other = gear.add_grinder_setting(db, bench.grinder, "Finer", bench.who("lead"), bench.now)
    batch = bench.batch("T-apart", at=bench.now - timedelta(minutes=50))
    bench.sample(batch.id, "ground", [70.0] * 3, at=bench.now, setting=other)
    state = trend_states.find_state(db, bench.product, "ground")
    assert (state.batches, state.looked_at, state.last_batch_id != batch.id) == (24, 25, True)
    agree(db)


def test_it_is_judged_by_a_baseline_as_soon_as_there_is_one(db, bench, roast):
    """Twenty-four around 57 since the baseline of twenty around 56: by their own limits they are steady."""
    old = roast(STEADY[:LEAST_BASELINE], ago=50)
    roast([value + 1 for value in STEADY])
    place = baselines.Place(bench.product, "whole", bench.scale, bench.versions["whole"].id)
    limits = baselines.Frozen(old[0].batch_id, old[-1].batch_id, LEAST_BASELINE, 56.0, 0.2)
    new = baselines.NewBaseline(str(uuid.uuid4()), place, limits, "")
    baselines.add_baseline(db, new, bench.who("lead"), bench.now)
    state = trend_states.find_state(db, bench.product, "whole")
    assert (state.baseline_id, state.word, state.side, state.centre) == (new.id, "changed", "lighter", 56.0)
    given_up = baselines.NewBaseline(str(uuid.uuid4()), place, None, "Another roast from now on.")
    baselines.add_baseline(db, given_up, bench.who("lead"), later(bench.now, minutes=1))
    assert trend_states.find_state(db, bench.product, "whole").baseline_id is None


def test_it_listens_for_what_was_chosen(db, bench, roast):
    """Eight in a row on one side are a signal of the fourth rule alone."""
    roast([*STEADY, *[56.1] * 8])
    assert trend_states.find_state(db, bench.product, "whole").rule == 4
    for no, rules in enumerate([trend_rules.Rules((1,), False), trend_rules.Rules()]):
        moment = later(bench.now, minutes=no)
        trend_rules.add_choice(db, str(uuid.uuid4()), rules, "Tried.", bench.who("lead"), moment)
        assert trend_states.find_state(db, bench.product, "whole").changed == bool(no)
    agree(db)


def test_it_keeps_the_band_by_which_the_newest_was_judged(db, bench, roast):
    roast(STEADY)
    before = trend_states.find_state(db, bench.product, "whole")
    assert before.cp > 1
    products.add_target_version(
        db, bench.product, bench.scale, "guarded", 0.8, None, None, [TargetBand("whole", 5590, 5600, 5610)], "Strict.",
        bench.who("lead"), bench.now - timedelta(minutes=30),
    )  # fmt: skip
    assert trend_states.find_state(db, bench.product, "whole") == before
    agree(db)
    batch = bench.batch("T-strict", at=bench.now - timedelta(minutes=20))
    bench.sample(batch.id, "whole", [56.0] * 3, at=bench.now)
    assert (after := trend_states.find_state(db, bench.product, "whole")).word == "cannot_hold"
    assert after.sure
    assert after.outside > 0
    agree(db)


def test_it_has_no_share_against_a_band_on_another_scale(db, bench, roast):
    roast(STEADY[:3], meter=bench.flipped_meter)
    state = trend_states.find_state(db, bench.product, "whole")
    assert (state.judged, state.outside, state.cpk) == (0, 0, None)
    agree(db)


def test_it_looks_at_the_newest_hundred(db, bench, roast):
    """The step of the first five is beyond them."""
    roast([*[50.0] * 5, *(STEADY * 5)[:USUAL]])
    state = trend_states.find_state(db, bench.product, "whole")
    assert (state.batches, state.looked_at, state.outside) == (USUAL, USUAL, 0)
    agree(db)


CHANGES = ["centre = centre + 0.01", "word = 'leave'", "batches = 3", "outside = 1", "sure = 1"]


@pytest.mark.parametrize("change", CHANGES)
def test_it_is_named_and_mended_if_it_was_tampered_with(db, bench, roast, change):
    roast(STEADY[:8])
    before = trend_states.list_states(db)
    db.conn.execute(f"UPDATE trend_state SET {change}")
    said = [f"the trend of product {bench.product}, whole"]
    assert results.rebuild(db) == said
    assert results.rebuild(db, store=True) == said
    assert trend_states.list_states(db) == before
    assert results.rebuild(db) == []


def test_it_is_not_blamed_for_a_result_that_was_tampered_with(db, bench, roast):
    """The state is that of the right results."""
    made = roast(STEADY[:8])
    before = trend_states.list_states(db)
    db.conn.execute("UPDATE part_result SET value = 40 WHERE batch_id = ?", (made[3].batch_id,))
    assert results.rebuild(db) == [f"the result of batch {made[3].batch_id}"]
    assert results.get_parts(db, made[3].batch_id)["whole"].value == 40
    results.rebuild(db, store=True)
    assert trend_states.list_states(db) == before


def test_it_is_filled_by_migrate_on_a_bench_that_has_not_kept_it(db, path, bench, roast):
    roast([*STEADY, 54.2])
    before = trend_states.list_states(db)
    db.conn.execute("DELETE FROM trend_state")
    assert migrations.migrate(path) == []
    assert trend_states.list_states(db) == before


def test_it_is_kept_in_the_transaction_of_the_sample(db, bench, roast, monkeypatch):
    """Nothing of a sample is stored whose state cannot be."""
    roast(STEADY[:3])
    before, batch = trend_states.list_states(db), bench.batch("T-half")

    def broken(*_args):
        raise RuntimeError("no more room")

    monkeypatch.setattr(trend_states, "_keep", broken)
    with pytest.raises(RuntimeError, match="no more room"):
        bench.sample(batch.id, "whole", [56.0] * 3)
    assert samples.get_samples(db, batch.id) == []
    assert trend_states.list_states(db) == before
    with pytest.raises(RuntimeError, match="transaction"):
        trend_states.refresh(db, bench.product, ["whole"])


def test_it_may_be_put_off_to_the_end_of_a_transaction(db, bench, roast):
    roast(STEADY)
    before = trend_states.states_of(db, bench.product)
    with connect.write(db):
        with trend_states.put_off(db):
            roast([58.0] * 3, ago=0)
            assert trend_states.states_of(db, bench.product) == before
        assert trend_states.find_state(db, bench.product, "whole").word == "changed"
    assert results.rebuild(db) == []
    roast([56.0], ago=-1)
    assert trend_states.find_state(db, bench.product, "whole").batches == len(STEADY) + 4


def test_it_is_put_off_in_a_transaction_alone_and_forgotten_with_it(db, bench, roast):
    roast(STEADY)
    before = trend_states.states_of(db, bench.product)
    with pytest.raises(RuntimeError), trend_states.put_off(db):
        pass
    with pytest.raises(TypeError), connect.write(db), trend_states.put_off(db):
        roast([58.0, 58.0, None], ago=0)
    assert trend_states.states_of(db, bench.product) == before
    assert results.rebuild(db) == []
