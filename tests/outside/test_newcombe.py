"""Newcombe, Two-sided confidence intervals for the single proportion, Stat Med 1998; 17: 857-872.

Table I, method 3 (Wilson's score without a correction for continuity), 95 %.
"""

import pytest
from statsmodels.stats.proportion import proportion_confint

from webapp.measure.capability import wilson

TABLE = {
    (81, 263): (0.2553, 0.3662), (15, 148): (0.0624, 0.1605), (0, 20): (0.0, 0.1611), (1, 29): (0.0061, 0.1718),
}  # fmt: skip


@pytest.mark.parametrize("case", TABLE)
def test_it_gives_the_printed_intervals(case):
    assert tuple(round(end, 4) for end in wilson(*case)) == TABLE[case]


@pytest.mark.parametrize("case", [*TABLE, (20, 20), (28, 29), (96, 100)])
def test_it_agrees_with_statsmodels(case):
    assert wilson(*case) == pytest.approx(proportion_confint(*case, method="wilson"), abs=1e-12)
