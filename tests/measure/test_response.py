"""The line of the result on the roast: edges. Published numbers and other implementations: tests/outside."""

import math

import pytest

from webapp.measure.response import LEAST_BATCHES, NoSpread, change_for, response_of

ROAST = [200.0 + no % 5 for no in range(LEAST_BATCHES)]


def test_it_finds_a_line_without_scatter():
    found = response_of(ROAST, [60 - 0.5 * (at - 200) for at in ROAST])
    assert (found.slope, found.at(200)) == pytest.approx((-0.5, 60), rel=1e-9)
    assert found.residual == pytest.approx(0, abs=1e-9)
    assert found.clear


def test_it_says_nothing_of_a_roast_that_never_changed():
    with pytest.raises(NoSpread):
        response_of([200.1] * LEAST_BATCHES, [60 + no % 3 for no in range(LEAST_BATCHES)])


def test_it_asks_for_enough_batches():
    with pytest.raises(ValueError, match="at least 15"):
        response_of(ROAST[1:], ROAST[1:])


def test_it_gives_no_advice_on_a_slope_that_may_be_zero():
    found = response_of(ROAST, [60 + (-1) ** no for no in range(LEAST_BATCHES)])
    assert not found.clear
    assert change_for(found, 202.0, 1.0) is None


def test_it_says_when_a_change_leaves_what_was_seen():
    found = response_of(ROAST, [60 - 0.5 * (at - 200) + 0.1 * math.sin(no) for no, at in enumerate(ROAST)])
    near, far = change_for(found, 202.0, -0.5), change_for(found, 202.0, -5.0)
    assert near.by == pytest.approx(1.0, rel=0.2)
    assert near.known
    assert not far.known
    low, high = far.reads
    assert low < 54 < high
    assert high - low > near.reads[1] - near.reads[0]


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_it_refuses_what_is_no_number(bad):
    with pytest.raises(ValueError):
        response_of([*ROAST[1:], bad], ROAST)
    with pytest.raises(ValueError):
        response_of(ROAST, [*ROAST[1:], bad])
    with pytest.raises(ValueError):
        response_of(ROAST[:-1], ROAST)
