"""Standing: one judging of a run, by its own limits or by frozen ones."""

from __future__ import annotations

import pytest

from webapp.measure.charts import limits_of
from webapp.measure.standing import frozen_limits, stand

STEADY = [56.0, 56.4, 55.8, 56.2, 55.9, 56.3, 56.1, 55.7, 56.2, 56.0] * 3


def test_it_gives_frozen_limits_back_as_they_were():
    made = limits_of(STEADY, 0.1)
    again = frozen_limits(made.values, made.centre, made.sigma)
    for name in ("centre", "sigma", "lower", "upper", "range_centre", "range_upper"):
        assert getattr(again, name) == pytest.approx(getattr(made, name), rel=1e-12), name
    assert again.frozen


def test_it_leaves_steady_values_alone():
    found = stand(STEADY, 0.1, (53.0, 59.0))
    assert found.advice.word == "leave"
    assert found.run.episodes == ()
    assert len(found.run.average) == len(STEADY)


def test_it_sees_by_frozen_limits_what_its_own_would_swallow():
    """A baseline stands for what was good: five batches that all lie elsewhere are seen against it, and have too few
    among themselves for limits of their own."""
    moved = [value + 2.0 for value in STEADY[:5]]
    assert stand(moved, 0.1, None).advice.word == "too_few"
    made = limits_of(STEADY, 0.1)
    found = stand(moved, 0.1, None, frozen=frozen_limits(made.values, made.centre, made.sigma))
    assert (found.advice.word, found.advice.rule, found.advice.side, found.advice.point) == ("changed", 1, "above", 0)


def test_it_does_not_judge_what_is_older_than_the_baseline():
    older = [50.0] * 4
    made = limits_of(STEADY, 0.1)
    frozen = frozen_limits(made.values, made.centre, made.sigma)
    found = stand([*older, *STEADY], 0.1, (53.0, 59.0), frozen=frozen, start=4)
    assert found.advice.word == "leave"
    assert found.capability.values == len(STEADY)
    gone = stand([*older, *STEADY, 59.5], 0.1, (53.0, 59.0), frozen=frozen, start=4)
    # Counted from the first of all values, so that a page finds the batch.
    assert gone.advice.point == 34
    assert gone.run.episodes[-1].signals[0].point == 34
    assert gone.run.drifts == () or gone.run.drifts[0][0] == 34


def test_it_listens_only_for_what_is_switched_on():
    drifting = STEADY + [56.6] * 8
    assert stand(drifting, 0.1, None, rules=(1,), average=False).advice.word != "changed"
    assert stand(drifting, 0.1, None, rules=(1, 2, 3, 4), average=False).advice.word == "changed"


def test_it_says_nothing_of_nothing():
    assert stand([], 0.1, None).advice.word == "too_few"
    assert stand([56.0], 0.1, (55.0, 57.0)).limits is None
