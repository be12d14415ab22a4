"""The gauge's geometry: what must hold whichever way a scale runs and wherever the value lies."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.ui.gauge import make_gauge

steps = st.sampled_from([0.01, 0.1, 0.5, 1.0, 5.0])
directions = st.sampled_from([1, -1])


@st.composite
def bands(draw):
    """(step, lower, centre, upper, value, U), some limits missing, the value anywhere on a plausible scale."""
    step = draw(steps)
    lower = draw(st.integers(1, 800))
    centre = lower + draw(st.integers(1, 60))
    upper = centre + draw(st.integers(1, 60))
    value = draw(st.none() | st.integers(-200, 2000))
    U = draw(st.none() | st.integers(1, 80))
    sides = draw(st.sampled_from(["both", "lower", "upper", "none"]))
    scaled = [number if number is None else number * step for number in (lower, centre, upper, value, U)]
    if sides in ("upper", "none"):
        scaled[0] = None
    if sides in ("lower", "none"):
        scaled[2] = None
    if sides == "none":
        scaled[1] = None
    return step, *scaled


def gauges(case, lighter):
    step, lower, centre, upper, value, U = case
    it = make_gauge("whole", value, U, lower, centre, upper, step=step, lighter=lighter)
    return it, (it.wide, it.narrow)


@given(bands(), directions)
def test_it_keeps_everything_on_the_axis(case, lighter):
    it, views = gauges(case, lighter)
    assert it.low < it.high
    for view in views:
        ends = view.left, view.left + view.width
        xs = [t.x for t in view.ticks] + [r.x for r in view.rails] + list(view.whisker or ())
        xs += [x for x in (view.mark, view.target) if x is not None]
        assert all(ends[0] <= x <= ends[1] for x in xs)


@given(bands(), directions)
def test_it_prints_numbers_that_do_not_touch(case, lighter):
    _, views = gauges(case, lighter)
    for view, figure in zip(views, (10.5, 9.5), strict=True):
        labels = sorted((t.x, t.text) for t in view.ticks if t.text)
        for (x1, a), (x2, b) in zip(labels, labels[1:], strict=False):
            assert x2 - x1 > (len(a) + len(b)) / 2 * figure
        assert len({text for _, text in labels}) == len(labels)


@given(bands(), directions)
def test_it_numbers_the_axis_at_least_once(case, lighter):
    _, views = gauges(case, lighter)
    assert all(any(t.text for t in view.ticks) for view in views)


@given(bands())
def test_it_mirrors_when_the_scale_runs_the_other_way(case):
    _, plain = gauges(case, 1)
    _, flipped = gauges(case, -1)
    opposite = {"left": "right", "right": "left", "": ""}
    for a, b in zip(plain, flipped, strict=True):
        assert b.arrow == opposite[a.arrow]
        if a.mark is not None:
            assert a.mark + b.mark == pytest.approx(a.total, abs=0.2)
        for rail, mirrored in zip(a.rails, reversed(b.rails), strict=True):
            assert rail.x + mirrored.x == pytest.approx(a.total, abs=0.2)
            assert rail.text == mirrored.text


@given(bands(), directions)
def test_it_points_an_arrow_only_beyond_the_axis(case, lighter):
    it, views = gauges(case, lighter)
    value = case[4]
    beyond = value is not None and not it.low <= value <= it.high
    assert all(bool(view.arrow) == beyond for view in views)


def test_it_puts_lighter_to_the_right_on_either_scale():
    lighter_up = make_gauge("whole", 57, None, 54, 56, 58, step=0.1, lighter=1)
    lighter_down = make_gauge("whole", 55, None, 54, 56, 58, step=0.1, lighter=-1)
    for it in (lighter_up, lighter_down):
        assert it.wide.mark > it.wide.target
    assert [rail.text for rail in lighter_down.wide.rails] == ["58.0", "54.0"]


def test_it_stretches_the_axis_to_a_value_nearby_and_pins_one_far_off():
    near = make_gauge("whole", 61, 0.5, 54, 56, 58, step=0.1, lighter=1)
    far = make_gauge("whole", 99, 0.5, 54, 56, 58, step=0.1, lighter=1)
    resting = make_gauge("whole", None, None, 54, 56, 58, step=0.1, lighter=1)
    assert near.high > 61
    assert near.wide.arrow == ""
    assert (far.low, far.high) == (resting.low, resting.high)
    assert far.wide.arrow == "right"
    assert far.value == "99.0"


def test_it_opens_the_wash_to_the_end_where_a_band_has_one_limit():
    it = make_gauge("ground", 61, 0.5, 58, 60, None, step=0.1, lighter=1)
    assert len(it.wide.rails) == 1
    assert sum(it.wide.wash) == pytest.approx(it.wide.left + it.wide.width)
    flipped = make_gauge("ground", 61, 0.5, 58, 60, None, step=0.1, lighter=-1)
    assert flipped.wide.wash[0] == flipped.wide.left


def test_it_draws_an_axis_without_band_or_value():
    it = make_gauge("ground", None, None, None, None, None, step=0.1, lighter=1, scale=(0, 150))
    assert (it.low, it.high) == (0, 150)
    assert it.wide.mark is it.wide.wash is None
    numbers = [float(t.text) for t in it.wide.ticks if t.text]
    assert numbers[0] == 0
    assert 100 < numbers[-1] <= 150


def test_it_prints_with_a_decimal_comma():
    it = make_gauge("whole", 56.25, 0.41, 54.5, 56, 57.5, step=0.1, lighter=1, decimal_mark=",")
    assert (it.value, it.give_or_take, it.lower) == ("56,2", "0,5", "54,5")
    tight = make_gauge("whole", None, None, 0.44, 0.45, 0.46, step=0.001, lighter=1, decimal_mark=",")
    assert "0,45" in [t.text for t in tight.wide.ticks]


def test_it_refuses_a_direction_that_is_none():
    with pytest.raises(ValueError):
        make_gauge("whole", 1, None, 0, 1, 2, step=0.1, lighter=0)
