"""A trainee's samples against those of somebody who is signed off."""

import math

import numpy as np
import pytest
from scipy import stats

from webapp.measure import between_fills
from webapp.measure.routine import fill_value_sigma
from webapp.measure.sign_off import sign_off

REFERENCE = [52.1, 55.3, 58.0, 60.2, 61.7, 63.9, 66.4, 70.1, 74.8, 79.5]
OFF = [0.1, -0.2, 0.0, 0.3, -0.1, 0.2, -0.3, 0.1, 0.0, -0.1]
SPREAD = {"spread_ss": 0.28 * 10, "spread_df": 10, "sigma_f": 0.5, "sigma_r": 0.3, "readings": 3}

SEED = 5


def trainee(shift=0.0, widen=1.0):
    return [value + shift + off * widen for value, off in zip(REFERENCE, OFF, strict=True)]


def test_it_passes_a_trainee_whose_samples_match():
    found = sign_off(REFERENCE, trainee(), 0.5, **SPREAD)
    assert (found.coffees, found.equivalent, found.steady, found.passed) == (10, True, True, True)
    assert found.bias == pytest.approx(0)
    assert found.low < found.bias < found.high
    assert found.low > -0.5
    assert found.high < 0.5
    assert found.spread == pytest.approx(math.sqrt(0.28))


def test_its_interval_is_that_of_scipy():
    found = sign_off(REFERENCE, trainee(0.2), 0.5, **SPREAD)
    theirs = stats.ttest_rel(trainee(0.2), REFERENCE).confidence_interval(0.90)
    assert (found.low, found.high) == pytest.approx((theirs.low, theirs.high), rel=1e-9)
    assert found.bias == pytest.approx(0.2)


@pytest.mark.parametrize(("shift", "widen"), [(0.6, 1), (-0.6, 1), (0.45, 1), (0.0, 8)])
def test_it_does_not_pass_samples_that_are_off_or_not_known_well_enough(shift, widen):
    found = sign_off(REFERENCE, trainee(shift, widen), 0.5, **SPREAD)
    assert (found.equivalent, found.steady, found.passed) == (False, True, False)


def test_it_compares_the_spread_of_fill_values_with_that_of_fill_values():
    # chi2(0.95; 10) = 18.307 (tables): the limit is sqrt((0.25 + 0.03) * 1.8307) = 0.71596.
    found = sign_off(REFERENCE, trainee(), 0.5, **SPREAD)
    assert found.spread_limit == pytest.approx(0.71596, abs=5e-6)
    for sd, steady in ((0.7159, True), (0.7161, False)):
        found = sign_off(REFERENCE, trainee(), 0.5, **{**SPREAD, "spread_ss": sd**2 * 10})
        assert (found.equivalent, found.steady, found.passed) == (True, steady, steady)


def test_a_spread_at_its_limit_is_steady():
    most = sign_off(REFERENCE, trainee(), 0.5, **SPREAD).spread_limit
    assert sign_off(REFERENCE, trainee(), 0.5, **{**SPREAD, "spread_ss": most**2 * 10}).steady


def test_it_does_not_pass_a_spread_that_nobody_has_seen():
    found = sign_off(REFERENCE, trainee(), 0.5, **{**SPREAD, "spread_ss": 0.0, "spread_df": 0})
    assert (found.spread, found.spread_limit, found.steady) == (None, None, None)
    assert (found.equivalent, found.passed) == (True, False)


def test_equal_values_match():
    found = sign_off(REFERENCE, REFERENCE, 0.5, **{**SPREAD, "spread_ss": 0.0})
    assert (found.bias, found.low, found.high, found.spread, found.passed) == (0, 0, 0, 0, True)


def test_its_spread_rule_fails_one_steady_trainee_in_twenty():
    """20000 made-up trainees who fill as the shop does, two fills of ten coffees: 5 % of them fail on spread."""
    print("seed", SEED)
    rng = np.random.default_rng(SEED)
    n = 20000
    fills = rng.normal(0, 0.5, (n, 10, 2, 1)) + rng.normal(0, 0.3, (n, 10, 2, 3))
    values = fills.mean(axis=3)
    ss = values.var(axis=2, ddof=1).sum(axis=1)
    one = [between_fills(pair) for pair in values[0].tolist()]
    assert (math.fsum(ss for ss, _df in one), sum(df for _ss, df in one)) == (pytest.approx(ss[0]), 10)
    most = sign_off(REFERENCE, trainee(), 0.5, **SPREAD).spread_limit
    assert most == pytest.approx(fill_value_sigma(0.3, 0.5, 3) * math.sqrt(stats.chi2.ppf(0.95, 10) / 10))
    share = (np.sqrt(ss / 10) > most).mean()
    assert share == pytest.approx(0.05, abs=5 * math.sqrt(0.0475 / n))


@pytest.mark.parametrize(
    "wrong",
    [
        {"reference": REFERENCE[:9]}, {"bound": 0}, {"bound": math.nan}, {"spread_ss": -1}, {"spread_ss": math.nan},
        {"spread_df": -1}, {"sigma_f": -1}, {"sigma_r": math.inf}, {"readings": 0},
        {"reference": [math.nan, *REFERENCE[1:]]},
    ],
)  # fmt: skip
def test_it_refuses_impossible_numbers(wrong):
    with pytest.raises(ValueError):
        sign_off(**{"reference": REFERENCE, "trainee": trainee(), "bound": 0.5, **SPREAD, **wrong})


def test_it_needs_two_coffees():
    with pytest.raises(ValueError):
        sign_off([50], [50], 0.5, **SPREAD)
