"""NIST Statistical Reference Datasets, univariate summary statistics (public domain; doi 10.18434/T43G6C).

NumAcc1 to NumAcc4 (by their rule), Michelso and Mavro, with the certified values. The data are decimal
numbers: as binary floats those of NumAcc3 and NumAcc4 carry the difference of 0.1 to 9 and 8 digits only, so
their certified standard deviation can be met to that many. What the code itself adds is checked against exact
fractions of the same floats.
"""

import math
from fractions import Fraction

import pytest

from webapp.measure import mean, standard_deviation

MICHELSO = [
    85, 74, 90, 107, 93, 85, 95, 98, 98, 88, 100, 98, 93, 65, 76, 81, 100, 100, 96, 96, 96, 94, 96,
    94, 88, 80, 85, 88, 90, 84, 83, 79, 81, 88, 88, 83, 80, 79, 76, 80, 88, 88, 88, 86, 72, 72, 62,
    86, 97, 95, 88, 91, 85, 87, 84, 84, 85, 84, 84, 84, 89, 81, 81, 82, 80, 77, 76, 74, 75, 76, 91,
    92, 89, 86, 88, 72, 84, 85, 85, 78, 89, 84, 78, 81, 76, 81, 79, 81, 82, 85, 87, 87, 81, 74, 81,
    94, 95, 80, 81, 87,
]  # fmt: skip
"""Hundredths above 299 (speed of light in air, thousands of km/s)."""

MAVRO = [
    180, 170, 180, 190, 180, 170, 150, 140, 150, 150, 170, 180, 180, 190, 190, 210, 200, 160, 140,
    130, 130, 150, 150, 160, 150, 140, 130, 140, 150, 140, 150, 160, 150, 160, 190, 200, 200, 210,
    220, 230, 240, 250, 270, 260, 260, 260, 270, 260, 250, 240,
]  # fmt: skip
"""Hundred-thousandths above 2 (filter transmittance)."""


_MICHELSO = [float(f"{299 + v // 100}.{v % 100:02d}") for v in MICHELSO]
_MAVRO = [float(f"2.{v:05d}") for v in MAVRO]


def _num_acc(whole: int) -> list[float]:
    """1001 values: whole.2, then whole.1 and whole.3 five hundred times."""
    return [float(f"{whole}.2")] + [float(f"{whole}.1"), float(f"{whole}.3")] * 500


# name: data, certified mean, certified standard deviation, digits of the latter that floats carry
DATASETS = {
    "NumAcc1": ([10000001, 10000003, 10000002], 10000002, 1, 15),
    "NumAcc2": (_num_acc(1), 1.2, 0.1, 14),
    "NumAcc3": (_num_acc(1000000), 1000000.2, 0.1, 9),
    "NumAcc4": (_num_acc(10000000), 10000000.2, 0.1, 8),
    "Michelso": (_MICHELSO, 299.8524, 0.0790105478190518, 12),
    "Mavro": (_MAVRO, 2.001856, 0.000429123454003053, 12),
}


@pytest.mark.parametrize("name", DATASETS)
def test_it_gives_the_certified_mean(name):
    data, certified, _, _ = DATASETS[name]
    assert mean(data) == pytest.approx(certified, rel=1e-15, abs=0)


@pytest.mark.parametrize("name", DATASETS)
def test_it_gives_the_certified_standard_deviation(name):
    data, _, certified, digits = DATASETS[name]
    assert standard_deviation(data) == pytest.approx(certified, rel=10.0**-digits, abs=0)


@pytest.mark.parametrize("name", DATASETS)
def test_it_loses_nothing_beyond_the_binary_input(name):
    data = [Fraction(x) for x in DATASETS[name][0]]
    centre = sum(data) / len(data)
    exact = math.sqrt(sum((x - centre) ** 2 for x in data) / (len(data) - 1))
    assert standard_deviation(DATASETS[name][0]) == pytest.approx(exact, rel=1e-14, abs=0)
