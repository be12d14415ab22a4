"""ISO 5725-6:1994, Accuracy (trueness and precision) of measurement methods and results, part 6.

Table 1 (critical range factors, one decimal) and the paths through clause 5.2, both from memory; that f(n) is
the 95 % point of the studentized range is recomputed here with scipy. The readings of the paths are made up.
"""

import math

import pytest
from scipy.stats import studentized_range

from webapp.measure import CRITICAL_RANGE_FACTORS, critical_range, fill_value, more_readings
from webapp.measure.compare import (
    critical_difference_one_lab,
    critical_difference_reference,
    critical_difference_two_labs,
)

PRINTED = {
    2: 2.8, 3: 3.3, 4: 3.6, 5: 3.9, 6: 4.0, 7: 4.2, 8: 4.3, 9: 4.4, 10: 4.5, 11: 4.6,
    12: 4.6, 13: 4.7, 14: 4.7, 15: 4.8, 16: 4.8, 17: 4.9, 18: 4.9, 19: 5.0, 20: 5.0, 25: 5.2,
    30: 5.3, 40: 5.5, 50: 5.6, 60: 5.8, 70: 5.9, 80: 5.9, 90: 6.0, 100: 6.1,
}  # fmt: skip


def test_it_has_a_factor_for_every_number_of_readings_from_2_to_100():
    assert list(CRITICAL_RANGE_FACTORS) == list(range(2, 101))


@pytest.mark.parametrize(("n", "printed"), PRINTED.items())
def test_it_rounds_to_the_printed_table(n, printed):
    assert round(CRITICAL_RANGE_FACTORS[n], 1) == printed


@pytest.mark.parametrize("n", range(2, 101))
def test_it_is_the_95_percent_point_of_the_studentized_range(n):
    # Tolerance: half a unit of the fifth decimal that is kept, and 1e-7 for scipy's own integration.
    assert studentized_range.ppf(0.95, n, math.inf) == pytest.approx(CRITICAL_RANGE_FACTORS[n], abs=5.1e-6)


def test_it_takes_the_repeatability_limit_for_two_readings():
    # The repeatability limit r = 1.96 * sqrt(2) * sigma_r, printed as 2.8 sigma_r (ISO 5725-6, 4.1.4).
    assert critical_range(2, 1.0, 0.01) == pytest.approx(1.96 * math.sqrt(2), abs=1e-4)


PATHS = [  # clause, readings, planned, final, value, how, state; sigma_r = 1
    ("5.2.2.1", [10, 12.5], 2, False, 11.25, "mean", "agree"),
    ("5.2.2.1, two more", [10, 13.5, 11, 12], 2, False, 11.625, "mean", "agree"),
    ("5.2.2.1, two more", [10, 14, 11, 12], 2, False, 11.5, "median", "disagree"),
    ("5.2.2.2, one more", [10, 13, 11], 2, False, 34 / 3, "mean", "agree"),
    ("5.2.2.2 a, no fourth", [10, 14, 11], 2, True, 11, "median", "disagree"),
    ("5.2.2.2 b, a fourth", [10, 14, 11, 12], 2, False, 11.5, "median", "disagree"),
    ("5.2.3, three at the start", [10, 13, 11], 3, False, 34 / 3, "mean", "agree"),
    ("5.2.3, one more", [10, 13.5, 11, 12], 3, False, 11.625, "mean", "agree"),
    ("5.2.3, one more", [10, 14, 11, 12], 3, False, 11.5, "median", "disagree"),
    ("5.2.3, expensive", [10, 14, 11], 3, True, 11, "median", "disagree"),
    ("5.2.3, five, two more", [10, 14.1, 11, 12, 12, 11, 12], 5, False, 82.1 / 7, "mean", "agree"),
    ("5.2.3, five, two more", [10, 14.2, 11, 12, 12, 11, 12], 5, False, 12, "median", "disagree"),
]


@pytest.mark.parametrize(("clause", "readings", "planned", "final", "value", "how", "state"), PATHS)
def test_it_follows_the_paths_of_clause_5_2(clause, readings, planned, final, value, how, state):
    fill = fill_value(readings, planned, 1.0, 0.1, final=final)
    assert (fill.how, fill.state, fill.n) == (how, state, len(readings)), clause
    assert fill.value == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize(
    ("readings", "planned", "more"),
    [([10, 14], 2, 1), ([10, 14, 11], 3, 1), ([10, 15, 11, 12], 4, 2), ([10, 15, 11, 12, 12], 5, 2)],
)
def test_it_asks_for_more_while_clause_5_2_allows_it(readings, planned, more):
    fill = fill_value(readings, planned, 1.0, 0.1)
    assert (fill.state, fill.more, fill.how) == ("more", more, "mean")


@pytest.mark.parametrize("n", range(2, 101))
def test_it_asks_for_between_a_third_and_half_as_many_again(n):
    # 5.2.3: n/3 <= m <= n/2, and no more than that takes.
    assert n / 3 <= more_readings(n) <= n / 2
    assert more_readings(n) - 1 < n / 3


# Critical differences, clause 4.2: the formulas from memory, sigma_r = 1, sigma_R = 2.


def test_it_gives_the_critical_difference_of_two_means_in_one_laboratory():
    # Two single readings: the repeatability limit itself, 2.8 sigma_r. Means of 2 and 3: 1.80739.
    assert critical_difference_one_lab(1.0, 1, 1) == pytest.approx(2.8, rel=1e-14)
    assert critical_difference_one_lab(1.0, 2, 3) == pytest.approx(1.80739, abs=5.1e-6)


def test_it_gives_the_critical_difference_of_two_laboratories():
    # Single readings: the reproducibility limit itself, 2.8 sigma_R. Means of 2 and 2: 5.23832.
    assert critical_difference_two_labs(1.0, 2.0, 1, 1) == pytest.approx(5.6, rel=1e-14)
    assert critical_difference_two_labs(1.0, 2.0, 2, 2) == pytest.approx(5.23832, abs=5.1e-6)


def test_it_gives_the_critical_difference_to_a_reference_value():
    # A mean of 2: 3.70405. A single reading: 2.8 sigma_R / sqrt(2), that is 1.96 sigma_R up to the rounding of 2.8.
    assert critical_difference_reference(1.0, 2.0, 2) == pytest.approx(3.70405, abs=5.1e-6)
    assert critical_difference_reference(1.0, 2.0, 1) == pytest.approx(1.96 * 2.0, rel=0.011)


def test_it_has_no_critical_difference_for_a_reproducibility_below_the_repeatability():
    for call in (
        lambda: critical_difference_two_labs(2.0, 1.0, 2, 2),
        lambda: critical_difference_reference(2.0, 1.0, 2),
        lambda: critical_difference_one_lab(-1.0, 2, 2),
        lambda: critical_difference_one_lab(1.0, 0, 2),
    ):
        with pytest.raises(ValueError):
            call()
