"""NIST/SEMATECH e-Handbook of Statistical Methods (public domain; doi 10.18434/M32189): individuals and moving range.

6.3.2.2: data, moving ranges, mean and limits as printed, which are worked out with d2 rounded to 1.128. 6.3.2.1: the
printed factors of two values (the same in ASTM E2587 and ISO 7870-2), and the integrals that they come from.
"""

import math

import pytest
from scipy import integrate, stats

from webapp.measure.charts import LIMIT_FACTOR, RANGE_LIMIT_FACTOR, limits_of, moving_ranges
from webapp.measure.control import RANGE_FACTOR

DATA = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
RANGES = [2.0, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5]


def test_it_gives_the_printed_moving_ranges_and_means():
    found = limits_of(DATA, 0.1)
    assert moving_ranges(DATA) == pytest.approx(RANGES, abs=1e-9)
    assert found.centre == pytest.approx(50.81, abs=1e-9)
    assert found.range_centre == pytest.approx(1.8778, abs=5.1e-5)
    assert (found.values, found.floored, found.frozen) == (10, False, False)


def test_it_gives_the_printed_limits_but_for_their_rounded_factor():
    found = limits_of(DATA, 0.1)
    # Printed 55.8041 and 45.8159: half the distance is 4.9941 with 1.128, 4.9924 with 2/sqrt(pi).
    assert (found.upper, found.lower) == pytest.approx((55.802412, 45.817588), abs=5.1e-7)
    rounded = RANGE_FACTOR / 1.128
    assert found.centre + 3 * found.sigma * rounded == pytest.approx(55.8041, abs=5.1e-5)
    assert found.centre - 3 * found.sigma * rounded == pytest.approx(45.8159, abs=5.1e-5)
    # Not printed there; with the printed factor 3.267 it is 6.1347.
    assert found.range_upper == pytest.approx(6.1347, rel=2e-4)
    assert all(found.lower < value < found.upper for value in DATA)


def test_it_uses_the_printed_factors():
    assert round(RANGE_FACTOR, 3) == 1.128
    assert round(LIMIT_FACTOR, 2) == 2.66
    assert round(RANGE_LIMIT_FACTOR, 3) == 3.267


def test_it_uses_what_the_factors_are_integrals_of():
    # d2 = E[range], d3^2 = E[range^2] - d2^2; the range of two normal values is |difference|, of density 2 n(0, 2).
    density = stats.norm(0, math.sqrt(2)).pdf
    first = integrate.quad(lambda r: 2 * r * density(r), 0, math.inf)[0]
    second = integrate.quad(lambda r: 2 * r * r * density(r), 0, math.inf)[0]
    by_order = integrate.quad(lambda x: 1 - stats.norm.cdf(x) ** 2 - stats.norm.sf(x) ** 2, -12, 12)[0]
    assert first == pytest.approx(RANGE_FACTOR, rel=1e-9)
    assert by_order == pytest.approx(RANGE_FACTOR, rel=1e-9)
    assert 3 / first == pytest.approx(LIMIT_FACTOR, rel=1e-9)
    assert 1 + 3 * math.sqrt(second - first**2) / first == pytest.approx(RANGE_LIMIT_FACTOR, rel=1e-9)
