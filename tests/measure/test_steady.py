"""The newest steady stretch: long where nothing happened, cut where something did."""

import random

import pytest

from webapp.measure.advice import look
from webapp.measure.charts import LEAST_BASELINE, limits_of
from webapp.measure.steady import MOST_STRETCH, is_steady, steady_stretch

SEED = 20261128


def drawn(many, seed=SEED, shift=0.0):
    draw = random.Random(seed)
    return [56 + shift + 0.5 * draw.gauss(0, 1) for _ in range(many)]


def calm(many):
    """Values in which nothing fires."""
    return [56 + (0.3, -0.2, 0.1, -0.3, 0.2, -0.1)[no % 6] for no in range(many)]


def fires(values):
    run = look(values, limits_of(values, 0.1))
    return bool(run.episodes or run.drifts)


def test_it_takes_all_of_a_steady_run_up_to_the_most():
    assert steady_stretch(calm(LEAST_BASELINE), 0.1) == (0, LEAST_BASELINE - 1)
    assert steady_stretch(calm(140), 0.1) == (140 - MOST_STRETCH, 139)


def test_it_finds_none_where_there_are_too_few():
    assert steady_stretch([], 0.1) is None
    assert steady_stretch(calm(LEAST_BASELINE - 1), 0.1) is None
    # Every tenth far off: no twenty in a row.
    assert steady_stretch([value + 9 * (no % 10 == 0) for no, value in enumerate(calm(60))], 0.1) is None


def test_it_takes_what_came_after_a_slip_before_what_was_before_it():
    assert steady_stretch([*calm(40), 60.0, *calm(25)], 0.1) == (41, 65)
    assert steady_stretch([*calm(40), 60.0, *calm(10)], 0.1) == (0, 39)


def test_it_takes_a_new_level_once_it_is_long_enough():
    moved = [value + 2 for value in calm(24)]
    assert steady_stretch([*calm(30), *moved], 0.1) == (30, 53)


@pytest.mark.parametrize("shift", [0.0, 0.5, 1.5])
def test_nothing_ever_fires_in_what_it_finds(shift):
    print(f"seed {SEED}")
    found = 0
    for seed in range(60):
        values = drawn(60, SEED + seed) + drawn(30, SEED - seed, shift)
        if (stretch := steady_stretch(values, 0.1)) is not None:
            first, last = stretch
            found += 1
            assert last - first + 1 >= LEAST_BASELINE
            assert not fires(values[first : last + 1])
            assert is_steady(values[first : last + 1], 0.1)
            # As long as it can be: with any more to the front, something would.
            assert all(fires(values[no : last + 1]) for no in range(first))
    assert found > 30


def test_it_says_steady_where_nothing_fires_and_only_there():
    steady = [not fires(values) for values in (drawn(30, SEED + seed) for seed in range(100))]
    assert [is_steady(drawn(30, SEED + seed), 0.1) for seed in range(100)] == steady
    assert 20 < sum(steady) < 100
    assert not is_steady([56.0], 0.1)


@pytest.mark.parametrize("wrong", [{"step": 0}, {"values": [float("nan")] * 30}])
def test_it_refuses_what_is_no_number(wrong):
    with pytest.raises(ValueError):
        steady_stretch(**({"values": calm(30), "step": 0.1} | wrong))
