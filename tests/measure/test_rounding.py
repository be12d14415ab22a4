"""How numbers are printed."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.measure.strategies import in_steps, steps
from webapp.measure import (
    mean,
    parse_reading,
    round_half_even,
    show_give_or_take,
    show_percent,
    show_signed,
    show_value,
    step_decimals,
)

MINUS = "\N{MINUS SIGN}"


@given(st.floats(-1e6, 1e6), steps)
def test_it_rounds_to_the_nearest_multiple_of_the_step(value, step):
    rounded = round_half_even(value, step)
    assert rounded % Decimal(str(step)) == 0
    # Half a step, and the billionth within which a number counts as a tie.
    assert abs(Fraction(rounded) - Fraction(value)) <= Fraction(str(step)) * Fraction("0.500000001")


@given(st.floats(-1e6, 1e6), steps)
def test_it_rounds_alike_on_both_sides_of_zero(value, step):
    assert round_half_even(-value, step) == -round_half_even(value, step)


@given(st.lists(st.integers(0, 1500), min_size=1, max_size=12))
def test_it_rounds_the_mean_of_decimal_readings_as_on_paper(tenths):
    exact = Fraction(sum(tenths), 10 * len(tenths))
    nearest = Decimal(round(exact * 10)) / 10  # Fraction rounds half to even, exactly
    assert round_half_even(mean([t / 10 for t in tenths]), 0.1) == nearest


@given(st.sampled_from((0.01, 0.1, 0.5)).flatmap(lambda step: st.tuples(st.just(step), in_steps(step, 0, 300))))
def test_it_prints_what_reads_back_as_the_same_reading(case):
    step, value = case
    for mark in (".", ","):
        assert parse_reading(show_value(value, step, mark), 0, 150, step) == round(100 * value)


@given(st.floats(0, 1e4), steps)
def test_it_never_rounds_a_give_or_take_down(U, step):
    shown = Fraction(show_give_or_take(U, step))
    exact_step = Fraction(str(step))
    assert shown >= Fraction(U) - exact_step / 10**8
    assert shown < Fraction(U) + exact_step or shown == exact_step


@pytest.mark.parametrize(
    ("value", "step", "shown"),
    [
        (56.2, 0.1, "56.2"),
        (56.2, 0.01, "56.20"),
        (56.0, 1, "56"),
        (56.0, 1.0, "56"),
        (56.3, 0.5, "56.5"),
        (56.25, 0.1, "56.2"),
        (56.35, 0.1, "56.4"),
        (57.5, 5, "60"),
        (52.5, 5, "50"),
        (0.125, 0.25, "0.00"),
        (0.375, 0.25, "0.50"),
        (-0.04, 0.1, "0.0"),
        (-3.24, 0.1, MINUS + "3.2"),
        (1234567.0, 0.1, "1234567.0"),
        (1e-7, 0.00001, "0.00000"),
    ],
)
def test_it_shows_a_value_to_the_step(value, step, shown):
    assert show_value(value, step) == shown
    assert show_value(value, step, ",") == shown.replace(".", ",")


@pytest.mark.parametrize(
    ("value", "shown"), [(0.4, "+0.4"), (-0.4, MINUS + "0.4"), (0.04, "0.0"), (-0.04, "0.0"), (0.0, "0.0")]
)
def test_it_shows_a_sign_unless_it_is_zero(value, shown):
    assert show_signed(value, 0.1) == shown
    assert show_signed(value, 0.1, ",") == shown.replace(".", ",")


@pytest.mark.parametrize(
    ("U", "step", "shown"),
    [
        (0.3, 0.1, "0.3"),
        (0.1 + 0.2, 0.1, "0.3"),
        (0.3000000001, 0.1, "0.3"),
        (0.300001, 0.1, "0.4"),
        (0.31, 0.1, "0.4"),
        (0.0, 0.1, "0.1"),
        (0.01, 0.1, "0.1"),
        (1.01, 1, "2"),
        (0.6, 0.5, "1.0"),
    ],
)
def test_it_shows_a_give_or_take_rounded_up(U, step, shown):
    assert show_give_or_take(U, step) == shown


@pytest.mark.parametrize(
    ("chance", "shown"),
    [
        (0.0, "< 0.1 %"),
        (0.0004, "< 0.1 %"),
        (0.0005, "< 1 %"),
        (0.0049, "< 1 %"),
        (0.005, "< 1 %"),
        (0.006, "1 %"),
        (0.01, "1 %"),
        (0.125, "12 %"),
        (0.5, "50 %"),
        (0.919, "92 %"),
        (0.99, "99 %"),
        (0.9949, "99 %"),
        (0.995, "> 99 %"),
        (0.9994, "> 99 %"),
        (0.9995, "> 99.9 %"),
        (1.0, "> 99.9 %"),
    ],
)
def test_it_shows_a_chance_without_claiming_certainty(chance, shown):
    assert show_percent(chance) == shown
    assert show_percent(chance, ",") == shown.replace(".", ",")


@given(st.floats(0, 1))
def test_it_never_shows_nothing_or_everything(chance):
    assert show_percent(chance) not in ("0 %", "100 %")


@pytest.mark.parametrize(("step", "places"), [(0.1, 1), (0.5, 1), (0.25, 2), (0.01, 2), (1, 0), (5, 0), (10.0, 0)])
def test_it_counts_the_decimals_that_a_step_needs(step, places):
    assert step_decimals(step) == places


def test_it_takes_decimals_as_well_as_floats():
    assert round_half_even(Decimal("56.25"), Decimal("0.1")) == Decimal("56.2")
    assert show_value(Decimal("56.25"), Decimal("0.10")) == "56.2"


@pytest.mark.parametrize(("value", "step"), [(math.nan, 0.1), (math.inf, 0.1), (1.0, 0.0), (1.0, -1), (1.0, math.nan)])
def test_it_refuses_what_cannot_be_rounded(value, step):
    for function in (round_half_even, show_value, show_signed, show_give_or_take):
        with pytest.raises(ValueError):
            function(value, step)


def test_it_refuses_a_negative_give_or_take_another_mark_and_no_chance():
    with pytest.raises(ValueError):
        show_give_or_take(-0.1, 0.1)
    with pytest.raises(ValueError):
        show_value(56.2, 0.1, "'")
    for chance in (-0.1, 1.1, math.nan):
        with pytest.raises(ValueError):
            show_percent(chance)
