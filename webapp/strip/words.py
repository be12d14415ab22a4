"""What the strip says: counts, verdicts and reasons, as plain sentences.

The fixed phrases are fetched once per language: eighty batches ask for the same few words again and again.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from flask_babel import get_locale, ngettext
from flask_babel import gettext as _

from webapp.measure import rounding
from webapp.store.strip_days import StripBatch, StripPart
from webapp.ui.meter_words import not_proven_text
from webapp.ui.verdict_words import against_whole

# The same numbers are drawn again at every save of the day.
show_value = lru_cache(8192)(rounding.show_value)
show_give_or_take = lru_cache(8192)(rounding.show_give_or_take)


def decimal_mark() -> str:
    """The point or comma of the screen's language."""
    return "," if get_locale().number_symbols["latn"]["decimal"] == "," else "."


class Words:
    """The fixed phrases, in the language of the request that made it; get one from `words()`."""

    def __init__(self) -> None:
        self.mark = decimal_mark()
        self.kinds = {"whole": _("Whole bean"), "ground": _("Ground"), "difference": _("Ground minus whole")}
        self.verdicts = {
            ("inside", None): _("In band"),
            ("undecided", None): _("Too close to call"),
            ("outside", "darker"): _("Out, darker"),
            ("outside", "lighter"): _("Out, lighter"),
            ("outside", None): _("Out"),
            ("incomplete", None): _("Not finished"),
            ("unjudged", None): _("No target"),
        }
        self.decisions = {
            "release": _("Released"),
            "hold": _("Held"),
            "reject": _("Rejected"),
            "concession": _("Released by concession"),
            "remeasure": _("To be read again"),
            "blend": _("Went into a blend"),
        }
        self.notes = {
            "hold": _("held"), "reject": _("rejected"), "concession": _("released"), "release": _("released"),
            "remeasure": _("read again"), "blend": _("blended"),
            "whole": _("whole?"), "ground": _("ground?"), "none": _("not read"), "meter": _("meter?"),
            "hands": _("to sign"),
        }  # fmt: skip
        self.give_or_take = _("give or take")
        self.countersign = _("waits for a countersignature")
        self.burrs = _("ground on new burrs, not compared yet")
        self.trainee = _("trainee")
        self.twice = _("read twice")
        self.more = _("read %(count)s times")
        self.apart = _("one sample kept apart")
        self.disagree = _("readings disagree")
        self.missing = {"whole": _("whole bean not read yet"), "ground": _("ground not read yet")}
        self.not_read = _("not read yet")
        self.nothing = _("nothing read yet")
        self.trial, self.trial_blend = _("trial"), _("trial blend")

    def verdict(self, batch: StripBatch) -> str:
        """The batch's verdict: `Out, darker`."""
        return self.verdicts[batch.verdict, batch.side if batch.verdict == "outside" else None]

    def value(self, part: StripPart) -> str:
        """`56.2`."""
        return show_value(part.value, part.step, self.mark)

    def give(self, part: StripPart) -> str:
        """`0.5`, rounded up."""
        return show_give_or_take(part.U, part.step, self.mark)

    def values(self, batch: StripBatch) -> tuple[str, str, str]:
        """Whole bean, ground and difference for the table: `56.2 ± 0.5`, or that it is missing."""
        said = []
        for kind in ("whole", "ground", "difference"):
            part = batch.parts.get(kind)
            if part:
                said.append(f"{self.value(part)}\N{NO-BREAK SPACE}±\N{NO-BREAK SPACE}{self.give(part)}")
            else:
                said.append(self.not_read if kind in batch.missing else "")
        return tuple(said)

    def note(self, batch: StripBatch) -> str:
        """The one word under a batch that needs one. A trial blend says so, unless it waits to be signed."""
        if batch.blend_of and not batch.to_countersign:
            return self.trial
        decided = batch.stands.decided
        if decided and (decided != "release" or batch.verdict not in ("inside", "unjudged")):
            return self.notes[decided]
        if batch.verdict == "incomplete":
            if not batch.parts:
                return self.notes["none"]
            return next((self.notes[kind] for kind in batch.missing), "")
        if batch.to_countersign:
            return self.notes["hands"]
        return "" if batch.proven else self.notes["meter"]

    def label(self, batch: StripBatch, clock: str) -> str:
        """Everything the picture shows of a batch, for those who do not see it."""
        said = [f"{clock} {batch.product_name}, {batch.code}: {self.verdict(batch)}"]
        said += [f"{self.kinds[k]} {self.value(p)}, {self.give_or_take} {self.give(p)}" for k, p in batch.parts.items()]
        said += [self.trial_blend] * bool(batch.blend_of)
        said += [self.missing[kind] for kind in batch.missing if batch.parts]
        if not batch.parts:
            said.append(self.nothing)
        if not batch.proven:
            said.append(not_proven_text(batch.meter_state).rstrip("."))
        if batch.to_countersign:
            said.append(self.countersign)
        if batch.decision:
            said.append(self.decisions[batch.decision])
        return ". ".join(said) + "."

    def readers(self, batch: StripBatch) -> str:
        """Who read it, and what is unusual about how: `Tomas (trainee), Ravi; read twice`."""
        names, remarks = {}, []
        for kind in ("whole", "ground"):
            part = batch.parts.get(kind)
            if part is None:
                continue
            for name, role in part.readers:
                names[name] = f"{name} ({self.trainee})" if role == "trainee" else name
            if part.samples > 1:
                times = self.twice if part.samples == 2 else self.more % {"count": part.samples}
                remarks.append(f"{self.kinds[kind]} {times}")
            remarks += [self.apart] * bool(part.apart) + [self.disagree] * part.disagree
        remarks += [self.burrs] * (batch.grinder_state == "burrs")
        return "; ".join([", ".join(names.values()), *dict.fromkeys(remarks)]) if names else ""


