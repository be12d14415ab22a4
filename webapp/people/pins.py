"""Which PINs are too easily guessed, in words."""

from __future__ import annotations

import re

from flask_babel import lazy_gettext as _l

UP, DOWN = "01234567890123456789", "98765432109876543210"
YEAR = "(19[3-9][0-9]|20[0-3][0-9])"


def pin_fault(pin: str) -> str | None:
    """Why this PIN is not taken, or None if it is."""
    if not re.fullmatch(r"[0-9]{6}", pin):
        return _l("A PIN has six digits.")
    if len(set(pin)) == 1:
        return _l("One digit six times is the first guess. Choose another PIN.")
    if pin in UP or pin in DOWN:
        return _l("Digits in a row are an easy guess. Choose another PIN.")
    if repeats(pin):
        return _l("A pattern that repeats is an easy guess. Choose another PIN.")
    if re.match(YEAR, pin) or re.search(YEAR + "$", pin):
        return _l("A year is an easy guess. Choose another PIN.")
    return None


def repeats(pin: str) -> bool:
    """121212, 123123, 112233, 111222, 123321."""
    halves, pairs = (pin[:3], pin[3:]), (pin[0:2], pin[2:4], pin[4:6])
    return (
        halves[0] in (halves[1], halves[1][::-1])
        or len(set(pairs)) == 1
        or all(a == b for a, b in pairs)
        or all(len(set(half)) == 1 for half in halves)
    )
