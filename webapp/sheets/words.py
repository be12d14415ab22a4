"""Words that only the sheets have: verdicts and roles as a record names them."""

from __future__ import annotations

from dataclasses import dataclass

from flask import current_app, g, request
from flask_babel import gettext as _

from webapp.store.times import to_text
from webapp.ui.filters import day_and_clock
from webapp.ui.month_words import software


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
