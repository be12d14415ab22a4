"""ISO 80000-1:2009, Quantities and units, annex B: rounding of numbers. Examples from memory."""

import pytest

from webapp.measure import round_half_even, show_percent, show_value

NEAREST = [(12.223, 0.1, "12.2"), (12.251, 0.1, "12.3"), (12.275, 0.1, "12.3"),
           (1222.3, 10, "1220"), (1225.1, 10, "1230"), (1227.5, 10, "1230")]  # fmt: skip
TIES = [(12.25, 0.1, "12.2"), (12.35, 0.1, "12.4"), (1225.0, 10, "1220"), (1235.0, 10, "1240")]


@pytest.mark.parametrize(("value", "step", "shown"), NEAREST)
def test_it_rounds_to_the_nearest_multiple(value, step, shown):
    # B.2: rounding range 0.1 and 10.
    assert show_value(value, step) == shown


@pytest.mark.parametrize(("value", "step", "shown"), TIES)
def test_it_rounds_a_tie_to_the_even_multiple(value, step, shown):
    # B.3, rule A, generally preferable for measurement results. 12.35 is below the tie as a binary float.
    assert show_value(value, step) == shown
    assert round_half_even(-value, step) == -round_half_even(value, step)


def test_it_rounds_once_and_not_in_stages():
    # B.4: 12.254 to 12.3 in one step; 12.25 and then 12.2 in two would be wrong.
    assert show_value(12.254, 0.1) == "12.3"


def test_it_writes_a_comma_or_a_point_and_a_true_minus_sign():
    # 7.3.2: the decimal sign is either the comma or the point on the line.
    assert show_value(-12.5, 0.1, ",") == "\N{MINUS SIGN}12,5"


def test_it_sets_a_space_before_the_percent_sign():
    # 7.1.4: a space between the number and the symbol, the percent sign too.
    assert show_percent(0.92) == "92 %"
