"""Facts of the bench that everybody in the trade knows. Common practice, no source."""

import pytest

from webapp.measure import (
    Band,
    Rule,
    Sigmas,
    assumed_sigmas,
    difference,
    fill_value,
    judge,
    position,
    sample_result,
    show_signed,
    show_value,
)

SIGMAS = {kind: Sigmas(*assumed_sigmas(kind, 100), "assumed") for kind in ("whole", "ground")}


def _fill(kind, readings):
    return fill_value(readings, 3, SIGMAS[kind].sigma_r, 0.1)


def _result(kind, *fills):
    return sample_result([_fill(kind, readings) for readings in fills], SIGMAS[kind], 0.1, 0.1)


@pytest.mark.parametrize(
    ("kind", "readings", "recorded"),
    [("whole", [62.0, 62.1, 62.0], "62.0"), ("ground", [84.3, 84.4, 84.3], "84.3")],
)
def test_it_records_three_readings_of_one_dish_as_their_mean(kind, readings, recorded):
    # Common practice, no source.
    fill = _fill(kind, readings)
    assert (fill.state, fill.how) == ("agree", "mean")
    assert show_value(fill.value, 0.1) == recorded


def test_it_never_takes_two_grind_settings_for_one_series():
    # Common practice, no source: the same coffee ground finer reads lighter, by more than ten points from a
    # cupping grind to an espresso grind.
    cupping, espresso = [84.3, 84.4, 84.3], [96.8, 96.8, 96.9]
    both = _result("ground", cupping, espresso)
    assert both.fills_disagree
    assert not _result("ground", cupping, cupping).fills_disagree
    gap = _fill("ground", espresso).value - _fill("ground", cupping).value
    assert gap > 10
    for half_width in (1.0, 3.0, 5.0):
        around_cupping = Band(84.3 - half_width, 84.3, 84.3 + half_width)
        judgement = judge(_result("ground", espresso).value, both.u, around_cupping, Rule(), 1)
        assert (judgement.verdict, judgement.side) == ("outside", "lighter")


def test_it_shows_ground_lighter_than_whole_bean_where_higher_is_lighter():
    # Common practice, no source: one coffee, whole bean 62.0 and 84.3 in a coarse cupping grind.
    ground, whole = _result("ground", [84.3, 84.4, 84.3]), _result("whole", [62.0, 62.1, 62.0])
    d = difference(ground, whole, 0.1, 0.1, same_meter=True)
    assert show_signed(d.value, 0.1) == "+22.3"
    assert position(ground.value, Band(whole.value - 1, whole.value, whole.value + 1), 1) > 1


def test_it_shows_ground_lighter_than_whole_bean_where_higher_is_darker():
    # Common practice, no source; the same coffee on a scale that counts the other way, from 150 down.
    ground, whole = _result("ground", [65.7, 65.6, 65.7]), _result("whole", [88.0, 87.9, 88.0])
    d = difference(ground, whole, 0.1, 0.1, same_meter=True)
    assert show_signed(d.value, 0.1) == "\N{MINUS SIGN}22.3"
    assert position(ground.value, Band(whole.value - 1, whole.value, whole.value + 1), -1) > 1
    assert judge(d.value, d.u, Band(-3.0, 0.0, 3.0), Rule(), -1).side == "lighter"
