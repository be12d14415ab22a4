"""Everyday work against the study of its method: limits of a spread and of a rate."""

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy import stats

from webapp.measure import fill_value
from webapp.measure.routine import (
    ALPHA,
    LEAST_DF,
    LEAST_EXCESS,
    LEAST_SAMPLES,
    chance_rate,
    fill_value_df,
    fill_value_sigma,
    judge,
    judge_beside,
    judge_rate,
    limit,
    rate_limit,
)

few = settings(max_examples=60)

SEED = 11


@few
@given(st.floats(0.01, 5), st.integers(1, 500), st.sampled_from((0.05, 0.01)))
def test_its_limit_is_the_chi_square_point_of_scipy(sigma, df, alpha):
    assert limit(sigma, df, alpha) == pytest.approx(sigma * math.sqrt(stats.chi2.ppf(1 - alpha, df) / df), rel=1e-9)


@few
@given(st.floats(0.01, 5), st.integers(1, 500), st.floats(1, 400))
def test_a_sigma_that_is_less_well_known_gives_a_wider_limit(sigma, df, sigma_df):
    found = limit(sigma, df, sigma_df=sigma_df)
    assert found == pytest.approx(sigma * math.sqrt(stats.f.ppf(1 - ALPHA, df, sigma_df)), rel=1e-9)
    assert found > limit(sigma, df)
    assert limit(sigma, df, sigma_df=1e9) == pytest.approx(limit(sigma, df), rel=1e-6)


def test_it_says_few_fine_or_wide():
    top = limit(0.5, 30)
    assert judge(30 * 0.5**2, 30, 0.5).word == "fine"
    assert judge(30 * top**2, 30, 0.5).word == "fine"
    wide = judge(30 * (top * 1.001) ** 2, 30, 0.5)
    assert (wide.word, wide.limit) == ("wide", top)
    assert wide.sd == pytest.approx(top * 1.001)
    assert judge(100.0, LEAST_DF - 1, 0.5).word == "few"
    assert judge(0.0, 0, 0.5).sd is None


def test_a_little_more_scatter_than_expected_is_fine_however_well_it_is_known():
    assert limit(0.5, 1000) < 0.5 * LEAST_EXCESS
    assert judge(1000 * (0.5 * 1.24) ** 2, 1000, 0.5).word == "fine"
    found = judge(1000 * (0.5 * 1.26) ** 2, 1000, 0.5)
    assert (found.word, found.limit) == ("wide", 0.625)


def test_less_than_the_least_is_fine_whatever_sigma_is():
    assert judge(30 * 0.09**2, 30, 0.03).word == "wide"
    found = judge(30 * 0.09**2, 30, 0.03, least=0.1)
    assert (found.word, found.limit) == ("fine", 0.1)
    assert judge_beside(30 * 0.09**2, 30, 30 * 0.03**2, 30, least=0.1) == found
    with pytest.raises(ValueError):
        judge(1.0, 30, 0.03, least=-0.1)


def test_a_sigma_of_zero_explains_no_scatter_at_all():
    assert judge(0.0, 30, 0.0).word == "fine"
    assert judge(0.1, 30, 0.0).word == "wide"


def test_a_steady_bench_is_called_wide_in_one_month_of_a_hundred():
    """20000 months each, with the sigma known and with the sigma of a study of 20 degrees of freedom."""
    print("seed", SEED)
    rng = np.random.default_rng(SEED)
    n, df, sigma_df = 20000, 40, 20
    months = np.sqrt(rng.chisquare(df, n) / df)
    studies = np.sqrt(rng.chisquare(sigma_df, n) / sigma_df)
    allowed = 5 * math.sqrt(ALPHA * (1 - ALPHA) / n)
    assert (months > limit(1.0, df)).mean() == pytest.approx(ALPHA, abs=allowed)
    assert (months > limit(1.0, df, sigma_df=sigma_df) * studies).mean() == pytest.approx(ALPHA, abs=allowed)
    # What taking the study's sigma for known would do: this is why its degrees of freedom are asked for.
    assert (months > limit(1.0, df) * studies).mean() > 0.1


def test_fill_values_scatter_as_it_says():
    rng = np.random.default_rng(SEED)
    fills = rng.normal(60, 0.5, (50000, 1)) + rng.normal(0, 0.3, (50000, 3))
    assert fill_value_sigma(0.3, 0.5, 3) == pytest.approx(math.sqrt(0.25 + 0.03))
    assert fills.mean(axis=1).std() == pytest.approx(fill_value_sigma(0.3, 0.5, 3), rel=0.015)