@lru_cache
def words_in(_language: str) -> Words:
    """The phrases of one language, which must be that of the present request."""
    return Words()


def words() -> Words:
    """The phrases in this request's language."""
    return words_in(str(get_locale()))


def counts(batches: Sequence[StripBatch]) -> list[tuple[str, str | None, str]]:
    """(verdict, side, words) for each state that occurs: `9 in band`."""
    found: dict[tuple[str, str | None], int] = {}
    for batch in batches:
        key = batch.verdict, batch.side if batch.verdict == "outside" else None
        found[key] = found.get(key, 0) + 1
    words = {
        ("inside", None): lambda n: ngettext("%(num)d in band", "%(num)d in band", n),
        ("undecided", None): lambda n: ngettext("%(num)d too close to call", "%(num)d too close to call", n),
        ("outside", "darker"): lambda n: ngettext("%(num)d out, darker", "%(num)d out, darker", n),
        ("outside", "lighter"): lambda n: ngettext("%(num)d out, lighter", "%(num)d out, lighter", n),
        ("outside", None): lambda n: ngettext("%(num)d out", "%(num)d out", n),
        ("incomplete", None): lambda n: ngettext("%(num)d not finished", "%(num)d not finished", n),
        ("unjudged", None): lambda n: ngettext("%(num)d without a target", "%(num)d without a target", n),
    }
    return [(*key, say(found[key])) for key, say in words.items() if key in found]


def heading(batches: Sequence[StripBatch]) -> str:
    """`12 batches`."""
    return ngettext("%(num)d batch", "%(num)d batches", len(batches))


def worst(batch: StripBatch) -> StripPart | None:
    """The part that decides the batch's verdict: of the worst verdict, the one least likely in band."""
    rank = {"outside": 0, "undecided": 1, "inside": 2}
    judged = [part for part in batch.parts.values() if part.verdict]
    return min(judged, key=lambda part: (rank[part.verdict], part.chance), default=None)


def reason(batch: StripBatch, words: Words) -> tuple[str, ...]:
    """Why a batch waits for a decision, in plain sentences, the first one first in weight."""
    said = [not_proven_text(batch.meter_state)]
    if batch.to_countersign:
        said.append(_("Read by %(name)s, a trainee: to be countersigned.", name=", ".join(trainees(batch))))
    part = worst(batch)
    if part is not None and part.verdict != "inside":
        said.append(distance(part, words))
        others = [p for p in batch.parts.values() if p is not part and p.verdict == part.verdict]
        if part.verdict == "undecided":
            said.append(settling(part))
        elif others:
            said.append(_("%(part)s is out too.", part=words.kinds[others[0].kind]))
    if batch.decision == "hold":
        said.append(_("Held by %(name)s, waiting for a decision.", name=batch.decided_by))
    elif batch.why == "remeasure":
        said.append(_("To be read again, says %(name)s.", name=batch.decided_by))
    elif batch.decision in ("reject", "concession") and batch.why == "changed":
        said.append(_("It read otherwise when that was decided."))
    elif batch.decision == "release" and not batch.proven:
        said.append(_("It has been released already."))
    elif batch.decision == "release":
        said.append(_("It was released before it read so."))
    return tuple(filter(None, said))


def trainees(batch: StripBatch) -> list[str]:
    """Those who read it as trainees, each once."""
    readers = [reader for part in batch.parts.values() for reader in part.readers]
    return list(dict.fromkeys(name for name, role in readers if role == "trainee"))


def distance(part: StripPart, words: Words) -> str:
    """`Whole bean is 0.1 inside the light limit, give or take 0.5.`"""
    far = show_value(abs(part.beyond), part.step, words.mark)
    facts = {"part": words.kinds[part.kind], "far": far, "give": words.give(part)}
    if float(far.replace(",", ".")) == 0:
        if part.side == "lighter":
            return _("%(part)s is on the light limit, give or take %(give)s.", **facts)
        return _("%(part)s is on the dark limit, give or take %(give)s.", **facts)
    if part.side is None:
        return _("%(part)s is %(far)s inside both limits, give or take %(give)s.", **facts)
    if part.beyond > 0:
        if part.kind == "difference":
            return against_whole(part.side, far, words.give(part))
        if part.side == "lighter":
            return _("%(part)s is %(far)s outside the light limit, give or take %(give)s.", **facts)
        return _("%(part)s is %(far)s outside the dark limit, give or take %(give)s.", **facts)
    if part.side == "lighter":
        return _("%(part)s is %(far)s inside the light limit, give or take %(give)s.", **facts)
    return _("%(part)s is %(far)s inside the dark limit, give or take %(give)s.", **facts)


def settling(part: StripPart) -> str:
    """What would settle a close call; nothing for the difference, which has no fills of its own."""
    if part.kind == "difference":
        return ""
    if part.settle_fills is None:
        return _("More fills would not settle it.")
    more = part.settle_fills - part.fills
    return ngettext("One more fill would settle it.", "%(num)d more fills would settle it.", more)
