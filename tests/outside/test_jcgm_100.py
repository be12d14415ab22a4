"""JCGM 100:2008, Guide to the expression of uncertainty in measurement (GUM). From memory, recomputed."""

import math

import pytest

from webapp.measure import FillValue, Sigmas, mean, meter_uncertainty, sample_result, standard_deviation

# 4.4.3, table 1: twenty observations of a temperature, degrees Celsius.
TEMPERATURES = [
    96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
    100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
]  # fmt: skip


def test_it_gives_the_mean_and_standard_deviations_of_4_4_3():
    # Printed: 100.145 (rounded 100.14), s = 1.489 (1.49), s of the mean 0.333 (0.33).
    assert mean(TEMPERATURES) == pytest.approx(100.145, rel=1e-14)
    assert standard_deviation(TEMPERATURES) == pytest.approx(1.4888444830595435, rel=1e-13)
    assert round(standard_deviation(TEMPERATURES), 3) == 1.489
    assert round(standard_deviation(TEMPERATURES) / math.sqrt(20), 3) == 0.333


def test_it_takes_the_variance_of_twenty_equal_observations_as_4_4_3_does():
    # u = s / sqrt(n) of 4.2.3, as the reading term of a result: twenty readings, nothing else uncertain.
    s = standard_deviation(TEMPERATURES)
    fill = FillValue(mean(TEMPERATURES), "mean", 20, 5.82, None, "agree", 0)
    result = sample_result([fill], Sigmas(s, 0.0, "study"), 1e-6, 0.0)
    assert result.u == pytest.approx(0.3329157472046673, rel=1e-9)


def test_it_takes_a_known_tolerance_as_a_uniform_distribution():
    # 4.3.7: known to lie within +/- a: u = a / sqrt(3).
    assert meter_uncertainty([], 0.5) == (pytest.approx(0.28867513459481287, rel=1e-14), "assumed")


def test_it_takes_the_step_of_a_display_as_a_uniform_distribution():
    # F.2.2.1: resolution step: u = 0.29 step, variance step^2 / 12.
    fill = FillValue(50.0, "mean", 1, 0.0, None, "agree", 0)
    result = sample_result([fill], Sigmas(0, 0, "study"), 0.1, 0.0)
    assert round(result.u / 0.1, 2) == 0.29


def test_it_adds_the_terms_as_variances_and_expands_with_k_2():
    # 5.1.2 and 6.2.1, by hand: 0.4^2/2 + 0.3^2/6 + 0.1^2/12 + 0.2^2 = 0.08 + 0.015 + 0.000833 + 0.04.
    fills = [FillValue(value, "mean", 3, 0.1, 1.0, "agree", 0) for value in (62.0, 62.4)]
    result = sample_result(fills, Sigmas(0.3, 0.4, "study"), 0.1, 0.2)
    assert result.value == pytest.approx(62.2, rel=1e-14)
    assert result.u**2 == pytest.approx(0.1358333333333333, rel=1e-13)
    assert pytest.approx(2 * result.u, rel=1e-15) == result.U
