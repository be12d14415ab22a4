"""Published intervals of capability indices.

Cpk: a column of Quality Digest, May 2000 (qualitydigest.com/may00/html/lastword.html): 45 values and a Cpk of 1.15 give
0.89 to 1.41. Cp: Montgomery, Introduction to Statistical Quality Control, from memory, recomputed: limits 38 and 62, 20
values with a standard deviation of 1.75 give 2.29, and 1.57 to 3.01.
"""

import random

import pytest
from scipy import stats

from webapp.measure.capability import capability_of, nearest_index, spread_index

SEED = 20000501


def test_it_gives_the_published_interval_of_cpk():
    found, _side = nearest_index(3 * 1.15, 0, None, 1, 45, 44)
    assert found.value == pytest.approx(1.15, rel=1e-12)
    assert [round(end, 2) for end in found.interval] == [0.89, 1.41]


def test_it_gives_the_remembered_interval_of_cp():
    found = spread_index(38, 62, 1.75, 19)
    assert round(found.value, 2) == 2.29
    # Printed from 2.29 rounded: 1.57 to 3.01. In full 1.564945 to 3.005579.
    assert found.interval == pytest.approx((1.564945, 3.005579), abs=5.1e-7)
    low, high = (2.29 * (stats.chi2.ppf(p, 19) / 19) ** 0.5 for p in (0.025, 0.975))
    assert (round(low, 2), round(high, 2)) == (1.57, 3.01)
    assert found.interval == pytest.approx((low, high), rel=3e-3)


def test_its_intervals_hold_the_truth_as_often_as_they_say():
    # Limits at -/+ 4 sigma round the mean: Cp, Cpk, Pp and Ppk are all 4/3 in truth. 2 000 processes of 50 batches:
    # a standard error of 0.5 %; that of cpk and ppk, where the mean lies right between the limits, is on the safe side.
    print(f"seed {SEED}")
    draw = random.Random(SEED)
    held = dict.fromkeys(("cp", "cpk", "pp", "ppk"), 0)
    for _ in range(2000):
        found = capability_of([draw.gauss(0, 1) for _ in range(50)], -4, 4, 0.001)
        for name in held:
            low, high = getattr(found, name).interval
            held[name] += low <= 4 / 3 <= high
    print(held)
    for count in held.values():
        assert 0.93 <= count / 2000 <= 0.985
    assert all(0.93 <= held[name] / 2000 <= 0.97 for name in ("cp", "pp"))
