"""Drift of a meter: the EWMA, its sigma, and check standards."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.measure import mean
from webapp.measure.control import EwmaPoint, check_standard, ewma, first_signal, moving_range_sigma

from .strategies import in_steps

deviations = st.lists(in_steps(0.1, -30, 30), min_size=1, max_size=25)
few = settings(max_examples=40)


@few
@given(deviations, st.sampled_from((-50.0, 0.0, 7.0)), st.sampled_from((0.1, 0.3, 1.0)))
def test_it_moves_with_the_centre(values, shift, weight):
    here = ewma(values, 0.0, 0.5, weight)
    there = ewma([x + shift for x in values], shift, 0.5, weight)
    for a, b in zip(here, there, strict=True):
        back = (b.value - shift, b.lower - shift, b.upper - shift)
        assert back == pytest.approx((a.value, a.lower, a.upper), abs=1e-9)
        assert a.signal == b.signal


@few
@given(deviations, st.booleans())
def test_it_mirrors(values, exact):
    turned = {"above": "below", "below": "above", None: None}
    here, there = ewma(values, 0.0, 0.5, exact=exact), ewma([-x for x in values], 0.0, 0.5, exact=exact)
    for a, b in zip(here, there, strict=True):
        assert (b.value, b.lower, b.upper, b.signal) == (-a.value, -a.upper, -a.lower, turned[a.signal])


@few
@given(deviations, st.integers(0, 25))
def test_it_knows_nothing_of_what_comes_later(values, until):
    assert ewma(values[:until], 0.0, 0.5) == ewma(values, 0.0, 0.5)[:until]


@few
@given(deviations)
def test_it_signals_beyond_the_limits_and_only_there(values):
    points = ewma(values, 0.0, 0.5)
    for point in points:
        outside = not point.lower - 1e-12 <= point.value <= point.upper + 1e-12
        assert (point.signal is not None) == outside
        assert point.signal in (None, "above" if point.value > 0 else "below")
    signals = [i for i, point in enumerate(points) if point.signal]
    assert first_signal(points) == (signals[0] if signals else None)


@few
@given(deviations)
def test_it_opens_its_exact_limits_to_the_asymptotic_ones(values):
    exact, final = ewma(values, 0.0, 0.5), ewma(values, 0.0, 0.5, exact=False)
    widths = [point.upper for point in exact]
    assert widths == sorted(widths)
    assert widths[-1] <= final[-1].upper
    assert len({point.upper for point in final}) == 1


def test_it_takes_a_weight_of_one_for_the_values_themselves():
    points = ewma([0.1, -0.4, 3.0], 0.0, 1.0, weight=1, width=3)
    assert points[2] == EwmaPoint(3.0, -3.0, 3.0, None)
    assert [point.value for point in points] == [0.1, -0.4, 3.0]


def test_it_sees_a_point_on_its_limit_as_inside():
    # 40.6 is a little more than 40.3 + 0.3 in binary, not on a meter.
    point = ewma([40.6], 40.3, 0.1, weight=1, width=3)[0]
    assert point.value > point.upper
    assert point.signal is None
    assert ewma([0.3001], 0.0, 0.1, weight=1, width=3)[0].signal == "above"
    assert ewma([-0.3001], 0.0, 0.1, weight=1, width=3)[0].signal == "below"


def test_it_finds_a_lasting_offset_and_nothing_in_nothing():
    assert ewma([], 0.0, 0.1) == []
    assert first_signal([]) is None
    assert first_signal(ewma([0.0] * 50, 0.0, 0.1)) is None
    points = ewma([0.1] * 50, 0.0, 0.1)
    # 0.1 (1 - 0.8^i) against 0.1 * 2.962 / 3 * sqrt(1 - 0.64^i): the 20th is the first beyond.
    assert first_signal(points) == 19
    assert points[-1].signal == "above"


@pytest.mark.parametrize(
    "arguments",
    [([math.nan], 0, 1), ([1], math.inf, 1), ([1], 0, 0), ([], 0, -1), ([1], 0, math.nan), ([1], 0, 1, 0),
     ([1], 0, 1, 1.1), ([1], 0, 1, 0.2, 0)],
)  # fmt: skip
def test_it_refuses_impossible_charts(arguments):
    with pytest.raises(ValueError):
        ewma(*arguments)


@few
@given(st.lists(st.lists(in_steps(0.1, -30, 30), max_size=8), max_size=5), st.floats(-20, 20))
def test_it_takes_no_adjustment_for_scatter(segments, shift):
    """Each segment moved by any amount of its own: what lies between adjustments stays the same."""
    moved = [[x + i * shift for x in segment] for i, segment in enumerate(segments)]
    sigma, ranges = moving_range_sigma(segments, 0.1)
    assert moving_range_sigma(moved, 0.1) == (pytest.approx(sigma, rel=1e-9), ranges)
    assert moving_range_sigma([segment[::-1] for segment in segments[::-1]], 0.1) == (sigma, ranges)
    assert ranges == sum(max(0, len(segment) - 1) for segment in segments)
    assert sigma >= 0.1 / math.sqrt(12)


def test_it_pools_the_ranges_of_all_segments():
    # Ranges 1, 2 and 6; none between 3 and 50.
    sigma, ranges = moving_range_sigma([[0, 1, 3], [50, 56], [7]], 0.1)
    assert ranges == 3
    assert sigma == pytest.approx(3 * math.sqrt(math.pi) / 2, rel=1e-14)


def test_it_never_goes_below_the_rounding_of_the_scale():
    floor = pytest.approx(0.1 / math.sqrt(12), rel=1e-14)
    assert moving_range_sigma([], 0.1) == (floor, 0)
    assert moving_range_sigma([[], [0.2]], 0.1) == (floor, 0)
    assert moving_range_sigma([[0.2, 0.2, 0.2]], 0.1) == (floor, 2)
    for segments, step in (([[1, math.nan]], 0.1), ([[1, 2]], 0)):
        with pytest.raises(ValueError):
            moving_range_sigma(segments, step)


occasions = st.lists(st.tuples(in_steps(0.1), st.integers(0, 20).map(lambda k: k / 10)), min_size=2, max_size=12)


@few
@given(occasions, st.integers(2, 8), st.randoms(use_true_random=False))
def test_it_sees_the_same_check_standard_in_any_order(history, replicates, draw):
    shuffled = draw.sample(history, len(history))
    found = check_standard(*zip(*history, strict=True), replicates)
    assert check_standard(*zip(*shuffled, strict=True), replicates) == found
    assert (found.day_df, found.short_df) == (len(history) - 1, len(history) * (replicates - 1))
    assert found.mean == pytest.approx(mean(found.limits_3), abs=1e-9)
    assert found.limits_3[1] - found.mean == pytest.approx(1.5 * (found.limits_2[1] - found.mean), abs=1e-9)
    assert found.short_limit >= found.short_sd


def test_it_finds_no_scatter_in_a_check_standard_that_never_changes():
    found = check_standard([5.0] * 4, [0.0] * 4, 3)
    assert (found.day_sd, found.short_sd, found.short_limit, found.limits_2) == (0.0, 0.0, 0.0, (5.0, 5.0))


@pytest.mark.parametrize(
    "arguments",
    [([1.0], [0.1], 3), ([1.0, 2.0], [0.1], 3), ([1.0, 2.0], [0.1, -0.1], 3), ([1.0, 2.0], [0.1, 0.1], 1),
     ([1.0, math.nan], [0.1, 0.1], 3), ([], [], 3)],
)  # fmt: skip
def test_it_refuses_an_impossible_history(arguments):
    with pytest.raises(ValueError):
        check_standard(*arguments)
