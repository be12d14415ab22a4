"""What a read blend says: against its expectation, and all of them together."""

from __future__ import annotations

import pytest

from webapp.measure.blend import Held, Reading, predict
from webapp.measure.blend_read import against, learnt
from webapp.measure.conformity import Band


def test_it_says_nothing_of_two_blends():
    assert learnt([], 0.1) is None
    assert learnt([0.3, 0.2], 0.1) is None


def test_equal_differences_do_not_prove_that_there_is_no_scatter():
    found = learnt([0.02, 0.02, 0.02], 0.1)
    assert found.linear
    assert found.give_or_take > 0.05


def test_it_sees_what_is_always_off():
    found = learnt([0.9, 1.1, 1.0, 1.0], 0.1)
    assert not found.linear
    assert found.mean == pytest.approx(1.0)


def test_agreeing_is_the_same_both_ways_round():
    parts = [(0.25, Reading(55, 0.3)), (0.75, Reading(59, 0.2))]
    darker, lighter = (against(parts, Reading(58 + by, 0.2)) for by in (-0.9, 0.9))
    assert darker.score == pytest.approx(-lighter.score)
    assert not darker.agrees
    assert against(parts, Reading(58.4, 0.2)).agrees


def test_two_meters_average_out_and_one_does_not():
    band = {"ground": Band(50, None, 70)}
    one = [Held(10, {"ground": Reading(56, 0.4, 0.3, meter)}) for meter in "aa"]
    two = [Held(10, {"ground": Reading(56, 0.4, 0.3, meter)}) for meter in "ab"]
    assert predict(two, [10, 10], band)["ground"].u == pytest.approx((2 * 0.25 * 0.16) ** 0.5)
    assert predict(one, [10, 10], band)["ground"].u == pytest.approx((2 * 0.25 * 0.07 + 0.09) ** 0.5)


def test_it_refuses_shares_that_are_none():
    with pytest.raises(ValueError):
        against([(0.4, Reading(56, 0.1))], Reading(56, 0.1))
    with pytest.raises(ValueError):
        learnt([1.0, 2.0, float("nan")], 0.1)
