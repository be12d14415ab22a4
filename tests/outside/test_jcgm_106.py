"""JCGM 106:2012, The role of measurement uncertainty in conformity assessment.

Formulae, the breakdown voltage example and table 1 from memory; the numbers recomputed.
"""

import pytest
from scipy.stats import norm

from webapp.measure import Band, Rule, conformance_probability, judge, normal_cdf


def test_it_gives_the_probability_of_the_breakdown_voltage_example():
    # y = -5.47 V, u = 0.05 V, upper limit -5.40 V: printed 0.92, in full Phi(1.4) = 0.9192433407662289.
    chance = conformance_probability(-5.47, 0.05, Band(upper=-5.40))
    assert round(chance, 2) == 0.92
    assert chance == pytest.approx(0.9192433407662289, rel=1e-12)


@pytest.mark.parametrize(("confidence", "verdict"), [(0.80, "inside"), (0.90, "inside"), (0.95, "undecided")])
def test_it_judges_the_breakdown_voltage_by_the_asked_confidence(confidence, verdict):
    assert judge(-5.47, 0.05, Band(upper=-5.40), Rule("guarded", confidence), 1).verdict == verdict


TABLE_1 = [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)]
"""Conformance probability and z of a single-sided interval, z to the two printed decimals."""


@pytest.mark.parametrize(("chance", "z"), TABLE_1)
@pytest.mark.parametrize("limit", ["lower", "upper"])
def test_it_agrees_with_table_1_within_the_printed_digits(chance, z, limit):
    # Printed z is within half a unit of its last digit (1.645 is printed 1.64).
    inward = 1 if limit == "lower" else -1
    band = Band(**{limit: 63.0})
    low = conformance_probability(63.0 + inward * 0.2 * (z - 0.00501), 0.2, band)
    high = conformance_probability(63.0 + inward * 0.2 * (z + 0.00501), 0.2, band)
    assert low < chance < high


@pytest.mark.parametrize("cm", [0.5, 1.0, 2.5, 10.0])
@pytest.mark.parametrize("share", [-0.1, 0.0, 0.05, 0.5, 0.9, 1.0, 1.3])
def test_it_gives_the_two_sided_probability_from_the_capability_index(cm, share):
    # 7.4: with Cm = T/(4u) and (y - lower)/T: Phi(4 Cm (1 - share)) - Phi(-4 Cm share).
    lower, upper = 62.0, 64.0
    chance = conformance_probability(lower + share * 2.0, 2.0 / (4 * cm), Band(lower, None, upper))
    assert chance == pytest.approx(norm.cdf(4 * cm * (1 - share)) - norm.cdf(-4 * cm * share), abs=1e-14)


def test_it_leaves_a_guard_band_of_two_u_a_one_sided_risk_of_2_275_percent():
    # 8.3.2: guard band w = U = 2u; a value on the acceptance limit is non-conforming with under 2.3 %.
    chance = conformance_probability(64.0 - 2 * 0.3, 0.3, Band(upper=64.0))
    assert 1 - chance == pytest.approx(0.02275, abs=5e-6)


@pytest.mark.parametrize("z", [-37.0, -8.0, -4.0, -1.959964, -1e-3, 0.0, 0.5, 1.4, 3.0, 9.0])
def test_it_keeps_the_digits_of_the_normal_distribution_in_both_tails(z):
    assert normal_cdf(z) == pytest.approx(norm.cdf(z), rel=1e-12, abs=0)
