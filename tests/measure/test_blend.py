"""Blend-off: what it promises of its mix, and what it says where there is none."""

from __future__ import annotations

import random

import pytest

from webapp.measure.blend import Held, Infeasible, Mix, Reading, largest
from webapp.measure.conformity import Band, Rule

BAND = Band(55.0, None, 58.0)


def one(mass: float, value: float, u: float = 0.3, common: float = 0.1) -> Held:
    return Held(mass, {"ground": Reading(value, u, common)})


@pytest.mark.parametrize("seed", range(30))
def test_it_reaches_the_confidence_with_what_can_be_weighed(seed):
    rng = random.Random(seed)
    held = [one(round(rng.uniform(3, 40), 1), rng.uniform(53, 60)) for _no in range(rng.randint(2, 9))]
    rule = Rule("guarded", 0.9)
    found = largest(held, {"ground": BAND}, rule, 0.1)
    if isinstance(found, Mix):
        assert found.chance >= 0.9
        for mass, batch, left in zip(found.masses, held, found.left, strict=True):
            assert 0 <= mass <= batch.mass + 1e-9
            assert mass * 10 == pytest.approx(round(mass * 10), abs=1e-6)
            assert mass + left == pytest.approx(batch.mass)
        assert sum(found.shares) == pytest.approx(1)


def test_it_gives_less_where_more_certainty_is_asked():
    held = [one(30, 59.5), one(20, 57.0), one(10, 56.0)]
    totals = [largest(held, {"ground": BAND}, Rule("guarded", c), 0.1).total for c in (0.8, 0.95, 0.99)]
    assert totals == sorted(totals, reverse=True)
    assert totals[0] > totals[-1]


@pytest.mark.parametrize(("values", "why"), [((59.0, 60.0), "all_above"), ((52.0, 54.0), "all_below")])
def test_it_says_why_there_is_none_and_what_comes_nearest(values, why):
    found = largest([one(10, value) for value in values], {"ground": BAND}, Rule(), 0.1)
    assert isinstance(found, Infeasible)
    assert (found.why, found.kind) == (why, "ground")
    nearest = min(values, key=lambda value: min(abs(value - 55), abs(value - 58)))
    assert found.nearest.predicted["ground"].value == pytest.approx(nearest)


def test_it_says_so_where_the_meter_is_too_coarse_for_the_band():
    found = largest([one(10, 54.0, 3, 3), one(10, 59.0, 3, 3)], {"ground": BAND}, Rule("guarded", 0.95), 0.1)
    assert isinstance(found, Infeasible)
    assert found.why == "unsure"


def test_it_says_so_where_each_kind_alone_could_be_mixed():
    """Whole bean wants more of the first, ground more of the second."""
    held = [
        Held(10, {"whole": Reading(50.0, 0.1), "ground": Reading(50.0, 0.1)}),
        Held(10, {"whole": Reading(60.0, 0.1), "ground": Reading(60.0, 0.1)}),
    ]
    bands = {"whole": Band(51, None, 52), "ground": Band(58, None, 59)}
    found = largest(held, bands, Rule(), 0.1)
    assert isinstance(found, Infeasible)
    assert (found.why, found.kind) == ("apart", None)


@pytest.mark.parametrize(
    ("held", "bands"),
    [([one(10, 56)], {"ground": BAND}), ([one(10, 56), one(9, 57)], {}), ([one(1, 56), one(1, 57)], {"whole": BAND})],
)
def test_it_refuses_what_is_no_question(held, bands):
    with pytest.raises(ValueError):
        largest(held, bands, Rule(), 0.1)


def test_it_refuses_numbers_that_are_none():
    with pytest.raises(ValueError):
        Held(0, {"ground": Reading(56, 0.1)})
    with pytest.raises(ValueError):
        Reading(float("nan"), 0.1)
    with pytest.raises(ValueError):
        Reading(56, 0.1, 0.2)


def test_the_nearest_mix_has_shares_and_no_masses():
    found = largest([one(10, 54.0), one(30, 53.0)], {"ground": BAND}, Rule(), 0.1)
    assert found.nearest.shares == pytest.approx((1, 0))
    assert not hasattr(found.nearest, "left")
