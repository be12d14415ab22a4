"""By which limits a run is judged, what is listened for, and how often that is wrong, in sentences."""

from __future__ import annotations

from flask_babel import gettext as _
from flask_babel import ngettext

from webapp.measure import show_value
from webapp.measure.advice import false_alarm
from webapp.measure.charts import Limits
from webapp.store.baselines import Baseline
from webapp.store.gear import Scale
from webapp.store.trend_rules import Rules
from webapp.trends import words
from webapp.trends.run import Looked
from webapp.ui.numbers import decimal_mark


def judged_words(it: Looked) -> str:
    """By which limits the page judges; '' where there are too few batches for any."""
    if it.baseline:
        said = frozen_words(it.baseline)
        if it.start:
            more = ngettext("%(num)d batch before them is shown and not judged.",
                            "%(num)d batches before them are shown and not judged.", it.start)  # fmt: skip
            said = f"{said} {more}"
        return said
    own = _("Limits from the batches shown.") if it.limits and it.limits.frozen else ""
    if it.passed is None and it.elsewhere is None:
        return own
    if it.passed is None:
        carry = _("Limits were frozen for another version of the method: they do not carry over.")
        return f"{own} {carry}".strip()
    if it.trend.points[-1].roasted_at < it.passed.first_roasted_at:
        return f"{own} {_('The limits that are frozen begin later.')}".strip()
    part = _("The frozen limits stand for all batches in a row, so they do not judge a part of them.")
    return f"{own} {part}".strip()


def frozen_words(one: Baseline) -> str:
    """Who froze which limits when, from what and why."""
    return _(
        "Limits frozen by %(name)s on %(day)s from %(num)d batches, %(first)s to %(last)s: %(reason)s",
        name=one.person_name, day=words.day_of_time(one.made_at), num=one.limits.batches,
        first=words.day_of_time(one.first_roasted_at), last=words.day_of_time(one.last_roasted_at),
        reason=_("“%(words)s”", words=one.reason),
    )  # fmt: skip


def limits_text(limits: Limits | None, way: int, scale: Scale) -> str:
    """`54.8 to 57.1, centre 56.0`, in the scale's numbers."""
    if limits is None:
        return ""
    low, high = sorted((limits.lower * way, limits.upper * way))
    low, high, centre = (show_value(number, scale.step / 1000, decimal_mark())
                         for number in (low, high, limits.centre * way))  # fmt: skip
    return _("%(low)s to %(high)s, centre %(centre)s", low=low, high=high, centre=centre)


def rules_text(rules: Rules) -> str:
    """What is listened for: `rule 1`, `rules 1, 2, 4 and the running mean`."""
    numbers = ", ".join(map(str, rules.rules))
    if rules.average:
        return ngettext("rule %(numbers)s and the running mean", "rules %(numbers)s and the running mean",
                        len(rules.rules), numbers=numbers)  # fmt: skip
    return ngettext("rule %(numbers)s", "rules %(numbers)s", len(rules.rules), numbers=numbers)


def once_in(length: float) -> str:
    """How many batches there are to one false signal, as a whole number."""
    return show_value(length, 1)


def alarms_words(it: Looked) -> list[str]:
    """What false alarms there are to be expected of what is switched on, and what the limits stand on."""
    rules, judged = it.rules, len(it.values) - it.start
    length = false_alarm(rules.rules, rules.average)
    alone = once_in(false_alarm(rules.rules, average=False))
    if rules.rules == (1, 2, 3, 4):
        said = _("On steady roasts the four rules alone give a false signal once in %(num)s batches.", num=alone)
    else:
        listened = rules_text(Rules(rules.rules, False))
        said = _("On steady roasts a false signal comes once in %(num)s batches, with %(rules)s on.", num=alone,
                 rules=listened)  # fmt: skip
    found = [said]
    if rules.average:
        found.append(_("With the running mean it is once in %(num)s.", num=once_in(length)))
    else:
        found.append(_("The running mean is off."))
    if judged / length >= 0.75:
        number = show_value(judged / length, 1)
        found.append(
            _("So about %(num)s of what is marked in %(many)d batches is to be expected by chance.",
              num=number, many=judged)
        )  # fmt: skip
    if it.limits.values < 100:
        found.append(rough_words(it))
    return found


def rough_words(it: Looked) -> str:
    """What limits from few batches are worth."""
    if it.baseline:
        return _("That holds for limits that are known well. These stand on %(num)d batches: from fewer than a hundred"
                 " they are rough, and false signals come more often.", num=it.limits.values)  # fmt: skip
    return _("The limits are worked out from the batches shown. From fewer than a hundred they are rough.")
