"""Deming regression: the worked example of the NCSS documentation, chapter 303, example 1.

Ten pairs; error variances 0.032 (x) and 0.008 (y), so a ratio y to x of 0.25 (the example writes it x to y: 4).
Printed: slope and intercept in full, jackknife standard errors and 95 % intervals to five decimals.
"""

import pytest

from webapp.measure.deming import deming

X = [7, 8.3, 10.5, 9, 5.1, 8.2, 10.2, 10.3, 7.1, 5.9]
Y = [7.9, 8.2, 9.6, 9, 6.5, 7.3, 10.2, 10.6, 6.3, 5.2]
RATIO = 0.008 / 0.032


def test_it_gives_the_published_line():
    line = deming(X, Y, RATIO)
    assert line.n == 10
    assert line.slope == pytest.approx(1.00119422781949, abs=1e-13)
    assert line.intercept == pytest.approx(-0.0897448990070444, abs=1e-12)


def test_it_gives_the_published_jackknife_errors():
    line = deming(X, Y, RATIO)
    assert (round(line.slope_se, 5), round(line.intercept_se, 5)) == (0.18718, 1.72199)


def test_it_gives_the_published_intervals():
    line = deming(X, Y, RATIO)
    assert line.slope_interval == pytest.approx((0.56956, 1.43283), abs=5.1e-6)
    assert line.intercept_interval == pytest.approx((-4.06065, 3.88117), abs=5.1e-6)


def test_it_gives_the_same_line_the_other_way_round():
    # The axes exchanged, and with them the ratio: 4, as the example writes it.
    line = deming(Y, X, 4)
    assert 1 / line.slope == pytest.approx(1.00119422781949, abs=1e-13)
    assert -line.intercept / line.slope == pytest.approx(-0.0897448990070444, abs=1e-12)
