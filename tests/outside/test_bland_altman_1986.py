"""Bland and Altman, Statistical methods for assessing agreement between two methods, Lancet 1986; i: 307-310.

Peak flow of 17 subjects, two readings each with a large and a mini meter; all four columns, and what is printed. The
paper takes limits at 2 standard deviations and works on with rounded numbers (-2.1, 38.8), so a printed number is met
to what its rounding can move. Numbers with more digits were recomputed from the data by numpy and scipy.
"""

import math

import pytest

from webapp.measure.compare import bland_altman, duplicates_sd, repeatability_coefficient

LARGE_1 = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
LARGE_2 = [490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421]
MINI_1 = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
MINI_2 = [525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443]


def test_it_gives_the_printed_bias_and_standard_deviation():
    found = bland_altman(LARGE_1, MINI_1)
    assert (found.n, round(found.bias, 1), round(found.sd, 1)) == (17, -2.1, 38.8)
    assert (found.bias, found.sd) == pytest.approx((-2.1176470588, 38.7651298736), abs=1e-9)


def test_it_gives_the_printed_limits():
    # Printed -79.7 and 75.5 from -2.1 -/+ 2 * 38.8: rounding moves them by at most 0.05 + 2 * 0.05.
    found = bland_altman(LARGE_1, MINI_1, 2)
    assert (found.lower, found.upper) == pytest.approx((-79.7, 75.5), abs=0.15)
    assert (found.lower, found.upper) == pytest.approx((-79.648, 75.413), abs=1e-3)
    narrower = bland_altman(LARGE_1, MINI_1, 1.959963984540054)
    assert (narrower.lower, narrower.upper) == pytest.approx((-78.0959055, 73.8606113), abs=1e-7)


def test_it_takes_limits_at_1_96_standard_deviations_unless_told_otherwise():
    found = bland_altman(LARGE_1, MINI_1)
    assert (found.lower, found.upper) == pytest.approx((-78.0973016, 73.8620075), abs=1e-7)


def test_it_gives_the_printed_intervals():
    found = bland_altman(LARGE_1, MINI_1, 2)
    assert (round(found.bias_se, 1), round(found.limit_se, 1)) == (9.4, 16.3)
    # t with 16 degrees of freedom is 2.12: printed -22.0 to 17.8.
    assert [round(end, 1) for end in found.bias_interval] == [-22.0, 17.8]
    assert found.bias_interval == pytest.approx((-22.0488377, 17.8135436), abs=1e-6)
    # Printed -114.3 to -45.1 and 40.9 to 110.1: the rounded limits -/+ 2.12 * 16.3 (0.15 + 2.12 * 0.05).
    assert found.lower_interval == pytest.approx((-114.3, -45.1), abs=0.26)
    assert found.upper_interval == pytest.approx((40.9, 110.1), abs=0.26)
    half = 2.1199053 * math.sqrt(3 / 17) * 38.7651298736
    assert found.upper_interval == pytest.approx((75.413 - half, 75.413 + half), abs=1e-3)


@pytest.mark.parametrize(
    ("readings", "printed", "full"),
    [((LARGE_1, LARGE_2), 43.2, 43.294), ((MINI_1, MINI_2), 56.4, 56.316)],
    ids=["large", "mini"],
)
def test_it_gives_the_printed_coefficients_of_repeatability(readings, printed, full):
    # Twice 21.6 and 28.2, themselves rounded: at most 2 * 0.05.
    found = repeatability_coefficient(*readings, coverage_factor=2)
    assert found == pytest.approx(printed, abs=0.1)
    assert found == pytest.approx(full, abs=5e-4)


def test_it_corrects_the_spread_of_duplicate_means_as_printed():
    sd, corrected = duplicates_sd(LARGE_1, LARGE_2, MINI_1, MINI_2)
    assert (round(sd, 1), round(corrected, 1)) == (33.2, 37.7)
    assert corrected == pytest.approx(37.655, abs=5e-4)
