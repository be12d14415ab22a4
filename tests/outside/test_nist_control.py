"""NIST/SEMATECH e-Handbook of Statistical Methods (public domain; doi 10.18434/M32189): control charts.

6.3.2.4 EWMA: data, printed averages and limits. 6.3.2.2 individuals: data and mean moving range. 2.6.2 check
standard 137, probe 2362: data as published with Dataplot (MPC62.DAT); the handbook's own printed results were not
at hand, those here were recomputed from the data by numpy and scipy.
"""

import math

import pytest

from webapp.measure.control import check_standard, ewma, first_signal, moving_range_sigma

EWMA_DATA = [
    52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6,
    52.1,
]  # fmt: skip
EWMA_PRINTED = [
    50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92,
    50.73, 51.23, 51.94, 51.99,
]  # fmt: skip


def test_it_gives_the_printed_averages_of_6_3_2_4():
    points = ewma(EWMA_DATA, 50, 2.0539, 0.3, 3, exact=False)
    assert [round(point.value, 2) for point in points] == EWMA_PRINTED
    assert first_signal(points) is None


def test_it_gives_the_printed_limits_of_6_3_2_4():
    # Printed 52.5884 and 47.4115, worked out with sqrt(0.3/1.7) rounded to 0.4201 (in full 0.4200840): 1e-4.
    for point in ewma(EWMA_DATA, 50, 2.0539, 0.3, 3, exact=False):
        assert (point.lower, point.upper) == pytest.approx((47.4115, 52.5884), abs=1.01e-4)
        assert point.lower == pytest.approx(47.411568, abs=5e-7)


def test_its_exact_limits_start_at_one_value_s_own_and_end_at_those_of_6_3_2_4():
    # After one value the average is weight * value: its standard deviation is weight * sigma.
    points = ewma(EWMA_DATA, 50, 2.0539, 0.3, 3)
    assert points[0].upper - 50 == pytest.approx(3 * 0.3 * 2.0539, rel=1e-12)
    # After two: sqrt(0.3^2 + (0.7 * 0.3)^2).
    assert points[1].upper - 50 == pytest.approx(3 * math.hypot(0.3, 0.21) * 2.0539, rel=1e-12)
    assert points[19].upper == pytest.approx(52.5884, abs=1.01e-4)
    assert first_signal(points) is None


INDIVIDUALS = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


def test_it_gives_the_sigma_behind_the_printed_limits_of_6_3_2_2():
    # Printed 55.8041 / 45.8159, worked out with 1.128; with 2/sqrt(pi) the half width is 4.992412.
    sigma, ranges = moving_range_sigma([INDIVIDUALS], 0.1)
    assert ranges == 9
    assert 3 * sigma == pytest.approx((55.8041 - 45.8159) / 2, rel=4e-4)
    assert 50.81 + 3 * sigma == pytest.approx(55.802412, abs=5e-7)


MEANS = [
    97.07, 97.049, 97.048, 97.084, 97.106, 97.014, 97.047, 97.078, 97.065, 97.061, 97.06, 97.102, 97.096, 97.035,
    97.114, 97.069, 97.095, 97.088, 97.079, 97.016, 97.051, 97.07, 97.065, 97.111, 97.073,
]  # fmt: skip
SDS = [
    0.085, 0.052, 0.038, 0.036, 0.049, 0.036, 0.052, 0.117, 0.085, 0.052, 0.06, 0.048, 0.026, 0.088, 0.031, 0.037,
    0.032, 0.056, 0.067, 0.116, 0.046, 0.078, 0.04, 0.038, 0.039,
]  # fmt: skip


def test_it_gives_both_levels_of_check_standard_137():
    found = check_standard(MEANS, SDS, 6)
    assert found.mean == pytest.approx(97.06984, abs=1e-9)
    assert (found.day_df, found.short_df) == (24, 125)
    assert found.day_sd == pytest.approx(0.0267981343, abs=5e-11)
    assert found.short_sd == pytest.approx(0.0613879467, abs=5e-11)


def test_it_gives_the_limits_of_check_standard_137():
    found = check_standard(MEANS, SDS, 6)
    assert found.limits_2 == pytest.approx((97.01624, 97.12344), abs=5.1e-6)
    assert found.limits_3 == pytest.approx((96.98945, 97.15023), abs=5.1e-6)
    # sqrt(F(0.95; 5, 125)) with F = 2.286771.
    assert found.short_limit == pytest.approx(0.0928313, abs=5.1e-8)
    # One occasion's short-term scatter is over it twice (0.117 and 0.116), and no mean is beyond three.
    assert sum(sd > found.short_limit for sd in SDS) == 2
    assert all(found.limits_3[0] < mean < found.limits_3[1] for mean in MEANS)
