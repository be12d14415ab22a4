"""Properties of the readings of one fill, and what happens at the edges."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.measure.strategies import readings, sigmas_of_readings
from webapp.measure import critical_range, fill_value


@given(readings, st.integers(1, 6), sigmas_of_readings, st.booleans(), st.randoms(use_true_random=False))
def test_it_does_not_depend_on_the_order(numbers, planned, sigma_r, final, random):
    shuffled = list(numbers)
    random.shuffle(shuffled)
    before = fill_value(numbers, planned, sigma_r, 0.1, final=final)
    assert fill_value(shuffled, planned, sigma_r, 0.1, final=final) == before


@given(readings, st.integers(1, 6), sigmas_of_readings, st.integers(-1000, 1000))
def test_it_moves_with_a_shift_of_all_readings(numbers, planned, sigma_r, tenths):
    shift = tenths / 10
    before = fill_value(numbers, planned, sigma_r, 0.1)
    after = fill_value([x + shift for x in numbers], planned, sigma_r, 0.1)
    assert (after.how, after.state, after.more) == (before.how, before.state, before.more)
    assert after.value == pytest.approx(before.value + shift, abs=1e-11)
    assert after.range == pytest.approx(before.range, abs=1e-11)


@given(readings, st.integers(1, 6), sigmas_of_readings, st.sampled_from([0.1, 0.3, 2.0, 7.0]))
def test_it_scales_with_the_scale(numbers, planned, sigma_r, factor):
    before = fill_value(numbers, planned, sigma_r, 0.1)
    after = fill_value([x * factor for x in numbers], planned, sigma_r * factor, 0.1 * factor)
    assert (after.how, after.state, after.more) == (before.how, before.state, before.more)
    assert after.value == pytest.approx(before.value * factor, rel=1e-12)


@given(readings, st.integers(1, 6), sigmas_of_readings)
def test_it_turns_over_with_the_direction_of_the_scale(numbers, planned, sigma_r):
    before = fill_value(numbers, planned, sigma_r, 0.1)
    after = fill_value([-x for x in numbers], planned, sigma_r, 0.1)
    assert (after.value, after.range, after.state) == (-before.value, before.range, before.state)


@given(readings, st.data())
def test_it_never_widens_the_range_by_an_equal_reading(numbers, data):
    again = numbers + [data.draw(st.sampled_from(numbers))]
    before, after = fill_value(numbers, 3, 0.3, 0.1), fill_value(again, 3, 0.3, 0.1)
    assert after.range == before.range
    # The limit grows with the number of readings: what agreed goes on agreeing.
    assert after.state == "agree" or before.state != "agree"


@given(readings, st.integers(1, 6), sigmas_of_readings, st.booleans())
def test_it_lies_between_its_readings_and_counts_them_all(numbers, planned, sigma_r, final):
    fill = fill_value(numbers, planned, sigma_r, 0.1, final=final)
    assert min(numbers) - 1e-12 <= fill.value <= max(numbers) + 1e-12
    assert fill.n == len(numbers)
    assert (fill.more > 0) == (fill.state == "more")
    assert (fill.how == "median") == (fill.state == "disagree")


@given(readings, st.integers(1, 6), sigmas_of_readings)
def test_it_asks_for_no_more_once_no_reading_can_be_taken(numbers, planned, sigma_r):
    assert fill_value(numbers, planned, sigma_r, 0.1, final=True).state != "more"


def test_it_takes_a_range_that_equals_the_limit_as_agreeing():
    for low, high in ((56.1, 56.4), (55.8, 56.1), (0.1, 0.4), (149.6, 149.9)):
        assert fill_value([low, high], 2, 0.0, 0.3).state == "agree"
        assert fill_value([low, high + 0.01], 2, 0.0, 0.3).state == "more"


def test_it_never_calls_one_step_a_disagreement():
    assert critical_range(3, 0.0, 0.5) == 0.5
    assert fill_value([60.0, 60.5, 60.5], 3, 0.01, 0.5).state == "agree"


def test_it_asks_for_one_more_after_three_and_then_decides():
    three = fill_value([62.0, 64.0, 62.1], 3, 0.3, 0.1)
    assert (three.state, three.more, three.how) == ("more", 1, "mean")
    assert fill_value([62.0, 64.0, 62.1, 62.2], 3, 0.3, 0.1).state == "disagree"
    assert fill_value([62.0, 63.0, 62.1, 62.2], 3, 0.3, 0.1).state == "agree"


def test_it_asks_for_what_is_missing_of_the_plan_first():
    assert [fill_value(list(range(n)), 6, 0.1, 0.1).more for n in range(2, 9)] == [4, 3, 2, 1, 2, 1, 0]


@pytest.mark.parametrize("planned", [1, 2, 3, 6])
def test_it_takes_one_reading_as_it_is(planned):
    fill = fill_value([56.2], planned, 0.3, 0.1)
    assert (fill.value, fill.n, fill.range, fill.limit, fill.state) == (56.2, 1, 0.0, None, "agree")


def test_it_takes_equal_readings_without_any_spread():
    fill = fill_value([56.2] * 7, 3, 0.0, 0.1)
    assert (fill.value, fill.range, fill.state) == (56.2, 0.0, "agree")


@pytest.mark.parametrize(
    "arguments",
    [
        ([], 3, 0.3, 0.1),
        ([56.2, math.nan], 3, 0.3, 0.1),
        ([math.inf], 3, 0.3, 0.1),
        ([56.2, 56.3], 0, 0.3, 0.1),
        ([56.2, 56.3], 2.5, 0.3, 0.1),
        ([56.2, 56.3], 3, -0.3, 0.1),
        ([56.2], 3, math.nan, 0.1),
        ([56.2, 56.3], 3, 0.3, 0.0),
        ([56.2, 56.3], 3, 0.3, -0.1),
        ([56.2] * 101, 3, 0.3, 0.1),
    ],
)
def test_it_refuses_what_is_no_set_of_readings(arguments):
    with pytest.raises(ValueError):
        fill_value(*arguments)


@pytest.mark.parametrize("n", [-1, 0, 1, 2.5, 101, True])
def test_it_has_no_limit_for_fewer_than_two_readings_or_over_a_hundred(n):
    with pytest.raises(ValueError):
        critical_range(n, 0.3, 0.1)
