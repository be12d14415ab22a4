"""Two meters, grinders or methods on the same coffees."""

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from webapp.measure.compare import (
    LEAST_COFFEES,
    NoLine,
    bland_altman,
    comparison_outcome,
    critical_difference_one_lab,
    critical_difference_two_labs,
    deming,
    duplicates_sd,
    repeatability_coefficient,
    tost_paired,
    tost_two,
)

from .strategies import in_steps

few = settings(max_examples=40)
pairs = st.lists(st.tuples(in_steps(0.1, 300, 900), in_steps(0.1, -30, 30)), min_size=3, max_size=15)
bounds = st.sampled_from((0.1, 0.5, 2.0))


def both(drawn):
    """Two readings of each coffee: the second is the first and what was drawn beside it."""
    return [x for x, _ in drawn], [round(x + d, 1) for x, d in drawn]


def turned(interval):
    return pytest.approx((-interval[1], -interval[0]), abs=1e-12)


# Agreement


@few
@given(pairs, st.randoms(use_true_random=False), st.sampled_from((-20.0, 15.0)))
def test_it_sees_the_same_agreement_in_any_order_and_wherever_the_scale_starts(drawn, draw, shift):
    first, second = both(drawn)
    found = bland_altman(first, second)
    assert bland_altman(*both(draw.sample(drawn, len(drawn)))) == found
    moved = bland_altman([x + shift for x in first], [x + shift for x in second])
    assert (moved.bias, moved.lower, moved.upper) == pytest.approx((found.bias, found.lower, found.upper), abs=1e-9)


@few
@given(pairs)
def test_it_turns_the_bias_when_first_and_second_change_places(drawn):
    found, other = bland_altman(*both(drawn)), bland_altman(*both(drawn)[::-1])
    assert other.bias == -found.bias
    assert (other.lower, other.upper) == turned((found.lower, found.upper))
    assert other.bias_interval == turned(found.bias_interval)
    assert other.lower_interval == turned(found.upper_interval)


def test_it_finds_no_scatter_in_pairs_that_differ_by_the_same():
    found = bland_altman([1, 2, 3, 4], [3, 4, 5, 6])
    assert (found.bias, found.sd, found.lower, found.upper, found.upper_interval) == (-2, 0, -2, -2, (-2, -2))


def test_it_repeats_within_nothing_where_readings_repeat():
    assert repeatability_coefficient([5, 6], [5, 6]) == 0.0
    assert repeatability_coefficient([5, 6], [6, 5]) == pytest.approx(1.96)
    # A constant difference counts in full: two readings by one method have no bias.
    assert repeatability_coefficient([5, 6], [6, 7]) == pytest.approx(1.96)


@few
@given(pairs, st.lists(in_steps(0.1, -9, 9), min_size=15, max_size=15))
def test_it_only_adds_to_the_spread_of_means(drawn, extra):
    first, second = both(drawn)
    again = [x + d for x, d in zip(first, extra, strict=False)]
    sd, corrected = duplicates_sd(first, again, second, second)
    assert corrected >= sd
    assert duplicates_sd(first, first, second, second) == pytest.approx((bland_altman(first, second).sd,) * 2)


# The line


@few
@given(pairs, st.sampled_from((0.25, 1.0, 4.0)), st.sampled_from((-20.0, 15.0)))
def test_it_draws_one_line_whichever_is_first(drawn, ratio, shift):
    first, second = both(drawn)
    try:
        line, back = deming(first, second, ratio), deming(second, first, 1 / ratio)
    except NoLine:
        assume(False)
    assume(1e-3 < abs(line.slope) < 1e3)
    assert line.slope * back.slope == pytest.approx(1, rel=1e-6)
    moved = deming([x + shift for x in first], [y + shift for y in second], ratio)
    assert (moved.slope, moved.slope_se) == pytest.approx((line.slope, line.slope_se), rel=1e-6)
    assert moved.intercept == pytest.approx(line.intercept + shift * (1 - line.slope), rel=1e-6, abs=1e-6)
    assert deming(first[::-1], second[::-1], ratio) == line


