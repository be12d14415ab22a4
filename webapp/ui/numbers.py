"""How exact numbers are shown in the page's language; the printing itself is webapp.measure.rounding's."""

from __future__ import annotations

from decimal import Decimal

from babel.numbers import get_decimal_symbol
from flask import Flask
from flask_babel import get_locale

from webapp.measure import show_percent, show_signed, show_value


def decimal_mark() -> str:
    """The point or comma of the page's language."""
    mark = get_decimal_symbol(get_locale() or "en")
    return mark if mark in (".", ",") else "."


def scale_number(hundredths: int | float, step: int) -> str:
    """A number in hundredths of a scale unit, to the scale's step (in hundredths too): 5620 by 10 is '56.2'."""
    return show_value(_exact(hundredths) / 100, Decimal(step) / 100, decimal_mark())


def scale_exact(hundredths: int, step: int) -> str:
    """As `scale_number`, with more decimals where the number has them: for a plate's assigned value."""
    return scale_number(hundredths, step) if hundredths % step == 0 else shortest(hundredths, 2)


def scale_signed(hundredths: int | float, step: int) -> str:
    """As `scale_number`, with a plus sign above zero: for differences."""
    return show_signed(_exact(hundredths) / 100, Decimal(step) / 100, decimal_mark())


def _exact(number: int | float) -> Decimal:
    return Decimal(str(number))


def shortest(number: int, places: int, least: int = 0) -> str:
    """An int counted in 10**-places, with as many decimals as it needs and at least `least`: 12350 g is '12.35'."""
    needed = places
    while needed > least and number % 10 ** (places - needed + 1) == 0:
        needed -= 1
    return show_value(Decimal(number).scaleb(-places), Decimal(1).scaleb(-needed), decimal_mark())


def kilograms(grams: int) -> str:
    """Grams in kilograms, without the unit: 12350 is '12.35', 12000 is '12.0'."""
    return shortest(grams, 3, 1)


def celsius(tenths: int) -> str:
    """Tenths of a degree in degrees, without the unit: 2045 is '204.5'."""
    return shortest(tenths, 1)


def minutes(seconds: int) -> str:
    """Seconds as minutes and seconds: 690 is '11:30'."""
    return f"{seconds // 60}:{seconds % 60:02d}"


def percent(chance: float) -> str:
    """A share from 0 to 1 as whole percent: '80 %'."""
    return show_percent(chance, decimal_mark())


def lighter_and_darker(lower: int, upper: int, step: int, lighter: int) -> tuple[str, str]:
    """Two numbers of a scale as an example of its direction, the lighter one first."""
    steps = (upper - lower) // step
    small, large = lower + steps * 3 // 8 * step, lower + (steps - steps * 3 // 8) * step
    first, second = (large, small) if lighter > 0 else (small, large)
    return scale_number(first, step), scale_number(second, step)


def init_app(app: Flask) -> None:
    """Let templates use them."""
    for show in (scale_number, scale_exact, scale_signed, kilograms, celsius, minutes, percent):
        app.jinja_env.filters[show.__name__] = show
    app.jinja_env.globals["lighter_and_darker"] = lighter_and_darker
