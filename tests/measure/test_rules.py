"""The Western Electric rules: each fires where it should, and only there."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.measure.rules import RULES, Signal, episodes, signals

from .strategies import in_steps

runs = st.lists(in_steps(0.1, -40, 40), min_size=1, max_size=30)
few = settings(max_examples=60)

# Values in sigmas around zero, the rule, and where it fires. Each breaks off one short of it first.
CASES = {
    1: ([0.1, -0.2, 3.1], 2, 2),
    2: ([0.1, 2.1, -0.1, 2.2], 3, 1),
    3: ([1.1, -0.2, 1.2, 1.3, 1.4], 4, 0),
    4: ([0.1, 0.2, 0.3, 0.1, 0.2, 0.3, 0.1, 0.2], 7, 0),
}


@pytest.mark.parametrize("rule", CASES)
@pytest.mark.parametrize("sign", [1, -1])
def test_it_fires_at_the_point_that_completes_it(rule, sign):
    values, point, first = CASES[rule]
    side = "above" if sign > 0 else "below"
    assert signals([sign * value for value in values], 0.0, 1.0) == [Signal(point, rule, side, first)]
    assert signals([sign * value for value in values[:point]], 0.0, 1.0) == []


@pytest.mark.parametrize("rule", CASES)
def test_it_fires_only_when_switched_on(rule):
    values, _point, _first = CASES[rule]
    assert signals(values, 0.0, 1.0, set(RULES) - {rule}) == []


def test_it_sees_a_point_on_its_limit_as_inside():
    assert signals([3.0], 0.0, 1.0) == []
    # 40.6 is a little more than 40.3 + 3 * 0.1 in binary, not on a meter.
    assert signals([40.6], 40.3, 0.1) == []
    assert [signal.rule for signal in signals([40.61], 40.3, 0.1)] == [1]


def test_it_counts_each_side_for_itself():
    assert signals([2.5, -2.5, 2.5], 0.0, 1.0) == [Signal(2, 2, "above", 0)]
    assert signals([2.5, -2.5, -0.1], 0.0, 1.0) == []
    assert signals([1.5, 1.5, -1.5, -1.5, 1.5], 0.0, 1.0) == []


def test_it_gives_no_signal_at_a_point_that_has_come_back():
    # Two of the last three are still beyond two sigma at the third value, which itself is not.
    assert [signal.point for signal in signals([2.5, 2.5, 0.5], 0.0, 1.0)] == [1]


def test_it_ends_a_run_on_the_centre():
    # A value on the centre line is on neither side.
    assert signals([0.5] * 7 + [0.0] + [0.5] * 7, 0.0, 1.0) == []


def plainly(values):
    """The rules, spelt out anew for each point."""
    found = set()
    for rule, (needed, of, beyond) in RULES.items():
        for side, sign in (("above", 1), ("below", -1)):
            for point in range(len(values)):
                window = values[max(0, point - of + 1) : point + 1]
                out = [sign * value > beyond + 1e-9 for value in window]
                if out[-1] and sum(out) >= needed:
                    found.add((point, rule, side))
    return found


@few
@given(runs)
def test_it_agrees_with_the_rules_spelt_out(values):
    found = signals(values, 0.0, 1.0)
    assert {(signal.point, signal.rule, signal.side) for signal in found} == plainly(values)
    assert [signal.point for signal in found] == sorted(signal.point for signal in found)
    for signal in found:
        assert signal.point - signal.first < RULES[signal.rule][1]


@few
@given(runs, st.integers(0, 30))
def test_it_knows_nothing_of_what_comes_later(values, until):
    assert signals(values[:until], 0.0, 1.0) == [s for s in signals(values, 0.0, 1.0) if s.point < until]


def test_it_gathers_what_belongs_together():
    steady, away = [0.1, -0.1] * 10, [3.5, 3.6, 0.2, 3.7]
    found = episodes(signals(steady + away + steady + [-3.5], 0.0, 1.0))
    assert [(one.side, one.first, one.signals[0].rule, one.last) for one in found] == [
        ("above", 20, 1, 23),
        ("below", 44, 1, 44),
    ]


@pytest.mark.parametrize(
    ("values", "sigma", "rules"), [([1.0], 0.0, RULES), ([float("nan")], 1.0, RULES), ([1.0], 1.0, [5])]
)
def test_it_refuses_what_makes_no_sense(values, sigma, rules):
    with pytest.raises(ValueError):
        signals(values, 0.0, sigma, rules)


def test_it_says_nothing_of_no_values():
    assert signals([], 0.0, 1.0) == []
    assert episodes([]) == []
