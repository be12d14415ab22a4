"""Words that only the sheets have: decisions, verdicts and facts as a record names them."""

from __future__ import annotations

from dataclasses import dataclass

from flask import current_app, g, request
from flask_babel import gettext as _

from webapp.store.times import to_text
from webapp.ui.filters import day_and_clock
from webapp.ui.month_words import software


def decision_word(what: str) -> str:
    """What became of a batch."""
    return {
        "release": _("Released"), "hold": _("On hold"), "reject": _("Rejected"),
        "concession": _("Released by concession"), "remeasure": _("To be measured again"),
        "blend": _("Went into a blend"),
    }[what]  # fmt: skip


def verdict_word(verdict: str | None) -> str:
    """A batch's or a part's verdict, as stored."""
    return {
        "inside": _("In band"), "undecided": _("Too close to call"), "outside": _("Out"),
        "incomplete": _("Not complete"), "unjudged": _("Not judged"),
    }.get(verdict or "", _("Not read"))  # fmt: skip


def sided_word(verdict: str, side: str | None) -> str:
    """The same with the side on which the coffee is out."""
    if verdict == "outside" and side:
        return _("Out, darker") if side == "darker" else _("Out, lighter")
    return verdict_word(verdict)


def waits_word(why: str) -> str:
    """Why a batch waits, in a few words."""
    return {
        "undecided": _("too close to call"), "outside": _("out of band"), "meter": _("its meter was not proven"),
        "hands": _("to be countersigned"), "hold": _("on hold"), "remeasure": _("to be measured again"),
        "changed": _("its result changed after it was decided"),
    }[why]  # fmt: skip


def fact_word(fact: str) -> str:
    """A fact of a batch."""
    return {
        "code": _("Batch code"), "product_id": _("Product"), "machine_id": _("Machine"), "lot": _("Green lot"),
        "green_g": _("Green mass"), "roasted_g": _("Roasted mass"), "drop_decicelsius": _("Drop temperature"),
        "total_s": _("Total time"), "development_s": _("Development time"), "note": _("Note"), "day": _("Day"),
        "roasted_at": _("Roasted"),
    }[fact]  # fmt: skip


def role_word(role: str) -> str:
    """A person's role."""
    return {"trainee": _("trainee"), "roaster": _("roaster"), "lead": _("lead")}[role]


@dataclass(frozen=True)
class Printed:
    """Whose bench it is, when the sheet was made, by whom ("" where names are left out), and with which version."""

    site: str
    text: str


def printed(named: bool = True) -> Printed:
    """See Printed; of this request."""
    made = {"time": day_and_clock(to_text(g.now)), "version": software()}
    if named:
        text = _("Made on %(time)s by %(name)s with Drumside %(version)s.", name=g.session.name, **made)
    else:
        text = _("Made on %(time)s with Drumside %(version)s.", **made)
    return Printed(g.site.name, text)


def whole_address(path: str) -> str:
    """A path of this app with the host under which it was asked for; over HTTPS where the bench is served so, though
    what stands before the server may have asked for it without."""
    scheme = "https" if current_app.config["SECURE_COOKIES"] else request.scheme
    return f"{scheme}://{request.host}{path}"
