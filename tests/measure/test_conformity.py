"""Position, conformance probability, verdict, and what would settle a close call."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import norm

from tests.measure.strategies import bands, mirrored, rules, some_sigmas, uncertainties, values
from webapp.measure import (
    Band,
    Rule,
    Sigmas,
    conformance_probability,
    fills_to_settle,
    judge,
    normal_cdf,
    position,
    uncertainty_terms,
)

GUARDED = Rule("guarded", 0.80)


@given(values, uncertainties, bands(), rules, st.sampled_from((1, -1)))
def test_it_gives_the_mirrored_verdict_on_a_scale_that_counts_the_other_way(value, u, band, rule, lighter):
    here = judge(value, u, band, rule, lighter)
    there = judge(-value, u, mirrored(band), rule, -lighter)
    assert (there.verdict, there.side) == (here.verdict, here.side)
    assert there.chance == pytest.approx(here.chance, rel=1e-9, abs=1e-12)
    assert (there.position, there.beyond) == (here.position, here.beyond)


@given(values, uncertainties, bands(), rules)
def test_it_swaps_only_the_side_when_lighter_is_the_other_way(value, u, band, rule):
    here, there = judge(value, u, band, rule, 1), judge(value, u, band, rule, -1)
    swapped = {None: None, "lighter": "darker", "darker": "lighter"}
    assert (there.verdict, there.side) == (here.verdict, swapped[here.side])
    assert (there.chance, there.beyond) == (here.chance, here.beyond)
    assert there.position == (None if here.position is None else -here.position)


@given(values, uncertainties, bands(), rules, st.integers(-100, 100), st.sampled_from((0.5, 2.0, 4.0)))
def test_it_says_the_same_after_a_shift_and_on_a_stretched_scale(value, u, band, rule, shift, factor):
    def moved(x):
        return None if x is None else (x + shift) * factor

    here = judge(value, u, band, rule, 1)
    # A chance at the very edge of the confidence may fall either way with the last bits.
    assume(abs(here.chance - rule.confidence) > 1e-9)
    assume(abs(1 - here.chance - rule.confidence) > 1e-9)
    assume(abs(here.beyond) > 1e-9)
    assume(here.position is None or abs(here.position) > 1e-9)
    there = judge(moved(value), u * factor, Band(*map(moved, (band.lower, band.centre, band.upper))), rule, 1)
    assert there.verdict == here.verdict
    assert there.chance == pytest.approx(here.chance, rel=1e-6, abs=1e-9)
    assert there.beyond == pytest.approx(here.beyond * factor, abs=1e-9)


@given(values, values, uncertainties, bands(two_sided=True))
def test_it_gets_likelier_towards_the_middle_of_the_band(first, second, u, band):
    middle = (band.lower + band.upper) / 2
    nearer, further = sorted((first, second), key=lambda value: abs(value - middle))
    assert conformance_probability(nearer, u, band) >= conformance_probability(further, u, band) - 1e-12


@given(values, uncertainties, bands())
def test_it_is_the_normal_probability_between_the_limits(value, u, band):
    upper = 1.0 if band.upper is None else norm.cdf((band.upper - value) / u)
    lower = 0.0 if band.lower is None else norm.cdf((band.lower - value) / u)
    assert conformance_probability(value, u, band) == pytest.approx(upper - lower, abs=1e-13)


@given(values, uncertainties, bands(), rules)
def test_it_keeps_its_word_about_the_confidence(value, u, band, rule):
    judgement = judge(value, u, band, rule, 1)
    if rule.kind == "simple":
        assert judgement.verdict == ("outside" if judgement.beyond > 0 else "inside")
    elif judgement.verdict == "inside":
        assert judgement.chance >= rule.confidence - 1e-11
    elif judgement.verdict == "outside":
        assert 1 - judgement.chance >= rule.confidence - 1e-11
        assert judgement.beyond > 0
    else:
        assert judgement.chance < rule.confidence


def test_it_puts_the_limits_at_plus_and_minus_one():
    band = Band(60.0, 61.0, 64.0)
    for lighter in (1, -1):
        assert position(64.0, band, lighter) == lighter
        assert position(60.0, band, lighter) == -lighter
        assert position(61.0, band, lighter) == 0
        assert position(62.5, band, lighter) == 0.5 * lighter
        assert position(60.5, band, lighter) == -0.5 * lighter


def test_it_takes_the_middle_for_a_centre_that_is_not_given():
    assert Band(60.0, None, 64.0).centre == 62.0
    assert Band(lower=60.0).centre is None


def test_it_uses_the_one_distance_there_is_in_a_one_sided_band():
    assert position(66.0, Band(60.0, 62.0, None), 1) == 2.0
    assert position(60.0, Band(60.0, 62.0, None), 1) == -1.0
    assert position(60.0, Band(None, 62.0, 66.0), -1) == 0.5
    assert position(60.0, Band(lower=60.0), 1) is None


@pytest.mark.parametrize(
    "limits",
    [(None, None, None), (None, 60.0, None), (60.0, None, 60.0), (61.0, None, 60.0), (60.0, 60.0, 62.0),
     (60.0, 63.0, 62.0), (60.0, 59.0, None), (None, 63.0, 62.0), (math.nan, None, 62.0), (60.0, None, math.inf)],
)  # fmt: skip
def test_it_refuses_a_band_that_is_none(limits):
    with pytest.raises(ValueError):
        Band(*limits)


@pytest.mark.parametrize("arguments", [("strict", 0.8), ("guarded", 0.5), ("guarded", 1.0), ("guarded", math.nan)])
def test_it_refuses_a_rule_that_is_none(arguments):
    with pytest.raises(ValueError):
        Rule(*arguments)


@pytest.mark.parametrize(
    ("value", "u", "lighter"),
    [(math.nan, 0.1, 1), (math.inf, 0.1, 1), (60.0, -0.1, 1), (60.0, math.nan, 1), (60.0, 0.1, 0), (60.0, 0.1, 2)],
)
def test_it_refuses_an_impossible_result(value, u, lighter):
    with pytest.raises(ValueError):
        judge(value, u, Band(60.0, None, 64.0), GUARDED, lighter)


@pytest.mark.parametrize(("value", "chance"), [(59.9, 0.0), (60.0, 1.0), (62.0, 1.0), (64.0, 1.0), (64.1, 0.0)])
def test_it_is_certain_without_uncertainty(value, chance):
    assert conformance_probability(value, 0.0, Band(60.0, None, 64.0)) == chance
    expected = "inside" if chance else "outside"
    assert judge(value, 0.0, Band(60.0, None, 64.0), GUARDED, 1).verdict == expected


def test_it_takes_the_mean_of_decimals_on_the_limit_as_inside():
    total = 0.1 + 0.2  # 0.30000000000000004
    assert judge(total, 0.1, Band(0.1, None, 0.3), Rule("simple"), 1).verdict == "inside"
    assert judge(total, 0.1, Band(0.1, None, 0.3), Rule("simple"), 1).beyond == 0.0
    assert judge(0.3000001, 0.1, Band(0.1, None, 0.3), Rule("simple"), 1).verdict == "outside"


def test_it_is_undecided_on_the_limit_itself():
    judgement = judge(64.0, 0.3, Band(60.0, None, 64.0), GUARDED, 1)
    assert (judgement.verdict, judgement.side) == ("undecided", "lighter")
    assert judgement.chance == pytest.approx(0.5, abs=1e-9)


def test_it_names_the_nearer_side_and_neither_in_the_middle():
    band = Band(60.0, None, 61.0)
    assert judge(60.4, 0.7, band, GUARDED, 1).side == "darker"
    assert judge(60.6, 0.7, band, GUARDED, 1).side == "lighter"
    assert judge(60.5, 0.7, band, GUARDED, 1).side is None
    # As binary floats 60.45 lies nearer to 60.9 than to 60.0.
    assert judge(60.45, 0.7, Band(60.0, None, 60.9), GUARDED, 1).side is None


def test_it_never_calls_a_value_inside_its_limits_out():
    # So coarse a measurement conforms with 8 % only; that says nothing against the coffee.
    judgement = judge(60.5, 5.0, Band(60.0, None, 61.0), GUARDED, 1)
    assert judgement.chance < 0.2
    assert judgement.verdict == "undecided"


def test_it_says_how_far_out_and_how_far_in():
    assert judge(64.5, 0.1, Band(60.0, None, 64.0), GUARDED, 1).beyond == pytest.approx(0.5)
    assert judge(59.0, 0.1, Band(60.0, None, 64.0), GUARDED, 1).beyond == pytest.approx(1.0)
    assert judge(63.0, 0.1, Band(60.0, None, 64.0), GUARDED, 1).beyond == pytest.approx(-1.0)
    assert judge(63.0, 0.1, Band(lower=60.0), GUARDED, 1).beyond == pytest.approx(-3.0)


def test_it_keeps_small_chances_from_vanishing():
    small = pytest.approx(norm.cdf(-10.0), rel=1e-9, abs=0)
    assert conformance_probability(60.0, 0.1, Band(61.0, None, 63.0)) == small
    assert conformance_probability(64.0, 0.1, Band(61.0, None, 63.0)) == small


@given(st.floats(-38, 38))
def test_it_has_a_symmetric_normal_distribution(z):
    assert normal_cdf(z) + normal_cdf(-z) == pytest.approx(1.0, abs=1e-15)


CLOSE = {"sigmas": Sigmas(0.2, 0.4, "study"), "step": 0.1, "u_meter": 0.05, "rule": GUARDED, "lighter": 1}


def test_it_finds_the_fewest_fills_that_settle_a_close_call():
    band = Band(60.0, None, 64.0)
    # One fill: u = 0.421; two: 0.302; three: 0.249; four: 0.218. Inside needs 0.8416 u from the limit.
    assert [fills_to_settle(64.0 - d, 1, 3, band=band, **CLOSE) for d in (0.3, 0.25, 0.2)] == [2, 3, 4]
    assert [fills_to_settle(64.0 + d, 1, 3, band=band, **CLOSE) for d in (0.3, 0.25, 0.2)] == [2, 3, 4]


def test_it_says_when_no_number_of_fills_would_settle_it():
    band = Band(60.0, None, 64.0)
    assert fills_to_settle(63.9, 1, 3, band=band, **CLOSE) is None
    assert fills_to_settle(64.0, 1, 3, band=band, **CLOSE) is None
    assert fills_to_settle(63.8, 4, 3, band=band, **CLOSE) is None
    assert fills_to_settle(63.8, 1, 3, band=band, most=3, **CLOSE) is None


@given(st.floats(58, 66), st.integers(1, 3), st.integers(1, 4), some_sigmas, st.floats(0, 1), bands())
def test_it_names_a_number_of_fills_that_does_settle_it(value, fills, per_fill, sigmas, u_meter, band):
    total = fills_to_settle(value, fills, per_fill, sigmas, 0.1, u_meter, band, GUARDED, 1)
    for tried in range(fills + 1, 5):
        u = math.sqrt(sum(uncertainty_terms(tried, tried * per_fill, sigmas, 0.1, u_meter)))
        settled = judge(value, u, band, GUARDED, 1).verdict != "undecided"
        if total is None or tried < total:
            assert not settled
        elif tried == total:
            assert settled
