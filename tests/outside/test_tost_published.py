"""Two one-sided tests of equivalence: published examples, as collected in the validation of Lakens' TOSTER package.

Stegner, Bostrom and Greenfield, Eval Program Plann 1996; 19: 193-198, p. 196.
Limentani and others, Anal Chem 2005; 77: 221A-226A, p. 225 (an analytical transfer).
Meyners, Food Qual Prefer 2012; 26: 231-245, p. 237 (prints p = 0.0717, from the normal distribution).
"""

import pytest
from scipy import stats

from webapp.measure.compare import tost_paired, tost_two


def test_it_gives_the_t_values_of_stegner():
    found = tost_two(1.5679, 0.4285, 64, 1.6764, 0.4748, 70, 0.3136)
    assert found.df == 132
    # Printed 2.616 and 5.383 without its sign, worked out with rounded parts (in full 5.3845).
    assert found.t_lower == pytest.approx(2.616, abs=5.1e-4)
    assert found.t_upper == pytest.approx(-5.383, abs=1.6e-3)
    assert found.equivalent


def test_it_gives_the_interval_of_limentani():
    found = tost_two(89.3, 1.9, 12, 87.7, 1.3, 12, 3.7)
    assert found.df == 22
    assert (found.t_lower, found.t_upper) == pytest.approx((7.97496, -3.15989), abs=5.1e-6)
    assert found.interval == pytest.approx((0.4588, 2.7412), abs=5.1e-5)
    assert found.equivalent


def test_it_is_not_convinced_by_the_data_of_meyners():
    found = tost_two(7.1, 2**0.5, 100, 6.9, 2.2**0.5, 100, 0.5)
    assert found.df == 198
    assert (found.t_lower, found.t_upper) == pytest.approx((3.41565, -1.46385), abs=5.1e-6)
    assert stats.norm.cdf(found.t_upper) == pytest.approx(0.0717, abs=1e-4)
    assert found.p_upper == pytest.approx(0.07241, abs=5.1e-6)
    assert found.interval == pytest.approx((-0.139, 0.539), abs=5.1e-4)
    assert not found.equivalent


@pytest.mark.parametrize("bound", [0.2, 0.45, 0.46, 1.0])
def test_it_agrees_with_two_one_sample_t_tests_of_scipy(bound):
    # Made-up differences; the two tests that equivalence is made of, by another implementation.
    differences = [0.3, -0.1, 0.4, 0.2, 0.5, -0.2, 0.6, 0.1, 0.3, 0.4]
    found = tost_paired(differences, bound)
    lower = stats.ttest_1samp(differences, -bound, alternative="greater")
    upper = stats.ttest_1samp(differences, bound, alternative="less")
    assert (found.t_lower, found.t_upper) == pytest.approx((lower.statistic, upper.statistic), rel=1e-12)
    assert (found.p_lower, found.p_upper) == pytest.approx((lower.pvalue, upper.pvalue), rel=1e-9)
    assert found.interval == pytest.approx(
        stats.ttest_1samp(differences, 0).confidence_interval(0.90), rel=1e-9
    )
    assert found.equivalent is bool(max(lower.pvalue, upper.pvalue) < 0.05)
