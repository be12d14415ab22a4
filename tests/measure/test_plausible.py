"""When a person is asked whether a number is meant."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.measure.strategies import readings
from webapp.measure import Sigmas, far_from_fellows, far_from_history, fill_value

SIGMAS = Sigmas(0.3, 0.5, "assumed")


def test_it_asks_about_two_digits_that_changed_places():
    assert far_from_fellows([56.2, 65.2], 1, 0.3, 0.1)
    assert far_from_fellows([56.2, 60.2], 1, 0.3, 0.1)
    assert far_from_fellows([56.2, 56.3, 65.2], 2, 0.3, 0.1)
    assert not far_from_fellows([56.2, 56.3, 65.2], 0, 0.3, 0.1)
    assert not far_from_fellows([56.2, 56.3, 65.2], 1, 0.3, 0.1)


def test_it_leaves_scatter_to_the_agreement_limit():
    assert fill_value([56.2, 56.3, 58.0], 3, 0.3, 0.1).state == "more"
    assert not far_from_fellows([56.2, 56.3, 58.0], 2, 0.3, 0.1)


@given(readings, st.floats(0, 5), st.data())
def test_it_never_asks_about_readings_that_agree(numbers, sigma_r, data):
    index = data.draw(st.integers(0, len(numbers) - 1))
    if fill_value(numbers, 3, sigma_r, 0.1).state == "agree":
        assert not far_from_fellows(numbers, index, sigma_r, 0.1)


def test_it_never_asks_about_a_lone_reading():
    assert not far_from_fellows([56.2], 0, 0.0, 0.1)


@pytest.mark.parametrize(("numbers", "index"), [([], 0), ([56.2], 1), ([56.2], -1), ([56.2, math.nan], 0)])
def test_it_refuses_a_reading_that_is_not_there(numbers, index):
    with pytest.raises(ValueError):
        far_from_fellows(numbers, index, 0.3, 0.1)


def test_it_asks_about_a_value_this_product_never_showed():
    # sqrt(0.6^2 + 0.5^2 + 0.3^2) = 0.837; four of it 3.35.
    assert far_from_history(66.0, 62.0, 0.6, 30, SIGMAS, 0.1)
    assert far_from_history(58.0, 62.0, 0.6, 30, SIGMAS, 0.1)
    assert not far_from_history(65.3, 62.0, 0.6, 30, SIGMAS, 0.1)


@pytest.mark.parametrize("n", range(5))
def test_it_learns_nothing_from_fewer_than_five_results(n):
    assert not far_from_history(10.0, 62.0, 0.1, n, SIGMAS, 0.1)
    assert not far_from_history(10.0, None, None, n, SIGMAS, 0.1)


def test_it_does_not_ask_within_four_steps_of_a_product_that_never_varied():
    still = Sigmas(0.0, 0.0, "routine")
    assert not far_from_history(62.4, 62.0, 0.0, 30, still, 0.1)
    assert far_from_history(62.5, 62.0, 0.0, 30, still, 0.1)


@pytest.mark.parametrize(
    "arguments",
    [(math.nan, 62, 0.6, 9), (62, math.inf, 0.6, 9), (62, 62, -0.6, 9), (62, 62, 0.6, -1), (62, 62, 0.6, 5.5)],
)
def test_it_refuses_an_impossible_history(arguments):
    with pytest.raises(ValueError):
        far_from_history(*arguments, SIGMAS, 0.1)
