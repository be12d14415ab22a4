"""NIST/SEMATECH e-Handbook of Statistical Methods (public domain; doi 10.18434/M32189), 6.1.6: process capability.

Its example has limits 8 and 20, a mean of 16 and a standard deviation of 2, and prints 1.0, 0.6667 and 1.3333. The
interval of the same section: index -/+ z sqrt(1/(9n) + index^2/(2(n - 1))).
"""

import math

import pytest

from webapp.measure.capability import nearest_index, spread_index


def test_it_gives_the_printed_indices():
    assert spread_index(8, 20, 2, 49).value == pytest.approx(1.0, abs=1e-12)
    both, side = nearest_index(16, 8, 20, 2, 50, 49)
    assert (round(both.value, 4), side) == (0.6667, "upper")
    upper, _side = nearest_index(16, None, 20, 2, 50, 49)
    lower, side = nearest_index(16, 8, None, 2, 50, 49)
    assert (round(upper.value, 4), round(lower.value, 4), side) == (0.6667, 1.3333, "lower")


def test_it_gives_the_printed_shortfall():
    # k = |14 - 16| / 6 = 0.3333, and Cpk = (1 - k) Cp.
    k = abs(14 - 16) / 6
    assert nearest_index(16, 8, 20, 2, 50, 49)[0].value == pytest.approx(
        (1 - k) * spread_index(8, 20, 2, 49).value, rel=1e-12
    )


@pytest.mark.parametrize("n", [25, 50, 100])
def test_it_gives_the_printed_interval(n):
    found, _side = nearest_index(16, 8, 20, 2, n, n - 1)
    half = 1.96 * math.sqrt(1 / (9 * n) + (2 / 3) ** 2 / (2 * (n - 1)))
    assert found.interval == pytest.approx((2 / 3 - half, 2 / 3 + half), abs=1e-5)
