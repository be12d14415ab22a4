"""How far a meter is off its plate, in words: always lighter or darker, whichever way its scale runs."""

from __future__ import annotations

from decimal import Decimal

from flask_babel import gettext as _

from webapp.measure import round_half_even, show_value
from webapp.store.gear import Scale
from webapp.ui.numbers import decimal_mark


def fine_step(scale: Scale) -> Decimal:
    """What means of readings are shown to: a tenth of the scale's step, and no finer than hundredths."""
    return max(Decimal(scale.step) / 1000, Decimal("0.01"))


def side_word(deviation: float, scale: Scale) -> str:
    """Which way a deviation goes: `lighter`, `darker`, or nothing at all where it is none."""
    if round_half_even(deviation, fine_step(scale)) == 0:
        return ""
    return _("lighter") if deviation * scale.lighter > 0 else _("darker")


def size(deviation: float, scale: Scale) -> str:
    """How large a deviation is, without its direction."""
    return show_value(abs(deviation), fine_step(scale), decimal_mark())


def off_plate(deviation: float, scale: Scale) -> str:
    """`0.60 lighter`, `0.25 darker`, `0.00`."""
    return f"{size(deviation, scale)} {side_word(deviation, scale)}".strip()
