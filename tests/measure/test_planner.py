"""How many fills and readings, and what they give and cost."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.measure import Sigmas, sample_result
from webapp.measure.planner import Cell, Costs, cheapest, floor, table
from webapp.measure.replicates import FillValue

few = settings(max_examples=60)
sigmas = st.floats(0, 2)
costs = st.builds(Costs, st.floats(0, 10), st.floats(0, 3))
tables = st.builds(table, sigmas, sigmas, st.sampled_from((0.1, 1.0)), st.floats(0, 1), costs)

SEED = 4


def test_it_lays_out_one_to_four_fills_by_one_to_five_readings():
    cells = table(0.3, 0.5, 0.1, 0.1, Costs(1.5, 0.25))
    assert [(c.fills, c.readings) for c in cells] == [(f, r) for f in range(1, 5) for r in range(1, 6)]


def test_it_gives_what_a_result_of_that_plan_would_have():
    """The same formula decides on the bench: JCGM 100, 5.1.2."""
    for cell in table(0.3, 0.5, 0.1, 0.2, Costs(1.5, 0.25)):
        fill = FillValue(56.0, "mean", cell.readings, 0.0, None, "agree", 0)
        result = sample_result([fill] * cell.fills, Sigmas(0.3, 0.5, "study"), 0.1, 0.2)
        assert cell.give_or_take == pytest.approx(result.U, rel=1e-12)
        assert cell.fill_part == pytest.approx(result.fill_term / result.u**2, rel=1e-12)


def test_it_costs_by_hand():
    cells = {(c.fills, c.readings): c for c in table(0.3, 0.4, 0.12, 0.0, Costs(2, 0.5))}
    assert cells[1, 1].minutes == 2.5
    assert cells[3, 2].minutes == 9
    assert cells[1, 1].give_or_take == pytest.approx(2 * math.sqrt(0.16 + 0.09 + 0.0012))
    assert cells[2, 3].give_or_take == pytest.approx(2 * math.sqrt(0.08 + 0.015 + 0.0012))


@few
@given(tables)
def test_more_is_never_worse_and_the_parts_are_the_whole(cells):
    by = {(c.fills, c.readings): c for c in cells}
    for (fills, readings), cell in by.items():
        assert cell.fill_part + cell.reading_part + cell.other_part == pytest.approx(1)
        for more in (by.get((fills + 1, readings)), by.get((fills, readings + 1))):
            if more:
                assert more.give_or_take <= cell.give_or_take * (1 + 1e-12)
                assert more.minutes >= cell.minutes


def test_turning_the_meter_does_not_shrink_the_fills_part():
    cells = [c for c in table(0.3, 0.5, 0.1, 0.1, Costs(1, 1)) if c.fills == 1]
    assert [c.fill_part * (c.give_or_take / 2) ** 2 for c in cells] == pytest.approx([0.25] * 5)
    assert all(c.give_or_take > 2 * 0.5 for c in cells)


def test_its_give_or_take_is_twice_the_scatter_of_simulated_results():
    """Results of 40000 made-up samples of each plan, read in steps on a meter that is off by its own u."""
    print("seed", SEED)
    rng = np.random.default_rng(SEED)
    sigma_r, sigma_f, step, u_meter, n = 0.3, 0.5, 0.5, 0.2, 40000
    for cell in table(sigma_r, sigma_f, step, u_meter, Costs(1, 1)):
        if (cell.fills, cell.readings) not in ((1, 1), (1, 5), (2, 3), (4, 1), (4, 5)):
            continue
        # The step's term is for a reading rounded as a whole: so it is drawn once for each sample.
        off = rng.normal(0, u_meter, (n, 1, 1)) + rng.uniform(-step / 2, step / 2, (n, 1, 1))
        fills = rng.normal(0, sigma_f, (n, cell.fills, 1))
        results = (off + fills + rng.normal(0, sigma_r, (n, cell.fills, cell.readings))).mean(axis=(1, 2))
        # The standard error of a standard deviation of 40000 is 0.35 %: five of them.
        assert 2 * results.std() == pytest.approx(cell.give_or_take, rel=0.018)


def test_rounding_each_reading_scatters_no_more_than_it_says():
    """Readings truly rounded to steps: the terms of step and readings together are then on the safe side."""
    rng = np.random.default_rng(SEED)
    n, step = 40000, 0.5
    for cell in table(0.3, 0.5, step, 0.0, Costs(1, 1)):
        made = rng.uniform(50, 60, (n, 1, 1)) + np.zeros((n, cell.fills, 1))
        fills = made + rng.normal(0, 0.5, (n, cell.fills, 1))
        read = np.round((fills + rng.normal(0, 0.3, (n, cell.fills, cell.readings))) / step) * step
        off = read.mean(axis=(1, 2)) - made[:, 0, 0]
        assert 2 * off.std() <= cell.give_or_take * 1.018


def cell(fills, readings, give_or_take, minutes):
    return Cell(fills, readings, give_or_take, minutes, 0.5, 0.3, 0.2)


def test_it_takes_the_quickest_plan_that_is_good_enough():
    cells = [cell(1, 3, 1.2, 3), cell(2, 2, 0.9, 5), cell(3, 1, 0.8, 6)]
    assert cheapest(cells, 1.0) == cells[1]
    assert cheapest(cells, 1.2) == cells[0]
    assert cheapest(cells, 0.5) is None
    assert floor(cells) == 0.8


def test_of_equally_quick_plans_it_takes_the_better_one():
    cells = [cell(2, 1, 0.9, 5), cell(1, 4, 0.9, 5), cell(1, 5, 0.95, 5)]
    assert cheapest(cells, 1.0) == cells[1]


def test_a_wanted_give_or_take_that_is_just_met_is_met():
    cells = table(0.3, 0.4, 0.1, 0.1, Costs(2, 0.5))
    for one in cells:
        found = cheapest(cells, one.give_or_take)
        assert found is not None
        assert found.minutes <= one.minutes


@few
@given(tables, st.floats(0.05, 5))
def test_no_plan_that_is_good_enough_is_quicker(cells, wanted):
    found = cheapest(cells, wanted)
    if found is None:
        assert floor(cells) > wanted
    else:
        assert found.give_or_take <= wanted * (1 + 1e-9)
        assert all(c.give_or_take > wanted for c in cells if c.minutes < found.minutes)


def test_without_scatter_only_the_step_is_left():
    cells = table(0, 0, 0.1, 0, Costs(0, 0))
    assert {(c.fill_part, c.reading_part, c.other_part) for c in cells} == {(0, 0, 1)}
    assert floor(cells) == pytest.approx(2 * 0.1 / math.sqrt(12))


@pytest.mark.parametrize(
    "wrong", [(-1, 1, 0.1, 0), (1, math.nan, 0.1, 0), (1, 1, 0, 0), (1, 1, 0.1, -1), (1, 1, 0.1, math.inf)]
)
def test_it_refuses_impossible_numbers(wrong):
    with pytest.raises(ValueError):
        table(*wrong, Costs(1, 1))


def test_it_refuses_impossible_costs_and_wishes():
    for minutes in ((-1, 1), (1, math.nan)):
        with pytest.raises(ValueError):
            Costs(*minutes)
    with pytest.raises(ValueError):
        cheapest((), 0)
    with pytest.raises(ValueError):
        floor(())
