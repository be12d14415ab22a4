"""Sentences about waiting and wrong PINs, said by pages and by JSON answers alike."""

from __future__ import annotations

from flask_babel import gettext as _
from flask_babel import ngettext

from webapp.store.pin_guard import PinOutcome


def wait_words(seconds: int) -> str:
    """`30 seconds`, `1 minute`, `15 minutes`: rounded up, so that waiting this long is enough."""
    if seconds < 60:
        return ngettext("%(num)d second", "%(num)d seconds", seconds)
    minutes = -(-seconds // 60)
    return ngettext("%(num)d minute", "%(num)d minutes", minutes)


def pin_refused(outcome: PinOutcome, name: str) -> str:
    """Why nobody was let in, and what to do."""
    wait = wait_words(outcome.wait_seconds)
    if outcome.whole_tablet:
        return _("Too many wrong PINs on this tablet. Wait %(wait)s, then try again.", wait=wait)
    if outcome.wait_seconds:
        return _("Too many wrong PINs for %(name)s. Wait %(wait)s, or ask a lead.", name=name, wait=wait)
    left = ngettext(
        "One more try, then there is a wait.", "%(num)d more tries, then there is a wait.", outcome.tries_left
    )
    return f"{_('That is not the PIN of %(name)s.', name=name)} {left}"
