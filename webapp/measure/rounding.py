"""How a number is printed. Nothing else in the project prints a measured number.

Values are rounded half to even to the scale's step (ISO 80000-1:2009, B.3, rule A), give-or-take always up.
Everything is decided on unrounded numbers; rounding is for the reader only.
"""

from decimal import ROUND_FLOOR, Context, Decimal

from ._checks import TINY, finite, not_negative, positive

MINUS = "\N{MINUS SIGN}"

_UP_TOLERANCE = Decimal("1e-8")
_CONTEXT = Context(prec=60)


def _decimal(number: float | Decimal | int) -> Decimal:
    """The number exactly as it is held: a float's last bits too."""
    return Decimal(number)


def _written(number: float | Decimal | int) -> Decimal:
    """The number as it is written: the float 0.1 is one tenth. For steps, which people write."""
    return Decimal(str(number))


def step_decimals(step: float | Decimal) -> int:
    """How many decimals a step needs: 1 for 0.1 and 0.5, 2 for 0.25, 0 for 1 and 5.

    Raises ValueError for a step that is not finite and above zero.
    """
    positive("step", step)
    return max(0, -_written(step).normalize(_CONTEXT).as_tuple().exponent)


def _steps(value: float | Decimal, step: float | Decimal) -> tuple[int, Decimal]:
    """(whole steps, rest in steps 0 <= rest < 1) of the value."""
    finite("value", value)
    positive("step", step)
    steps = _CONTEXT.divide(_decimal(value), _written(step))
    below = steps.to_integral_value(ROUND_FLOOR)
    return int(below), _CONTEXT.subtract(steps, below)


def _in_units(steps: int, step: float | Decimal) -> Decimal:
    last_place = Decimal(1).scaleb(-step_decimals(step))
    return _CONTEXT.multiply(Decimal(steps), _written(step)).quantize(last_place, context=_CONTEXT)


def round_half_even(value: float | Decimal, step: float | Decimal) -> Decimal:
    """The value rounded to a multiple of the step, ties to the even multiple; as many decimals as the step.

    ISO 80000-1:2009, B.3, rule A. A value within a billionth of a step of a tie is that tie, so the mean
    of decimal readings, exact on paper, rounds as it would on paper. Raises ValueError for a non-finite value
    or a step that is not above zero.
    """
    below, rest = _steps(value, step)
    over_half = rest - Decimal("0.5")
    up = below % 2 == 1 if abs(over_half) <= Decimal(str(TINY)) else over_half > 0
    return _in_units(below + up, step)


def _print(number: Decimal, decimal_mark: str) -> str:
    if decimal_mark not in (".", ","):
        raise ValueError(f"the decimal mark is a point or a comma, not {decimal_mark!r}")
    text = f"{abs(number):f}".replace(".", decimal_mark)
    return MINUS + text if number < 0 else text


def show_value(value: float | Decimal, step: float | Decimal, decimal_mark: str = ".") -> str:
    """A value to the step, half to even: '56.2', with a true minus sign below zero. No unit.

    Raises ValueError as ``round_half_even`` does, or for another decimal mark.
    """
    return _print(round_half_even(value, step), decimal_mark)


def show_signed(value: float | Decimal, step: float | Decimal, decimal_mark: str = ".") -> str:
    """As ``show_value`` with a plus sign above zero: '+0.4'. What rounds to zero has no sign."""
    rounded = round_half_even(value, step)
    return ("+" if rounded > 0 else "") + _print(rounded, decimal_mark)


def show_give_or_take(U: float | Decimal, step: float | Decimal, decimal_mark: str = ".") -> str:
    """An expanded uncertainty to the step, rounded up, at least one step: '0.4'.

    Only an excess of under a hundred-millionth of a step, the last bits of a float, is not rounded up.
    Raises ValueError for a negative or non-finite U, or as ``show_value`` does.
    """
    not_negative("U", U)
    below, rest = _steps(U, step)
    return _print(_in_units(max(1, below + (rest > _UP_TOLERANCE)), step), decimal_mark)


def show_percent(chance: float, decimal_mark: str = ".") -> str:
    """A chance from 0 to 1 in whole percent, half to even, never claiming certainty.

    '99 %'. What would round to 100 is '> 99 %', from 0.9995 on '> 99.9 %'; what would round to 0 is '< 1 %',
    below 0.0005 '< 0.1 %'. Raises ValueError for a number outside 0 to 1 or another decimal mark.
    """
    if not 0 <= finite("chance", chance) <= 1:
        raise ValueError(f"a chance lies between 0 and 1, not {chance!r}")
    percent, sign = round_half_even(100 * chance, 1), ""
    if percent == 100:
        percent, sign = Decimal("99.9" if chance >= 0.9995 else "99"), "> "
    elif percent == 0:
        percent, sign = Decimal("0.1" if chance < 0.0005 else "1"), "< "
    return f"{sign}{_print(percent, decimal_mark)} %"
