"""Sentences about waiting and roles that several pages say."""

from __future__ import annotations

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from flask_babel import ngettext

from webapp.store.pin_guard import PinOutcome

ROLE_WORDS = {"trainee": _l("Trainee"), "roaster": _l("Roaster"), "lead": _l("Lead")}


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


def code_refused(outcome: PinOutcome) -> str:
    """Why a code was not taken, and what to do."""
    if outcome.wait_seconds:
        return _("Too many wrong codes. Wait %(wait)s, then try again.", wait=wait_words(outcome.wait_seconds))
    return _("This code is wrong, used, or too old. Look at it again, or have a new one made.")