@pytest.mark.parametrize("ratio", [0.01, 1.0, 50.0])
@pytest.mark.parametrize(("slope", "intercept"), [(1.0, 0.0), (0.9, 3.0), (-2.0, 100.0), (1e-6, 1.0), (1e6, 0.0)])
def test_it_gives_a_line_that_is_one(slope, intercept, ratio):
    first = [40.1, 45.0, 52.3, 60.2, 70.7]
    line = deming(first, [intercept + slope * x for x in first], ratio)
    assert line.slope == pytest.approx(slope, rel=1e-8)
    assert line.slope_se == pytest.approx(0, abs=1e-8 * abs(slope))


def test_it_gives_a_level_line_for_equal_second_values():
    line = deming([1, 2, 3, 4], [7, 7, 7, 7])
    assert (line.slope, line.intercept, line.slope_se, line.intercept_interval) == (0, 7, 0, (7, 7))


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ([5, 5, 5, 5], [1, 2, 3, 4]),
        ([5, 5, 5, 5], [5, 5, 5, 5]),
        ([1, 2, 1, 2], [3, 3, 4, 4]),  # no covariance
        ([0.1, 0.2, 0.1, 0.2], [60.3, 60.3, 60.4, 60.4]),  # none but for rounding
        ([5, 5, 5, 6], [1, 2, 3, 4]),  # a line on one point: none without it
    ],
)
def test_it_draws_no_line_where_there_is_none(first, second):
    with pytest.raises(NoLine, match="no line"):
        deming(first, second)


# Equivalence


@few
@given(st.lists(in_steps(0.1, -30, 30), min_size=2, max_size=15), st.sampled_from((0.01, 0.05, 0.2)))
def test_it_calls_equivalent_what_has_its_interval_inside_the_bounds(differences, alpha):
    found = tost_paired(differences, 1.0, alpha)
    low, high = found.interval
    reach = max(-low, high)
    assume(reach > 0)
    assert tost_paired(differences, reach * 1.001, alpha).equivalent
    assert not tost_paired(differences, reach * 0.999, alpha).equivalent
    other = tost_paired([-x for x in differences], 1.0, alpha)
    assert (other.mean, other.t_lower, other.p_upper) == (-found.mean, -found.t_upper, found.p_lower)
    assert other.interval == (-high, -low)
    assert tost_paired(differences[::-1], 1.0, alpha) == found


def test_it_decides_without_dividing_where_nothing_scatters():
    inside, outside, on = (tost_paired([d] * 5, 0.3) for d in (0.2, 0.4, 0.3))
    assert (inside.equivalent, inside.t_lower, inside.t_upper, inside.p_lower) == (True, math.inf, -math.inf, 0.0)
    assert (outside.equivalent, outside.t_upper, outside.p_upper) == (False, math.inf, 1.0)
    assert (on.equivalent, on.t_upper, on.p_upper) == (False, 0.0, 0.5)
    # On the bound as decimals, scattered by their rounding alone.
    rounded = tost_paired([56.1 - 55.8, 0.3, 60.3 - 60.0, 44.8 - 44.5], 0.3)
    assert (rounded.equivalent, rounded.t_upper) == (False, 0.0)
    assert tost_two(5.0, 0, 3, 5.1, 0, 3, 0.3).equivalent


# What it comes to

OLD = [45.2, 48.1, 50.6, 53.3, 55.0, 57.8, 60.1, 63.4, 66.2, 69.9, 72.5, 75.3]
SCATTER = [0.1, -0.2, 0.0, 0.2, -0.1, 0.1, -0.1, 0.2, 0.0, -0.2, 0.1, -0.1]