def test_it_knows_how_well_the_spread_of_fill_values_is_known():
    # The mean square of a balanced study's fills, 20 df, is readings * (sigma_f^2 + sigma_r^2 / readings): taken apart
    # (25 fills of 3: sigma_f^2 = 0.25 and its df, sigma_r^2 = 0.09 with 50 df) and put together again it has 20.
    ms_f, ms_r = 3 * 0.25 + 0.09, 0.09
    df_f = (ms_f - ms_r) ** 2 / (ms_f**2 / 20 + ms_r**2 / 50)
    assert fill_value_df(0.3, 50, 0.5, df_f, 3) == pytest.approx(20, rel=0.03)
    assert fill_value_df(0.3, 50, 0.0, 0.0, 3) == pytest.approx(50)
    assert fill_value_df(0.0, 50, 0.5, 12, 3) == pytest.approx(12)
    assert fill_value_df(0.0, 50, 0.0, 0.0, 3) == math.inf
    assert fill_value_df(0.1, 50, 0.5, 0.2, 3) == 1
    assert limit(0.5, 30, sigma_df=math.inf) == limit(0.5, 30)
    with pytest.raises(ValueError):
        fill_value_df(0.3, 50, 0.5, 0.0, 3)


@pytest.mark.parametrize(
    "wrong", [(-1, 5), (math.nan, 5), (1, 0), (1, 5, 0), (1, 5, 1), (1, 5, 0.05, 0.5), (1, 5, 0.05, math.nan)]
)
def test_its_limit_refuses_impossible_numbers(wrong):
    with pytest.raises(ValueError):
        limit(*wrong)


def test_it_judges_beside_other_work_by_the_ratio_of_variances():
    # F(0.99; 20, 40) = 2.369 (tables): a variance of 2.3 times that of the other work is fine, one of 2.4 is not.
    assert judge_beside(20 * 2.36, 20, 40.0, 40).word == "fine"
    assert judge_beside(20 * 2.38, 20, 40.0, 40).word == "wide"
    alone = judge_beside(20.0, 20, 9.0, LEAST_DF - 1)
    assert (alone.sd, alone.limit, alone.word) == (1.0, None, "few")
    for wrong in ((1, 20, -1, 40), (1, 20, 1, -1), (-1, 20, 1, 40)):
        with pytest.raises(ValueError):
            judge_beside(*wrong)


@pytest.mark.parametrize("wrong", [(-1, 5, 1), (1, -5, 1), (1, 5, -1), (math.inf, 5, 1), (1, 0, math.nan)])
def test_its_judgement_refuses_impossible_numbers(wrong):
    with pytest.raises(ValueError):
        judge(*wrong)


# Rates


@few
@example(1, 0.01, 0.01)
@given(st.integers(0, 3000), st.sampled_from((0.01, 0.05, 0.3)), st.sampled_from((0.05, 0.01, 0.5)))
def test_its_rate_limit_is_the_binomial_point_of_scipy(n, rate, alpha):
    assert rate_limit(n, rate, alpha) == max(0, int(stats.binom.ppf(1 - alpha, n, rate)))


def test_it_says_few_fine_or_often():
    # 100 samples of one fill at 5 %: more than 11 come once in a hundred times (binomial tables: 0.0043; 10: 0.0115).
    assert rate_limit(100) == 11
    assert judge_rate(11, 100, 100).word == "fine"
    often = judge_rate(12, 100, 100)
    assert (often.rate, often.limit, often.word) == (0.12, 0.11, "often")
    assert judge_rate(19, LEAST_SAMPLES - 1, 30).word == "few"
    assert judge_rate(0, 0, 0).rate is None


def test_chance_disagrees_as_often_as_it_takes_for_granted():
    """Samples of three readings and the one more, worked out as on the bench: no more than the rate it allows."""
    rng = np.random.default_rng(SEED)

    def disagrees(fills):
        states = []
        for readings in rng.normal(60, 0.3, (fills, 4)):
            first = fill_value(readings[:3], 3, 0.3, 0.001)
            states.append(fill_value(readings, 3, 0.3, 0.001).state if first.state == "more" else first.state)
        return "disagree" in states

    n = 6000
    for fills in (1, 2, 3):
        share = sum(disagrees(fills) for _sample in range(n)) / n
        assert share <= chance_rate(fills) + 4 * math.sqrt(0.05 / n)
        # And not far below, from two fills on, where it is worked out by the fill.
        assert fills == 1 or share >= chance_rate(fills) - 4 * math.sqrt(0.08 / n)


@pytest.mark.parametrize("wrong", [(-1, 5, 5), (6, 5, 5), (1, 5, 4), (1, -1, 5)])
def test_a_rate_refuses_impossible_numbers(wrong):
    with pytest.raises(ValueError):
        judge_rate(*wrong)


def test_its_parts_refuse_impossible_numbers():
    for wrong in ((-1,), (10, 0), (10, 1), (10, 0.05, 0), (10, math.nan)):
        with pytest.raises(ValueError):
            rate_limit(*wrong)
    for wrong in ((-0.1, 1, 3), (1, math.nan, 3), (1, 1, 0.5)):
        with pytest.raises(ValueError):
            fill_value_sigma(*wrong)
    with pytest.raises(ValueError):
        chance_rate(0.9)
