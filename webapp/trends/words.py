"""What a run says, in sentences. No statistics terms where a plain word does."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from flask_babel import format_date, ngettext
from flask_babel import gettext as _

from webapp.measure import show_percent, show_signed, show_value
from webapp.measure.capability import Index
from webapp.store.trends import Beside
from webapp.trends.roast import Answer
from webapp.trends.run import Looked, Signalled
from webapp.ui.cause_words import note_words
from webapp.ui.filters import method_text
from webapp.ui.numbers import decimal_mark
from webapp.ui.trend_words import day_of_time as day_of_time
from webapp.ui.trend_words import event_words as event_words


@dataclass(frozen=True)
class Said:
    """The advice. look: 'leave', 'changed', 'off', or '' while nothing can be said: colour and shape; title is the
    answer, reason why, next what to do."""

    look: str
    title: str
    reason: str
    next: str


def advice_words(it: Looked, newest: Signalled | None) -> Said:
    """The advice in words. newest: the signal that it is about."""
    many, word = len(it.values), it.advice.word
    if word == "too_few":
        more = ngettext("%(num)d more batch is needed.", "%(num)d more batches are needed.", it.missing)
        why = _("Before twenty batches a change cannot be told from chance.")
        return Said("", _("Too early to say."), f"{why} {more}", "")
    if word == "changed":
        return changed_words(newest, it)
    if it.advice.sure:
        return off_words(it)
    if it.signals:
        why = _("What was marked earlier is over: nothing in the newest batches says that anything changed.")
    else:
        why = steady_words(many)
    if it.band is None:
        return Said("leave", _("Leave the roast alone."), why, _("There is no band to compare it with."))
    if word != "leave":
        why = f"{why} {doubt_words(it)}"
    return Said("leave", _("Leave the roast alone."), why, _("What differs from batch to batch is chance."))


def changed_words(one: Signalled, it: Looked) -> Said:
    """Something changed; and what is known of it, so that nobody hunts it twice."""
    if one.note is None:
        return Said(
            "changed", _("Something changed."), signal_words(one),
            _("Look for what it was before you touch the roast. What is known of that time stands below."),
        )  # fmt: skip
    why = f"{signal_words(one)} {note_words(one.note)}"
    if not one.closed:
        return Said("changed", _("Something changed."), why, _("Ask them before you touch the roast."))
    then = _("Nobody has to look for it again. It stands here until the newest batches are within the limits again.")
    if it.baseline and one.note.cause != "chance":
        then = f"{then} {_('If it is to stay like this, a lead freezes new limits.')}"
    return Said("changed", _("Something changed, and it is known."), why, then)


def off_words(it: Looked) -> Said:
    """Steady and yet not right, as far as so many batches can show it."""
    if it.advice.word == "cannot_hold":
        return Said(
            "off", _("This process cannot hold this band."),
            _("Nothing changed lately, and still it varies more from batch to batch than the band allows."),
            _("More care will not help. Less variation or a wider band will."),
        )  # fmt: skip
    dark = it.advice.side == "below"
    return Said(
        "off", _("Steady, in the wrong place."),
        _("It lies too near to the dark limit.") if dark else _("It lies too near to the light limit."),
        _("Move the roast as a whole, once, and look again. Chasing single batches makes it worse."),
    )  # fmt: skip


def doubt_words(it: Looked) -> str:
    """The same while the batches do not show it yet: no reason to touch anything."""
    if it.advice.word == "cannot_hold":
        return _("The band may be too narrow for this process: more batches will tell.")
    if it.advice.side == "below":
        return _("It may lie too near to the dark limit: more batches will tell.")
    return _("It may lie too near to the light limit: more batches will tell.")


def steady_words(many: int) -> str:
    """That nothing fired at all."""
    return ngettext("%(num)d batch, and nothing says that anything changed.",
                    "%(num)d batches, and nothing says that anything changed.", many)  # fmt: skip


def signal_words(one: Signalled) -> str:
    """What fired, in one sentence."""
    return rule_words(one.rule, one.lighter)


def rule_words(rule: int, lighter: bool) -> str:
    """What a rule says when it fires, in one sentence. rule: 1 to 4, 0 for the running mean."""
    sentences = {
        (1, True): _("One batch on the light side by more than three sigma."),
        (1, False): _("One batch on the dark side by more than three sigma."),
        (2, True): _("Two of three batches on the light side by more than two sigma."),
        (2, False): _("Two of three batches on the dark side by more than two sigma."),
        (3, True): _("Four of five batches on the light side by more than one sigma."),
        (3, False): _("Four of five batches on the dark side by more than one sigma."),
        (4, True): _("Eight batches in a row on the light side of the mean."),
        (4, False): _("Eight batches in a row on the dark side of the mean."),
        (0, True): _("The running mean has left its limits on the light side."),
        (0, False): _("The running mean has left its limits on the dark side."),
    }
    return sentences[(rule, lighter)]


def beside_words(one: Beside, it: Looked) -> str:
    """What was read otherwise, and is left out."""
    day = day_of_time(one.at if one.where == "after" else it.trend.points[0].roasted_at, it.years)
    how = _("on another scale")
    if one.method_version_id != it.trend.method_version_id:
        how = _("by %(method)s, version %(no)s", method=method_text(one.name), no=one.no)
    if one.where == "between":
        return ngettext(
            "%(num)d batch in between was read %(how)s and is left out: it cannot be compared.",
            "%(num)d batches in between were read %(how)s and are left out: they cannot be compared.",
            one.batches, how=how,
        )  # fmt: skip
    if one.where == "before":
        return _("Before %(day)s it was read %(how)s: that cannot be compared, and is left out.", day=day, how=how)
    return _("From %(day)s on it is read %(how)s: that cannot be compared, and is left out.", day=day, how=how)


def index_words(index: Index | None) -> str:
    """`0.81 (0.70 to 0.92)`, or '' where there is none."""
    if index is None:
        return ""
    value, low, high = (show_value(number, 0.01, decimal_mark()) for number in (index.value, *index.interval))
    return _("%(value)s (%(low)s to %(high)s)", value=value, low=low, high=high)


def share_words(it: Looked) -> str:
    """How many were in band, and what share that speaks for."""
    able = it.capability
    if able.inside == able.values:
        low = show_percent(able.share[0], decimal_mark())
        return _("%(inside)d of %(all)d (%(low)s or more)", inside=able.inside, all=able.values, low=low)
    low, high = (show_percent(end, decimal_mark()) for end in able.share)
    return _("%(inside)d of %(all)d (%(low)s to %(high)s)", inside=able.inside, all=able.values, low=low, high=high)


def answer_words(one: Answer, it: Looked) -> str:
    """How the colour answers to one number of the roast."""
    name = variable_words(one.what)
    if not one.line.clear:
        return _("%(name)s: no clear answer in %(num)d batches.", name=name, num=one.line.n)
    unit = {"drop": 1, "development": 10, "total": 10, "loss": 1}[one.what]
    ends = sorted(abs(end) * unit for end in one.line.slope_interval)
    by, low, high = (show_value(number, it.scale.step / 1000, decimal_mark())
                     for number in (abs(one.line.slope) * unit, *ends))  # fmt: skip
    lighter = one.line.slope * it.way > 0
    said = {
        ("drop", True): _("One degree more at the drop reads %(by)s lighter (%(low)s to %(high)s).", by=by, low=low,
                          high=high),
        ("drop", False): _("One degree more at the drop reads %(by)s darker (%(low)s to %(high)s).", by=by, low=low,
                           high=high),
        ("development", True): _("Ten seconds more of development read %(by)s lighter (%(low)s to %(high)s).", by=by,
                                 low=low, high=high),
        ("development", False): _("Ten seconds more of development read %(by)s darker (%(low)s to %(high)s).", by=by,
                                  low=low, high=high),
        ("total", True): _("Ten seconds more in all read %(by)s lighter (%(low)s to %(high)s).", by=by, low=low,
                           high=high),
        ("total", False): _("Ten seconds more in all read %(by)s darker (%(low)s to %(high)s).", by=by, low=low,
                            high=high),
        ("loss", True): _("One percent more of roast loss reads %(by)s lighter (%(low)s to %(high)s).", by=by, low=low,
                          high=high),
        ("loss", False): _("One percent more of roast loss reads %(by)s darker (%(low)s to %(high)s).", by=by, low=low,
                           high=high),
    }  # fmt: skip
    return said[(one.what, lighter)]


def change_words(one: Answer, it: Looked) -> str:
    """What would bring the colour back to its target, or ''."""
    if one.change is None:
        return ""
    if not one.change.known:
        return _("The way back lies beyond what was roasted so far.")
    by = {
        "drop": lambda: _("%(by)s degrees at the drop", by=show_signed(one.change.by, 0.1, decimal_mark())),
        "development": lambda: _("%(by)s seconds of development", by=show_signed(one.change.by, 1, decimal_mark())),
        "total": lambda: _("%(by)s seconds in all", by=show_signed(one.change.by, 1, decimal_mark())),
    }[one.what]()
    low, high = (show_value(end, it.scale.step / 100, decimal_mark()) for end in one.change.reads)
    return _(
        "If nothing else explains what changed: %(by)s, back to the target. The next batch would then read %(low)s to"
        " %(high)s.", by=by, low=low, high=high,
    )  # fmt: skip


def variable_words(what: str) -> str:
    """The name of a number of the roast."""
    return {
        "drop": _("Drop temperature"), "development": _("Development time"), "total": _("Roasting time"),
        "loss": _("Roast loss"),
    }[what]  # fmt: skip


def each_words(each: str) -> str:
    """What a mark of a picture stands for, where it is not one batch."""
    one = {
        "day": _("each mark is the mean of a day"), "week": _("each mark is the mean of a week"),
        "month": _("each mark is the mean of a month"),
    }.get(each)  # fmt: skip
    if one is None:
        return ""
    return _("More batches than the eye can part: %(one)s, its bar from the darkest to the lightest.", one=one)


def day_short(day: str, year: bool = False) -> str:
    """`2026-05-14` as `14 May`, or with its year."""
    return format_date(date.fromisoformat(day), "d MMM y" if year else "d MMM")
