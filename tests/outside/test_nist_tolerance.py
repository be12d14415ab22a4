"""NIST/SEMATECH e-Handbook of Statistical Methods (public domain; doi 10.18434/M32189), 7.2.6.3: tolerance intervals.

Its example: 43 values, nine tenths of all, confidence 99 %. Two-sided by Howe's method 2.217; one-sided 1.8752 by
Natrella's approximation, and 1.8740 with the non-central t.
"""

import math

import pytest
from scipy import stats

from webapp.measure.tolerance import one_sided_factor, tolerance_band, two_sided_factor


def test_it_gives_the_printed_two_sided_factor():
    assert round(stats.chi2.ppf(0.01, 42), 3) == 23.650
    assert two_sided_factor(43, 0.90, 0.99) == pytest.approx(2.217, abs=5.1e-4)
    assert two_sided_factor(43, 0.90, 0.99) == pytest.approx(2.217315896653631, rel=1e-12)


def test_it_gives_the_printed_one_sided_factor():
    found = one_sided_factor(43, 0.90, 0.99)
    assert round(found, 4) == 1.8740
    assert found == pytest.approx(1.8739536058511987, rel=1e-12)
    # Printed on the way: delta 8.4037 and t 12.28834.
    assert stats.norm.ppf(0.9) * math.sqrt(43) == pytest.approx(8.4037, abs=5.1e-5)
    assert found * math.sqrt(43) == pytest.approx(12.28834, abs=5.1e-6)


def test_it_is_as_near_to_natrella_s_approximation_as_the_handbook_says():
    z_share, z_sure = stats.norm.ppf(0.90), stats.norm.ppf(0.99)
    a = 1 - z_sure**2 / (2 * 42)
    b = z_share**2 - z_sure**2 / 43
    assert (round(a, 4), round(b, 4)) == (0.9356, 1.5165)
    natrella = (z_share + math.sqrt(z_share**2 - a * b)) / a
    assert round(natrella, 4) == 1.8752
    assert one_sided_factor(43, 0.90, 0.99) == pytest.approx(natrella, abs=1.3e-3)


@pytest.mark.parametrize("n", [5, 20, 100, 500])
@pytest.mark.parametrize("coverage", [0.90, 0.95, 0.99])
def test_it_agrees_with_the_non_central_t_of_scipy(n, coverage):
    shift = stats.norm.ppf(coverage) * math.sqrt(n)
    assert stats.nct.cdf(one_sided_factor(n, coverage, 0.95) * math.sqrt(n), n - 1, shift) == pytest.approx(
        0.95, abs=1e-9
    )


def test_its_band_holds_the_share_with_the_confidence_it_says():
    # 1 000 histories of 30 batches: the share of all batches inside mean -/+ k s, known for a normal process, is 95 %
    # and more in 95 of 100 of them (a standard error of 0.7 %).
    draw = stats.norm.rvs(size=(1000, 30), random_state=19690910)
    held = 0
    for row in draw:
        low, high = tolerance_band(list(row))
        held += stats.norm.cdf(high) - stats.norm.cdf(low) >= 0.95
    assert 0.93 <= held / 1000 <= 0.97
