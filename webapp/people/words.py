"""Sentences about waiting and roles that several pages say."""

from __future__ import annotations

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from webapp.store.pin_guard import PinOutcome
from webapp.ui.pin_words import pin_refused, wait_words

__all__ = ["ROLE_WORDS", "code_refused", "pin_refused", "wait_words"]

ROLE_WORDS = {"trainee": _l("Trainee"), "roaster": _l("Roaster"), "lead": _l("Lead")}


def code_refused(outcome: PinOutcome) -> str:
    """Why a code was not taken, and what to do."""
    if outcome.wait_seconds:
        return _("Too many wrong codes. Wait %(wait)s, then try again.", wait=wait_words(outcome.wait_seconds))
    return _("This code is wrong, used, or too old. Look at it again, or have a new one made.")
