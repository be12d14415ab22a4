"""PINs that anybody would try first are not taken."""

import pytest

from webapp.people.pins import pin_fault


@pytest.mark.parametrize(
    "pin",
    [
        "000000", "777777",
        "123456", "654321", "012345", "456789", "987654", "890123", "321098",
        "121212", "123123", "112233", "998877", "111222", "123321",
        "001999", "199900", "198742", "422031", "002024",
    ],
)  # fmt: skip
def test_it_refuses_an_obvious_pin(pin: str) -> None:
    assert "Choose another PIN" in str(pin_fault(pin))


@pytest.mark.parametrize("pin", ["", "12345", "1234567", "12345a", "١٢٣٤٥٦", " 27182", "27182\n"])
def test_it_refuses_what_is_not_six_digits(pin: str) -> None:
    assert str(pin_fault(pin)) == "A PIN has six digits."


@pytest.mark.parametrize("pin", ["271828", "314159", "161803", "835170", "120463", "909417"])
def test_it_takes_other_pins(pin: str) -> None:
    assert pin_fault(pin) is None


def test_it_leaves_nine_in_ten_pins_to_choose_from() -> None:
    tried = range(0, 1_000_000, 97)
    assert sum(pin_fault(f"{n:06d}") is None for n in tried) > 0.9 * len(tried)
