"""A blend is no roast: what is said of roasts says nothing of it."""

from __future__ import annotations

import pytest

from tests.support import blending
from tests.support.roastery import later
from webapp.store import batches, months, results, trend_states, trends, witnesses
from webapp.store.shown_before import shown_before


@pytest.fixture
def blend(bench):
    """A read trial, newer than all roasts, far darker than they are."""
    there = blending.stored(bench, {batch.id: 5000 for batch in blending.both_sides(bench)}, "B-mix")
    blending.read(bench, there, 50.0, 55.0)
    return there


@pytest.mark.parametrize("kind", ["whole", "ground", "difference"])
def test_it_is_in_no_run_and_no_standing(bench, blend, kind):
    run = trends.get_trend(bench.db, bench.product, kind, beside=True)
    assert {point.code for point in run.points} == {"B-dark", "B-light"}
    state = trend_states.find_state(bench.db, bench.product, kind)
    assert state.batches == 2
    assert state.last_batch_id != blend.batch_id
    # And the same is found again.
    assert trend_states.work_out(bench.db, bench.product, kind) == state
    assert results.rebuild(bench.db) == []


def test_it_is_nothing_that_the_product_has_shown(bench, blend):
    shown = shown_before(bench.db, bench.product, "whole", bench.scale, bench.versions["whole"])
    assert sorted(shown) == [53.0, 59.0]


def test_it_is_in_no_month(bench, blend):
    month = months.month_of(blending.fresh(bench, blend.batch_id).day[:7], "Europe/Vienna")
    codes = {one.code for one in months.get_batches(bench.db, bench.product, month)}
    assert "B-mix" not in codes
    assert months.count_parts(bench.db, bench.product, "whole", month) == len(codes)
    assert sum(samples for _name, samples in months.count_readers(bench.db, bench.product, month)) == 2 * len(codes)
    assert sum(count for _name, count in months.list_months(bench.db, bench.product)) == 2


def test_loss_and_colour_know_nothing_of_it(bench, blend):
    looked = witnesses.look(bench.db, bench.product, "whole", bench.machine)
    assert len(looked.points) + looked.without_loss == 2


def test_no_batch_is_proposed_after_it(bench, blend):
    """A new batch begins with what this tablet roasted last: a blend has no machine of its own."""
    roasted = bench.batch("R-1", at=later(bench.now, minutes=-1))
    assert batches.last_facts(bench.db, bench.tablet)["lot"] == roasted.lot == "Lot 1"


def test_no_blend_is_offered_for_the_next_blend(bench, blend, sign_in):
    page = sign_in("roaster").page(f"/blends/new?product={bench.product}")
    assert "B-mix" not in {element.text for element in page.find("strong")}
