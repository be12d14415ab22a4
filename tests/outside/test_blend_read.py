"""A blend that was read, against published numbers.

Student (W. S. Gosset), The probable error of a mean, Biometrika 6 (1908): the hours of sleep of ten people by two
substances; the interval of the mean difference is what R prints for its copy of the data (`t.test`, paired: 0.7001142
to 2.4598858; from memory, recomputed here with scipy). ISO 13528: E_n = (x - X) / sqrt(U(x)^2 + U(X)^2), which agrees
up to 1.
JCGM 100, 5.2.2 by hand.
"""

from __future__ import annotations

import math

import pytest
from scipy import stats

from webapp.measure.blend import Reading
from webapp.measure.blend_read import against, learnt

SLEEP = [1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4]


def test_it_gives_students_interval():
    found = learnt(SLEEP, 0.1)
    assert (found.blends, found.linear) == (10, False)
    assert found.mean == pytest.approx(1.58)
    assert found.interval == pytest.approx((0.7001142, 2.4598858), abs=1e-6)
    assert found.interval == pytest.approx(stats.ttest_1samp(SLEEP, 0).confidence_interval(0.95))


@pytest.mark.parametrize(
    ("x", "expected", "U_x", "U_expected", "score"),
    [(10.5, 10.0, 0.3, 0.4, 1.0), (10.0, 10.5, 0.3, 0.4, -1.0), (10.3, 10.0, 0.3, 0.4, 0.6), (9.0, 10.0, 0.6, 0.8, -1)],
)
def test_it_scores_as_the_standard_does(x, expected, U_x, U_expected, score):
    found = against([(1.0, Reading(expected, U_expected / 2))], Reading(x, U_x / 2))
    assert found.score == pytest.approx(score)
    assert found.agrees


def test_a_meter_that_read_all_of_it_cancels():
    """Half of u 0.5 and half of u 0.4, 0.3 of each the meter's; read with u 0.5, 0.3 of it the same meter's:
    0.25 * 0.16 + 0.25 * 0.07 + 0.16 + (0.3 - 0.3)^2 = 0.2175. With another meter 0.18 more."""
    parts = [(0.5, Reading(56, 0.5, 0.3, "a")), (0.5, Reading(58, 0.4, 0.3, "a"))]
    assert against(parts, Reading(57.5, 0.5, 0.3, "a")).u == pytest.approx(math.sqrt(0.2175))
    assert against(parts, Reading(57.5, 0.5, 0.3, "b")).u == pytest.approx(math.sqrt(0.2175 + 0.18))
