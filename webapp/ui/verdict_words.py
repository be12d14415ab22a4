"""A verdict in words: one sentence that says it, the reason, and what to do next. The same on every screen."""

from __future__ import annotations

from dataclasses import dataclass, replace

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from flask_babel import ngettext

from webapp import measure
from webapp.store.results import BatchResult, PartResult
from webapp.ui.meter_words import not_proven_text
from webapp.ui.numbers import decimal_mark


@dataclass(frozen=True)
class Words:
    """`verdict` and `side` choose colour and shape; `title` is the answer, `reason` why, `next` what to do.

    `mark`: why the numbers themselves are in doubt ("" if they are not); it then keeps the batch from being released.
    `waits`: for a countersignature, which keeps it from being released as well.
    """

    verdict: str
    side: str | None
    title: str
    reason: str
    next: str
    mark: str = ""
    waits: bool = False


# Looked up in the language of the page when they are wanted, and not all of them each time.
KINDS = {"whole": _l("Whole bean"), "ground": _l("Ground"), "difference": _l("Ground minus whole")}


def kind_word(kind: str) -> str:
    """The name of a part on the screen."""
    return str(KINDS[kind])


def part_word(part: PartResult) -> str:
    """The verdict of one part in two or three words."""
    if part.apart_why:
        return _("Not judged")
    if part.verdict is None:
        return _("No target")
    if part.verdict == "inside":
        return _("In band")
    if part.verdict == "undecided":
        return _("Too close to call")
    if part.kind == "difference":
        return _("Out, ground darker") if part.side == "darker" else _("Out, ground lighter")
    return _("Out, darker") if part.side == "darker" else _("Out, lighter")


def limit_word(side: str | None) -> str:
    """Which limit is meant."""
    return _("dark limit") if side == "darker" else _("light limit")


def beyond_text(part: PartResult, step: float) -> str:
    """How far from the limit, with give or take: `0.6 beyond the dark limit, give or take 0.5.`"""
    give = measure.show_give_or_take(part.U, step, decimal_mark())
    distance = measure.show_value(abs(part.beyond), step, decimal_mark())
    if float(measure.round_half_even(part.beyond, step)) == 0:
        return _("On the %(limit)s, give or take %(give)s.", limit=limit_word(part.side), give=give)
    if part.beyond > 0 and part.kind == "difference":
        return against_whole(part.side, distance, give)
    if part.beyond > 0:
        return _(
            "%(distance)s beyond the %(limit)s, give or take %(give)s.",
            distance=distance,
            limit=limit_word(part.side),
            give=give,
        )
    return _(
        "%(distance)s inside the %(limit)s, give or take %(give)s.",
        distance=distance,
        limit=limit_word(part.side),
        give=give,
    )


def against_whole(side: str | None, far: str, give: str) -> str:
    """A difference that is out: inside and outside of the bean differ more, or less, than they should."""
    if side == "darker":
        return _("Ground is %(far)s too dark against whole bean, give or take %(give)s.", far=far, give=give)
    return _("Ground is %(far)s too light against whole bean, give or take %(give)s.", far=far, give=give)


def settle_text(part: PartResult) -> str:
    """What would settle a part that is too close to call."""
    if part.kind == "difference":
        return _("Another fill of both kinds may settle it.")
    if part.settle_fills is None:
        return _("More fills would not settle it: a lead decides.")
    more = part.settle_fills - part.fills
    return ngettext("One more fill would settle it.", "%(num)d more fills would settle it.", more)


def deciding_part(parts: dict[str, PartResult], verdict: str) -> PartResult | None:
    """The part that makes the batch's verdict: the one with the least chance among those with that verdict."""
    of_it = [part for part in parts.values() if part.verdict == verdict]
    return min(of_it, key=lambda part: part.chance) if of_it else None


def settings_text(ground_at: tuple[str, str]) -> str:
    """Why a sample is kept apart: (the setting it was ground at, the one its method names)."""
    at, asked = ground_at
    return _("Ground at %(at)s, the method asks for %(asked)s: shown, not judged.", at=at, asked=asked)


