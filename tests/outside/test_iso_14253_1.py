"""ISO 14253-1, Decision rules for verifying conformity or nonconformity with specifications. From memory.

Edition 2013: conformity is proven where the value with its U (k = 2) lies inside the limits, nonconformity
where it lies outside, and between them neither is. Edition 2017: by default with 95 % probability, which is a
guard band of 1.65 u at a single limit.
"""

import pytest

from webapp.measure import Band, Rule, judge

BAND = Band(60.0, None, 66.0)
U_STANDARD = 0.2


@pytest.mark.parametrize("guard", [1.66, 2.0])
@pytest.mark.parametrize("lighter", [1, -1])
def test_it_proves_conformity_outside_the_guard_band(guard, lighter):
    for value in (60.0 + guard * U_STANDARD, 66.0 - guard * U_STANDARD):
        assert judge(value, U_STANDARD, BAND, Rule("guarded", 0.95), lighter).verdict == "inside"


@pytest.mark.parametrize("guard", [1.66, 2.0])
@pytest.mark.parametrize("lighter", [1, -1])
def test_it_proves_nonconformity_beyond_the_guard_band(guard, lighter):
    for value in (60.0 - guard * U_STANDARD, 66.0 + guard * U_STANDARD):
        assert judge(value, U_STANDARD, BAND, Rule("guarded", 0.95), lighter).verdict == "outside"


@pytest.mark.parametrize("guard", [-1.64, -1.0, 0.0, 1.0, 1.64])
def test_it_proves_neither_within_the_guard_band(guard):
    for value in (60.0 + guard * U_STANDARD, 66.0 - guard * U_STANDARD):
        assert judge(value, U_STANDARD, BAND, Rule("guarded", 0.95), 1).verdict == "undecided"
