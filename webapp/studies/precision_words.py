"""What a precision study says, in plain words: the one sentence, what was left out, odd values, what is missing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from flask_babel import gettext as _
from flask_babel import ngettext

from webapp.measure.nested import Components, LeftOut
from webapp.measure.odd_values import Found
from webapp.store.precision import Study

# From the meter outwards: the order of every drawing and table.
PARTS = ("reading", "fill", "person")
# A share that changes little when it goes away. Ours.
SMALL = 0.1


@dataclass(frozen=True)
class Headline:
    """`title`: the one sentence; `doubts`: how sure that is and what was not found; `help`: what makes it smaller."""

    title: str
    doubts: tuple[str, ...]
    help: str


def what_moves(part: str) -> str:
    """A source of variation inside a sentence."""
    return {
        "reading": _("the reading itself"),
        "fill": _("how the dish is filled"),
        "person": _("who prepares the sample"),
    }[part]


def interval_of(found: Components, part: str) -> tuple[float, float]:
    """The 95 % interval of a part's standard deviation."""
    return {"reading": found.interval_r, "fill": found.interval_f, "person": found.interval_p}[part]


def sigma_of(found: Components, part: str) -> float:
    """A part's standard deviation."""
    return {"reading": found.sigma_r, "fill": found.sigma_f, "person": found.sigma_p}[part]


def parts_of(found: Components) -> list[str]:
    """The parts that this study can tell: with one person nothing is known of persons."""
    return [part for part in PARTS if part in found.shares]


def headline(found: Components) -> Headline:
    """The sentence. It is careful where another part's interval reaches into that of the largest."""
    ranked = sorted(parts_of(found), key=lambda part: -found.shares[part])
    largest, second = ranked[0], ranked[1]
    alone = [_("One person prepared everything: how much people differ is not known.")] if found.persons == 1 else []
    if not any(found.shares.values()):
        title = _("Every reading was the same: this study shows no variation at all.")
        return Headline(title, (_("What there is hides below the scale’s step."), *alone), "")
    rivals = [part for part in ranked[1:] if interval_of(found, part)[1] >= interval_of(found, largest)[0]]
    what = what_moves(largest)
    if rivals and found.shares[largest] < 0.5:
        title = _("No single thing stands out in what moves this number.")
    elif rivals:
        title = _("Most of what moves this number seems to be %(what)s.", what=what)
    elif found.shares[largest] < 0.5:
        title = _("What moves this number most is %(what)s, then %(other)s.", what=what, other=what_moves(second))
    else:
        title = _("Most of what moves this number is %(what)s.", what=what)
    doubts = [doubt(what, rivals)] if rivals else []
    little_fill = "fill" not in rivals and found.shares["fill"] < SMALL
    helps = "" if rivals and found.shares[largest] < 0.5 else help_with(largest, little_fill)
    return Headline(title, (*doubts, *nothing_found(found), *alone), helps)


def doubt(what: str, rivals: Sequence[str]) -> str:
    """What could matter as much as the largest part, for all that this study knows."""
    if len(rivals) > 1:
        one, other = (what_moves(part) for part in rivals)
        return _("The largest share is %(what)s, but %(one)s or %(other)s could matter as much. A larger study"
                 " would tell.", what=what, one=one, other=other)  # fmt: skip
    other = what_moves(rivals[0])
    if rivals == ["person"]:
        return _("The largest share is %(what)s, but %(other)s could matter as much. More people would tell.",
                 what=what, other=other)  # fmt: skip
    return _("The largest share is %(what)s, but %(other)s could matter as much. More fills would tell.",
             what=what, other=other)  # fmt: skip


def nothing_found(found: Components) -> list[str]:
    """Parts that came out as zero, and what that does not mean."""
    said = []
    if found.shares["fill"] == 0:
        said.append(_("From filling nothing was found: the fills differ no more than their readings make them differ."))
    if found.shares.get("person") == 0:
        said.append(_("Between people nothing was found: they differ no more than one person’s fills do."))
    if said:
        said.append(_("Nothing found does not mean that there is none: see its interval."))
    return said


def help_with(part: str, little_fill: bool) -> str:
    """What makes the largest part smaller. little_fill: filling is known to matter little."""
    if part == "fill":
        return _("Another fill makes a result surer; reading the same fill again does not.")
    if part == "person":
        return _("Training to one way of preparing is what helps; more fills and readings by one person do not.")
    if little_fill:
        return _("More readings of one fill make a result surer; filling with more care would change little.")
    return _("More readings of one fill make a result surer.")


def left_out_words(left: Sequence[LeftOut], names: Mapping[str, str]) -> list[str]:
    """What the numbers leave out and why, a line for each person and reason."""
    by: dict[tuple[str, str], list[int]] = {}
    for one in left:
        by.setdefault((one.person, one.why), []).extend([] if one.fill_no is None else [one.fill_no])
    return [why_left_out(names[person], why, numbers) for (person, why), numbers in by.items()]


def why_left_out(name: str, why: str, numbers: list[int]) -> str:
    """One line."""
    fills = ", ".join(str(no) for no in numbers)
    match why:
        case "unread":
            return ngettext("%(name)s, fill %(fills)s: not read yet.", "%(name)s, fills %(fills)s: not read yet.",
                            len(numbers), name=name, fills=fills)  # fmt: skip
        case "short":
            return ngettext("%(name)s, fill %(fills)s: fewer readings than planned count.",
                            "%(name)s, fills %(fills)s: fewer readings than planned count.",
                            len(numbers), name=name, fills=fills)  # fmt: skip
        case "to_balance":
            return ngettext("%(name)s, fill %(fills)s: others have fewer, and everybody counts alike.",
                            "%(name)s, fills %(fills)s: others have fewer, and everybody counts alike.",
                            len(numbers), name=name, fills=fills)  # fmt: skip
        case _:
            return _("%(name)s: all fills, since too few of them are complete.", name=name)


def odd_words(found: Found, name: str, fill_no: int | None) -> str:
    """An odd value in plain words."""
    match found.test, found.level:
        case "cochran", "fill":
            said = _("%(name)s, fill %(no)d: its readings scatter more than those of the other fills.",
                     name=name, no=fill_no)  # fmt: skip
        case "cochran", _:
            said = _("%(name)s: the fills scatter more than those of the others.", name=name)
        case _, "fill":
            said = _("%(name)s, fill %(no)d: its mean lies apart from that person’s other fills.",
                     name=name, no=fill_no)  # fmt: skip
        case _:
            said = _("%(name)s: the mean lies apart from the others’.", name=name)
    sure = _("Less than one chance in a hundred (outlier).")
    if found.word == "straggler":
        sure = _("Less than one chance in twenty (straggler).")
    return f"{said} {sure}"


def missing_words(study: Study, complete: Mapping[str, int]) -> str:
    """What a study lacks for a result. `complete`: person -> fills that are complete."""
    names, ways = study.persons, []
    ranked = sorted(complete, key=lambda person: -complete[person])
    if len(ranked) > 1 and study.fills >= 3:
        ways.append({person: 3 - complete[person] for person in ranked[:2] if complete[person] < 3})
    if study.fills >= 6 and ranked:
        ways.append({ranked[0]: 6 - complete[ranked[0]]})
    if not ways:
        return _("Its plan is too small for a result. Plan another one with more fills.")
    least = min(ways, key=lambda way: sum(way.values()))
    said = [
        ngettext("%(num)d more fill by %(name)s", "%(num)d more fills by %(name)s", more, name=names[person])
        for person, more in least.items()
    ]
    return _("Still missing for a first result: %(fills)s.", fills=", ".join(said))