def burrs_text(day: str) -> str:
    """What to say while nothing has been compared since a change of burrs. `day`: when that was, in words."""
    return _("The burrs were changed on %(day)s. Compare before you trust the old targets.", day=day)


def batch_words(
    result: BatchResult | None, parts: dict[str, PartResult], steps: dict[str, float],
    ground_at: tuple[str, str] | None = None,
) -> Words:  # fmt: skip
    """The batch's verdict in words. `steps`: scale resolution of each part, in scale units.

    ground_at: where only samples at another setting than their method's were ground: see `settings_text`.
    """
    words = plain_words(result, parts, steps, ground_at)
    mark = not_proven_text(result.meter_state) if result else ""
    if mark:
        words = replace(words, mark=mark, next=_("Check the meter and read again, or a lead decides."))
    if result is None or result.hands_state != "waiting":
        return words
    first = not mark and words.verdict in ("inside", "unjudged") and not ground_at
    return replace(words, waits=True, next=_("Release it when it is countersigned.") if first else words.next)


def plain_words(
    result: BatchResult | None, parts: dict[str, PartResult], steps: dict[str, float],
    ground_at: tuple[str, str] | None,
) -> Words:  # fmt: skip
    """The same, as if every meter were proven."""
    if result is None:
        return Words("unmeasured", None, _("Not read yet"), _("Nothing of this batch has been read."), "")
    if result.verdict == "inside":
        chance = measure.show_percent(result.chance, decimal_mark())
        reason = (
            _("Everything measured is inside its limits. Chance that it truly is: %(chance)s.", chance=chance)
            if len(parts) > 1
            else _("It is inside its limits. Chance that it truly is: %(chance)s.", chance=chance)
        )
        return Words("inside", None, _("In band."), reason, _("Release it."))
    if result.verdict in ("undecided", "outside"):
        part = deciding_part(parts, result.verdict)
        where = beyond_text(part, steps[part.kind])
        out_of_step = part.kind == "difference" and part.beyond > 0
        reason = where if out_of_step else f"{kind_word(part.kind)}: {where}"
        title = f"{part_word(part)}."
        if result.verdict == "undecided":
            return Words("undecided", part.side, title, reason, settle_text(part))
        return Words("outside", part.side, title, reason, _("Hold it until a lead has decided."))
    if result.verdict == "incomplete":
        return _incomplete(result, parts, ground_at)
    if ground_at:
        again = _("Read it again at the method's setting.")
        return Words("unjudged", None, _("Read, not judged."), settings_text(ground_at), again)
    return Words(
        "unjudged",
        None,
        _("Read, not judged."),
        _("This product has no target for what was read."),
        _("Release it if you know it is right."),
    )


def _incomplete(
    result: BatchResult, parts: dict[str, PartResult], ground_at: tuple[str, str] | None
) -> Words:  # fmt: skip
    apart = [kind for kind in result.missing if kind in parts]
    if ground_at and any(parts[kind].apart_why for kind in apart):
        again = _("Read it again at the method's setting.")
        return Words("incomplete", None, _("Not judged yet."), settings_text(ground_at), again)
    if apart:
        return Words(
            "incomplete",
            None,
            _("Not judged yet."),
            _("%(kind)s was read by another method or scale than its target's.", kind=kind_word(apart[0])),
            _("Read it by the target's method."),
        )
    out = deciding_part(parts, "outside")
    so_far = f" {_('So far')}: {kind_word(out.kind)}: {part_word(out).lower()}." if out else ""
    missing = [kind_word(kind).lower() for kind in result.missing if kind != "difference"] or [
        kind_word("difference").lower()
    ]
    return Words(
        "incomplete",
        None,
        _("Not complete yet."),
        _("Still to read: %(kinds)s.", kinds=", ".join(missing)) + so_far,
        "",
    )
