"""The result of a sample, the meter's share, and the difference of two results."""

import dataclasses
import math
import random
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.measure.strategies import in_steps, some_sigmas
from webapp.measure import (
    Sigmas,
    difference,
    fill_value,
    fills_range_limit,
    mean,
    meter_uncertainty,
    sample_result,
)

fills = st.lists(st.lists(in_steps(0.1), min_size=1, max_size=5), min_size=1, max_size=5)
meters = st.floats(0, 2)


def _result(readings, sigmas, u_meter=0.1, step=0.1):
    return sample_result([fill_value(r, 3, sigmas.sigma_r, step) for r in readings], sigmas, step, u_meter)


@given(fills, some_sigmas, meters, st.randoms(use_true_random=False))
def test_it_does_not_depend_on_the_order_of_the_fills(readings, sigmas, u_meter, draw):
    shuffled = list(readings)
    draw.shuffle(shuffled)
    assert _result(shuffled, sigmas, u_meter) == _result(readings, sigmas, u_meter)


@given(fills, some_sigmas, meters, st.integers(-500, 500))
def test_it_moves_with_a_shift_and_keeps_its_uncertainty(readings, sigmas, u_meter, tenths):
    before = _result(readings, sigmas, u_meter)
    after = _result([[x + tenths / 10 for x in r] for r in readings], sigmas, u_meter)
    assert after.value == pytest.approx(before.value + tenths / 10, abs=1e-10)
    assert (after.u, after.fills_disagree) == (before.u, before.fills_disagree)


@given(fills, some_sigmas, meters)
def test_it_is_the_root_of_the_sum_of_its_terms(readings, sigmas, u_meter):
    result = _result(readings, sigmas, u_meter)
    assert result.u == pytest.approx(math.sqrt(sum(result.terms.values())), rel=1e-14)
    assert 2 * result.u == result.U
    assert result.readings == sum(len(r) for r in readings)


@given(fills, some_sigmas, meters)
def test_it_gets_no_less_certain_by_a_further_fill(readings, sigmas, u_meter):
    more = _result(readings + [readings[0]], sigmas, u_meter)
    assert more.u <= _result(readings, sigmas, u_meter).u
    assert more.meter_term == u_meter**2


def test_it_is_the_standard_deviation_that_made_up_samples_show():
    draw = random.Random(11)
    sigmas, shown = Sigmas(0.3, 0.5, "study"), []
    for _ in range(4000):
        levels = [draw.gauss(60.0, 0.5) for _ in range(2)]
        readings = [[round(draw.gauss(at, 0.3), 1) for _ in range(3)] for at in levels]
        shown.append(mean([mean(r) for r in readings]))
    # Standard error of a standard deviation of 4000: 1.1 %; four of them allowed.
    assert _result([[60.0] * 3] * 2, sigmas, 0.0).u == pytest.approx(statistics.stdev(shown), rel=0.045)


def test_it_flags_fills_that_lie_too_far_apart():
    sigmas = Sigmas(0.3, 0.5, "study")
    limit = 2.77181 * math.sqrt(0.25 + 0.03)
    assert fills_range_limit(2, 6, sigmas, 0.1) == pytest.approx(limit)
    assert not _result([[60.0] * 3, [61.4] * 3], sigmas).fills_disagree
    assert _result([[60.0] * 3, [61.5] * 3], sigmas).fills_disagree


def test_it_never_flags_fills_one_step_apart():
    assert not _result([[60.0], [60.1]], Sigmas(0, 0, "study")).fills_disagree
    assert _result([[60.0], [60.2]], Sigmas(0, 0, "study")).fills_disagree


def test_it_has_no_limit_between_fills_for_a_single_one():
    result = _result([[60.0] * 3], Sigmas(0.3, 0.5, "study"))
    assert (result.fills_limit, result.fills_disagree) == (None, False)


def test_it_has_no_uncertainty_but_the_step_when_nothing_varies():
    result = _result([[60.0] * 3], Sigmas(0, 0, "study"), 0.0)
    assert result.u == pytest.approx(0.1 / math.sqrt(12))


def test_it_refuses_a_sample_without_a_fill_and_impossible_numbers():
    sigmas = Sigmas(0.3, 0.5, "study")
    with pytest.raises(ValueError):
        sample_result([], sigmas, 0.1, 0.1)
    for step, u_meter in ((0.0, 0.1), (math.nan, 0.1), (0.1, -0.1), (0.1, math.inf)):
        with pytest.raises(ValueError):
            sample_result([fill_value([60.0], 3, 0.3, 0.1)], sigmas, step, u_meter)


def test_it_takes_the_last_thirty_checks_of_the_meter():
    u, source = meter_uncertainty([9.0] * 10 + [0.3, -0.3] * 15, 0.5)
    assert (u, source) == (pytest.approx(0.3), "checks")


def test_it_counts_a_lasting_offset_of_the_meter():
    assert meter_uncertainty([0.2] * 6, 0.5) == (pytest.approx(0.2), "checks")
    assert meter_uncertainty([0.0] * 6, 0.5) == (0.0, "checks")


@pytest.mark.parametrize("n", range(5))
def test_it_assumes_the_tolerance_with_fewer_than_five_checks(n):
    assert meter_uncertainty([0.0] * n, 0.3) == (pytest.approx(0.3 / math.sqrt(3)), "assumed")


@pytest.mark.parametrize(("deviations", "tolerance"), [([], -0.1), ([], math.nan), ([math.inf] * 5, 0.5)])
def test_it_refuses_an_impossible_meter(deviations, tolerance):
    with pytest.raises(ValueError):
        meter_uncertainty(deviations, tolerance)


def _pair():
    whole = _result([[58.0, 58.1, 58.0]], Sigmas(0.3, 0.5, "assumed"), 0.2)
    ground = _result([[63.0] * 3, [63.2] * 3], Sigmas(0.2, 0.3, "assumed"), 0.2)
    return ground, whole


def test_it_subtracts_whole_from_ground():
    ground, whole = _pair()
    d = difference(ground, whole, 0.1, 0.1, same_meter=True)
    assert d.value == ground.value - whole.value > 0
    assert (d.fills, d.readings) == (3, 9)


def test_it_lets_the_term_of_one_meter_cancel_and_keeps_those_of_two():
    ground, whole = _pair()
    one = difference(ground, whole, 0.1, 0.1, same_meter=True)
    two = difference(ground, whole, 0.1, 0.1, same_meter=False)
    assert one.u**2 == pytest.approx(0.25 + 0.03 + 0.045 + 0.04 / 6 + 2 * 0.01 / 12, rel=1e-12)
    assert two.u**2 - one.u**2 == pytest.approx(2 * 0.04, rel=1e-12)
    assert (one.meter_term, two.meter_term) == (0.0, pytest.approx(0.08))


def test_it_passes_on_that_fills_disagree():
    ground, whole = _pair()
    assert not difference(ground, whole, 0.1, 0.1, same_meter=True).fills_disagree
    apart = dataclasses.replace(whole, fills_disagree=True)
    assert difference(ground, apart, 0.1, 0.1, same_meter=True).fills_disagree


def test_it_refuses_a_difference_without_steps():
    ground, whole = _pair()
    with pytest.raises(ValueError):
        difference(ground, whole, 0.1, 0.0, same_meter=True)
