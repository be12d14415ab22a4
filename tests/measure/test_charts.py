"""Individuals and moving ranges: limits, their floor, and how much they stand on."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.measure.charts import LEAST_BASELINE, limits_of, moving_ranges, sigma_degrees

from .strategies import in_steps

runs = st.lists(in_steps(0.1), min_size=2, max_size=30)
few = settings(max_examples=40)


@few
@given(runs, st.sampled_from((-50.0, 7.0)))
def test_it_moves_with_the_values(values, shift):
    here, there = limits_of(values, 0.1), limits_of([value + shift for value in values], 0.1)
    assert there.sigma == pytest.approx(here.sigma, abs=1e-9)
    assert (there.lower - shift, there.centre - shift, there.upper - shift) == pytest.approx(
        (here.lower, here.centre, here.upper), abs=1e-9
    )


@few
@given(runs)
def test_it_mirrors(values):
    here, there = limits_of(values, 0.1), limits_of([-value for value in values], 0.1)
    assert (there.lower, there.upper) == pytest.approx((-here.upper, -here.lower), abs=1e-9)
    assert there.range_upper == pytest.approx(here.range_upper, abs=1e-9)


def test_it_has_limits_for_equal_values():
    # The scatter of rounding alone, step / sqrt(12).
    found = limits_of([56.2] * 5, 0.1)
    assert found.floored
    assert found.sigma == pytest.approx(0.1 / 12**0.5)
    assert (found.range_centre, found.centre) == (0, 56.2)
    assert found.range_upper > 0


@pytest.mark.parametrize("values", [[], [1.0], [1.0, float("nan")], [1.0, float("inf")]])
def test_it_refuses_what_has_no_limits(values):
    with pytest.raises(ValueError):
        limits_of(values, 0.1)


def test_it_has_no_range_before_the_second_value():
    assert moving_ranges([]) == moving_ranges([3.0]) == []
    assert moving_ranges([3.0, 1.0, 4.0]) == [2.0, 3.0]


def test_it_may_be_frozen_from_twenty_values_on():
    values = [50.0, 50.4] * 10
    assert limits_of(values, 0.1).frozen
    assert not limits_of(values[: LEAST_BASELINE - 1], 0.1).frozen


@pytest.mark.parametrize(("values", "simulated"), [(3, 1.433), (20, 11.69)])
def test_it_knows_how_much_a_sigma_of_moving_ranges_stands_on(values, simulated):
    # 1 / (2 relative variance) of 400 000 mean moving ranges, simulated apart from this code; standard error 0.3 %.
    assert sigma_degrees(values) == pytest.approx(simulated, rel=0.006)


def test_it_stands_on_six_tenths_for_each_value_of_many():
    # Relative efficiency of the mean moving range against the standard deviation: 0.605 (Cryer and Ryan, J Qual Technol
    # 1990; 22: 187-192; from memory, recomputed: 0.5 / 0.8264).
    assert sigma_degrees(100_000) / 100_000 == pytest.approx(0.605, abs=5e-4)
    with pytest.raises(ValueError):
        sigma_degrees(1)
