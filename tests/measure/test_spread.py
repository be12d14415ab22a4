"""Mean, spread and the choice of the sigmas."""

import math
import random
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.measure import (
    Sigmas,
    assumed_sigmas,
    assumed_tolerance,
    between_fills,
    choose_sigmas,
    mean,
    median,
    pooled_sigmas,
    standard_deviation,
    sum_of_squares,
    within_fill,
)

numbers = st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=30)


@given(numbers)
def test_it_gives_the_exact_mean_and_sum_of_squares(values):
    exact = [Fraction(x) for x in values]
    centre = sum(exact) / len(exact)
    assert mean(values) == pytest.approx(float(centre), rel=1e-15, abs=1e-300)
    assert sum_of_squares(values) == pytest.approx(float(sum((x - centre) ** 2 for x in exact)), rel=1e-12)


@pytest.mark.parametrize("value", [1.0, 56.2, 299.85])
def test_it_sees_a_spread_of_the_last_bit(value):
    # The mean cannot be held in binary here; its rounding is corrected for.
    next_one = math.nextafter(value, math.inf)
    assert sum_of_squares([value, next_one]) == pytest.approx((next_one - value) ** 2 / 2, rel=1e-12, abs=0)


@given(numbers, st.floats(0.1, 100))
def test_it_scales_the_standard_deviation(values, factor):
    assert standard_deviation([x * factor for x in values]) == pytest.approx(
        factor * standard_deviation(values), rel=1e-9, abs=1e-9
    )


@given(st.floats(-1e6, 1e6), st.integers(2, 50))
def test_it_finds_no_spread_in_equal_values(value, n):
    assert standard_deviation([value] * n) == 0.0
    assert (mean([value] * n), median([value] * n)) == (value, value)


@given(numbers)
def test_it_takes_the_middle_as_the_median(values):
    below = sum(x <= median(values) for x in values)
    above = sum(x >= median(values) for x in values)
    assert min(below, above) >= len(values) / 2


@pytest.mark.parametrize("values", [[], [math.nan], [1.0, math.inf]])
def test_it_refuses_nothing_and_what_is_not_finite(values):
    for function in (mean, median, sum_of_squares, standard_deviation, within_fill, between_fills):
        with pytest.raises(ValueError):
            function(values)


def test_it_has_no_standard_deviation_of_one_value():
    with pytest.raises(ValueError):
        standard_deviation([56.2])
    assert within_fill([56.2]) == (0.0, 0)
    assert between_fills([56.2]) == (0.0, 0)


def test_it_pools_both_sigmas_of_made_up_routine_work():
    draw = random.Random(7)
    sums = [0.0, 0, 0.0, 0]
    for _ in range(4000):
        fills = []
        for _ in range(2):
            at = draw.gauss(60, 0.5)
            readings = [draw.gauss(at, 0.3) for _ in range(3)]
            ss, df = within_fill(readings)
            sums[0], sums[1] = sums[0] + ss, sums[1] + df
            fills.append(mean(readings))
        ss, df = between_fills(fills)
        sums[2], sums[3] = sums[2] + ss, sums[3] + df
    sigma_r, sigma_f = pooled_sigmas(*sums, 3)
    # 16000 and 4000 degrees of freedom: standard errors of about 0.6 % and 1.3 %; four of them allowed.
    assert sigma_r == pytest.approx(0.3, rel=0.024)
    assert sigma_f == pytest.approx(0.5, rel=0.05)


def test_it_pools_by_the_formula():
    sigma_r, sigma_f = pooled_sigmas(1.8, 20, 5.0, 10, 3)
    assert sigma_r == pytest.approx(math.sqrt(0.09))
    assert sigma_f == pytest.approx(math.sqrt(0.5 - 0.03))


def test_it_proves_a_sigma_from_20_and_10_degrees_of_freedom_on():
    assert pooled_sigmas(1.8, 19, 5.0, 9, 3) == (None, None)
    assert pooled_sigmas(1.8, 20, 5.0, 9, 3) == (pytest.approx(0.3), None)
    assert pooled_sigmas(1.8, 19, 5.0, 10, 3) == (None, pytest.approx(math.sqrt(0.5)))
    assert pooled_sigmas(0.0, 0, 0.0, 0, 1) == (None, None)


def test_it_sets_a_negative_fill_share_to_zero():
    assert pooled_sigmas(20.0, 20, 0.1, 10, 3) == (1.0, 0.0)


@pytest.mark.parametrize(
    "arguments", [(-1, 20, 1, 10, 3), (1, -1, 1, 10, 3), (1, 20, math.nan, 10, 3), (1, 20, 1, 10, 0.5)]
)
def test_it_refuses_impossible_sums(arguments):
    with pytest.raises(ValueError):
        pooled_sigmas(*arguments)


def test_it_assumes_sigmas_in_proportion_to_the_span():
    assert assumed_sigmas("whole", 100) == (0.3, 0.5)
    assert assumed_sigmas("ground", 100) == (0.2, 0.3)
    assert assumed_sigmas("whole", 50) == (0.15, 0.25)
    for kind, span in (("bean", 100), ("whole", 0), ("whole", math.inf)):
        with pytest.raises(ValueError):
            assumed_sigmas(kind, span)


def test_it_prefers_a_study_then_routine_work_then_the_assumption():
    study = Sigmas(0.1, 0.2, "study")
    assert choose_sigmas(study, 0.4, 0.6, "whole", 100) == study
    assert choose_sigmas(None, 0.4, 0.6, "whole", 100) == Sigmas(0.4, 0.6, "routine")
    assert choose_sigmas(None, None, None, "ground", 100) == Sigmas(0.2, 0.3, "assumed")
    assert choose_sigmas(None, 0.4, None, "whole", 100) == Sigmas(0.4, 0.5, "assumed")
    assert choose_sigmas(None, None, 0.6, "whole", 100) == Sigmas(0.3, 0.6, "assumed")


def test_it_keeps_a_proven_sigma_of_zero():
    assert choose_sigmas(None, 0.0, 0.0, "whole", 100) == Sigmas(0.0, 0.0, "routine")


@pytest.mark.parametrize("arguments", [(-0.1, 0.2, "study"), (0.1, math.nan, "study"), (0.1, 0.2, "guess")])
def test_it_refuses_impossible_sigmas(arguments):
    with pytest.raises(ValueError):
        Sigmas(*arguments)


def test_it_assumes_a_tolerance_in_proportion_to_the_span():
    """Our own convention, no source: a meter without a plate is never taken for perfect."""
    assert assumed_tolerance(100) == pytest.approx(0.3)
    assert assumed_tolerance(150) == pytest.approx(0.45)
    with pytest.raises(ValueError):
        assumed_tolerance(0)