@pytest.mark.parametrize(
    ("new", "outcome", "reason"),
    [
        ([x + e for x, e in zip(OLD, SCATTER, strict=True)], "carry", "equivalent"),
        ([x + 1.2 + e for x, e in zip(OLD, SCATTER, strict=True)], "move", "same_shift"),
        ([x - 1.2 + e for x, e in zip(OLD, SCATTER, strict=True)], "move", "same_shift"),
        ([x + 1.2 for x in OLD], "move", "same_shift"),
        (list(OLD), "carry", "equivalent"),
        ([0.9 * x + e for x, e in zip(OLD, SCATTER, strict=True)], "not_comparable", "slope"),
        ([x + 5 + 20 * e for x, e in zip(OLD, SCATTER, strict=True)], "not_comparable", "scatter"),
        # On average the same, darker at one end and lighter at the other.
        ([x + 0.02 * (x - 59.78) + e / 9 for x, e in zip(OLD, SCATTER, strict=True)], "carry", "equivalent_on_average"),
    ],
)
def test_it_says_what_a_comparison_comes_to(new, outcome, reason):
    found = comparison_outcome(OLD, new, 0.5)
    assert (found.outcome, found.reason) == (outcome, reason)
    assert found.bias == pytest.approx(sum(new) / 12 - sum(OLD) / 12, abs=1e-12)
    assert math.isclose(found.U, 2 * found.agreement.sd / math.sqrt(12), rel_tol=1e-12, abs_tol=1e-14)
    assert found.interval == found.equivalence.interval
    assert found.agreement == bland_altman(new, OLD)
    assert found.line == deming(OLD, new)


def test_it_says_so_where_no_line_can_be_drawn():
    same = [60.0] * 12
    found = comparison_outcome(same, [61 + e for e in SCATTER], 0.5)
    assert (found.outcome, found.reason, found.line) == ("not_comparable", "no_line", None)
    found = comparison_outcome(same, [60 + e for e in SCATTER], 0.5)
    assert (found.outcome, found.reason, found.line) == ("carry", "equivalent", None)


@few
@given(st.lists(st.tuples(in_steps(0.1, 300, 900), in_steps(0.1, -20, 20)), min_size=10, max_size=14), bounds)
def test_it_carries_over_both_ways_or_not_at_all(drawn, bound):
    old, new = both(drawn)
    found, back = comparison_outcome(old, new, bound), comparison_outcome(new, old, bound)
    assert (back.bias, back.U) == pytest.approx((-found.bias, found.U), abs=1e-12)
    assert (back.outcome == "carry") == (found.outcome == "carry")
    assert comparison_outcome(old[::-1], new[::-1], bound) == found


def test_it_asks_for_ten_coffees():
    assert LEAST_COFFEES == 10
    assert comparison_outcome(OLD[:10], OLD[:10], 0.5).outcome == "carry"
    with pytest.raises(ValueError, match="at least 10"):
        comparison_outcome(OLD[:9], OLD[:9], 0.5)


@pytest.mark.parametrize(
    "call",
    [
        lambda: bland_altman([1, 2], [1, 2]),
        lambda: bland_altman([1, 2, 3], [1, 2]),
        lambda: bland_altman([1, 2, math.nan], [1, 2, 3]),
        lambda: bland_altman([1, 2, 3], [1, 2, 4], 0),
        lambda: repeatability_coefficient([], []),
        lambda: duplicates_sd([1, 2], [1, 2], [1, 2, 3], [1, 2, 3]),
        lambda: deming([1, 2], [1, 2]),
        lambda: deming([1, 2, 3], [1, 2, 3], 0),
        lambda: tost_paired([1], 1),
        lambda: tost_paired([1, 2], 0),
        lambda: tost_paired([1, 2], 1, 0.5),
        lambda: tost_two(1, -1, 5, 1, 1, 5, 1),
        lambda: tost_two(1, 1, 1, 1, 1, 5, 1),
        lambda: comparison_outcome(OLD, OLD, -1),
        lambda: comparison_outcome([60.0] * 12, OLD, 1, ratio=0),
    ],
)
def test_it_refuses_what_cannot_be_compared(call):
    with pytest.raises(ValueError) as refused:
        call()
    assert not isinstance(refused.value, NoLine)


def test_it_lets_means_of_more_readings_lie_less_far_apart():
    one_lab = [critical_difference_one_lab(0.3, n, n) for n in range(1, 6)]
    two_labs = [critical_difference_two_labs(0.3, 0.5, n, n) for n in range(1, 6)]
    assert all(more < fewer for values in (one_lab, two_labs) for fewer, more in pairwise(values))
    # What two laboratories do not have in common stays, however many readings there are.
    assert two_labs[-1] > 2.8 * math.sqrt(0.5**2 - 0.3**2)
