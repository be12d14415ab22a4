"""What a plan says: the groups of batches, what keeps one out, why there is no mix."""

from __future__ import annotations

from flask_babel import gettext as _

from webapp.blends.plan import Page
from webapp.measure.blend import Infeasible
from webapp.store.blend_candidates import Candidate
from webapp.ui.numbers import percent
from webapp.ui.verdict_words import kind_word


def group_words() -> dict[str, tuple[str, str]]:
    """Group -> its heading and what it means."""
    return {
        "held": (_("On hold"), _("Ticked to begin with.")),
        "waits": (_("Out of band or too close to call"),
                  _("They wait for a decision. A lead may choose to blend them off instead.")),
        "left": (_("What stayed of earlier blends"), _("It is out of its blend, and nobody has decided about it.")),
        "inside": (_("In band: may be added to help"),
                   _("The newest ones. They can leave by themselves: add one only if it is still here.")),
    }  # fmt: skip


def verdict_word(verdict: str) -> str:
    """A batch's verdict in a word or two."""
    words = {
        "inside": _("In band"), "undecided": _("Too close to call"), "outside": _("Out of band"),
        "incomplete": _("Not finished"), "unjudged": _("No target"),
    }  # fmt: skip
    return words[verdict]


def side_of(one: Candidate) -> str | None:
    """The one side on which its coffee is out; None if it is not, or on both."""
    sides = {part.side for part in one.parts.values() if part.verdict == "outside" and part.kind != "difference"}
    return next(iter(sides)) if len(sides) == 1 else None


def lacks_words(one: Candidate) -> str:
    """Why a batch cannot be mixed."""
    why, kind = one.lacks
    name = kind_word(kind).lower() if kind else ""
    return {
        "unread": _("Cannot be mixed: %(kind)s is not read.", kind=name),
        "apart": _("Cannot be mixed: %(kind)s was ground at another setting.", kind=name),
        "otherwise": _("Cannot be mixed: %(kind)s was read by another method version or on another scale.", kind=name),
        "unsigned": _("Cannot be mixed: it waits for a countersignature."),
    }[why]


def why_not(page: Page) -> tuple[str, str]:
    """(title, what stands in the way) where there is no mix."""
    if not isinstance(page.found, Infeasible):
        return _("Nothing to mix."), _("The largest mix in band is one batch by itself.")
    why, kind = page.found.why, page.found.kind
    title = _("No mix of these is in band.")
    name = kind_word(kind).lower() if kind else ""
    if why in ("all_above", "all_below"):
        lighter = (why == "all_above") == (page.target.scale.lighter > 0)
        if kind == "difference":
            return title, _("All of them lie on the same side of the band of ground minus whole. A mix lies between its"
                            " batches: add one from the other side.")  # fmt: skip
        if lighter:
            return title, _("All of them read %(kind)s lighter than the light limit. A mix lies between its batches:"
                            " add a darker one.", kind=name)  # fmt: skip
        return title, _("All of them read %(kind)s darker than the dark limit. A mix lies between its batches: add a"
                        " lighter one.", kind=name)  # fmt: skip
    if why == "apart":
        return title, _("Each kind by itself could be mixed into its band, but not all of them at once.")
    return title, _(
        "There are mixes whose value lies in the band, but none with a chance of %(chance)s that it truly does, of as"
        " much as can be weighed. More fills of these batches make their values surer.",
        chance=percent(page.target.confidence),
    )
