"""Decisions in words: what became of a batch, and why it waits. The same on every screen."""

from __future__ import annotations

from flask import Flask
from flask_babel import gettext as _

from webapp.store.decisions import Decision
from webapp.ui.filters import day_and_clock


def decided(what: str) -> str:
    """What a decision made of a batch."""
    return {
        "release": _("Released"), "hold": _("On hold"), "reject": _("Rejected"),
        "concession": _("Released by concession"), "remeasure": _("To be read again"), "blend": _("Went into a blend"),
    }[what]  # fmt: skip


def asked(what: str) -> str:
    """What a button says that asks for it."""
    return {
        "release": _("Release batch"), "hold": _("Hold"), "reject": _("Reject"),
        "concession": _("Release by concession"), "remeasure": _("Read it again"),
    }.get(what, _("Store"))  # fmt: skip


def title(what: str, code: str) -> str:
    """The heading of the form that asks for the reason."""
    return {
        "release": _("Release batch %(code)s", code=code),
        "hold": _("Hold batch %(code)s", code=code),
        "reject": _("Reject batch %(code)s", code=code),
        "concession": _("Release batch %(code)s by concession", code=code),
        "remeasure": _("Have batch %(code)s read again", code=code),
    }.get(what, _("Decide about batch %(code)s", code=code))


def said(decision: Decision) -> str:
    """`On hold by Ada, 14 May 07:42: “ask Ravi”`."""
    by = f"{decided(decision.what)} {by_whom(decision)}"
    return f"{by} “{decision.reason}”" if decision.reason else by


def by_whom(decision: Decision) -> str:
    """`by Ada, 14 May 07:42.`"""
    return _("by %(name)s, %(time)s.", name=decision.person_name, time=day_and_clock(decision.received_at))


def meanwhile(last: Decision | None, may: bool) -> str:
    """What is said when another decision was stored while this one was written. may: whether it may still be made."""
    if last is None:
        return _("The page has changed meanwhile. Look at the batch again.")
    text = _("Meanwhile somebody else has decided: %(said)s", said=said(last))
    then = _("Nothing of yours is stored yet. Store it to put it in that place, or go back.")
    if not may:
        then = _("As the batch stands now, this is not yours to decide. Nothing was stored.")
    return f"{text} {then}"


def why_word(why: str) -> str:
    """Why a batch waits, in a word or two."""
    return {
        "outside": _("Out of band"), "undecided": _("Too close to call"), "meter": _("Meter not proven"),
        "hands": _("To be countersigned"), "hold": _("On hold"), "remeasure": _("To be read again"),
        "changed": _("Reads otherwise now"),
    }[why]  # fmt: skip


def verdict_word(verdict: str) -> str:
    """The verdict that stood when something was decided."""
    return {
        "inside": _("in band"), "undecided": _("too close to call"), "outside": _("out of band"),
        "unjudged": _("no target"), "unmeasured": _("not read yet"),
    }.get(verdict, _("not complete yet"))  # fmt: skip


def init_app(app: Flask) -> None:
    """For the templates."""
    app.jinja_env.filters.update(decided=decided, by_whom=by_whom)
