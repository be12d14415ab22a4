"""Leave the roast alone, or act: what a run of batches says, as data. The sentences are the page's.

Asked for by its own name (``webapp.measure.advice``), not through the package. Sides are those of the numbers.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from . import rules as western
from ._checks import finite_list
from .capability import Capability
from .charts import LEAST_BASELINE, Limits
from .control import EwmaPoint, ewma
from .rules import REACH, RULES, Episode, Side

Word = Literal["too_few", "leave", "changed", "cannot_hold", "off_centre"]

RUN_LENGTHS_WITH_AVERAGE: dict[tuple[int, ...], float] = {
    (1,): 231.6, (1, 2): 177.1, (1, 3): 144.0, (1, 4): 128.8,
    (1, 2, 3): 122.1, (1, 2, 4): 110.4, (1, 3, 4): 98.3, (1, 2, 3, 4): 87.8,
}  # fmt: skip
"""As rules.RUN_LENGTHS with the running mean (weight 0.2, width 2.962, exact limits) switched on too. No table has
them: simulated by us apart from this code, 400 000 runs each, standard error below 0.2 %."""


@dataclass(frozen=True)
class Advice:
    """What to do, and what it rests on.

    word   'too_few' (nothing can be said yet), 'changed' (a signal stands: look for what happened),
           'cannot_hold' (steady, but it scatters more than the band allows: more care will not help),
           'off_centre' (steady, and too near to one limit, which moving the roast would mend), 'leave' (steady)
    rule   with 'changed': the rule that fired first, 1 to 4, or 0 for the running mean
    point  index of the value at which it fired; since: of the first value that it counts (the running mean: the same)
    side   with 'changed': where the values went; with 'off_centre': the limit that is near
    sure   with 'cannot_hold' and 'off_centre': the index's whole interval lies below 1
    """

    word: Word
    rule: int | None = None
    point: int | None = None
    since: int | None = None
    side: Side | None = None
    sure: bool = False


@dataclass(frozen=True)
class Run:
    """A run of values looked at: every episode of the rules, the running mean (() if it is off), and each time that it
    left its limits (index, side)."""

    episodes: tuple[Episode, ...]
    average: tuple[EwmaPoint, ...]
    drifts: tuple[tuple[int, Side], ...]


def look(values: Sequence[float], limits: Limits, rules: Iterable[int] = RULES, average: bool = True) -> Run:
    """The rules and, if ``average``, the running mean over values in order of time, against limits that are theirs or
    were frozen before. Raises ValueError for a non-finite number."""
    numbers = finite_list("values", values) if len(values) else []
    found = western.episodes(western.signals(numbers, limits.centre, limits.sigma, rules))
    run = ewma(numbers, limits.centre, limits.sigma) if average else []
    drifts = tuple(
        (no, point.signal)
        for no, point in enumerate(run)
        if point.signal is not None and (no == 0 or run[no - 1].signal != point.signal)
    )
    return Run(tuple(found), tuple(run), drifts)


def false_alarm(rules: Iterable[int] = RULES, average: bool = True) -> float:
    """The mean number of steady batches up to a false alarm, with what is switched on and limits that are known.

    Limits from few values alarm more often. Raises KeyError without rule 1.
    """
    table = RUN_LENGTHS_WITH_AVERAGE if average else western.RUN_LENGTHS
    return table[tuple(sorted(set(rules)))]


def advise(run: Run, values: int, known: int, capability: Capability | None) -> Advice:
    """What ``values`` values that were looked at say now.

    ``known``: how many values the limits stand on; fewer than ``LEAST_BASELINE`` say nothing but that. A signal stands
    while it is among the last ``REACH`` values, or the running mean is still beyond its limits: what is over is
    history. Without one the capability decides: a cp below 1 can be held by nobody, else a cpk below 1 lies off the
    centre. None: there is no band to hold. Our own rule, built from published parts.
    """
    if known < LEAST_BASELINE or not values:
        return Advice("too_few")
    standing = [one for one in run.episodes if one.last >= values - REACH]
    drift = run.drifts[-1] if run.average and run.average[-1].signal is not None else None
    if standing:
        first = min(standing, key=lambda one: one.signals[0].point).signals[0]
        if drift is None or first.point <= drift[0]:
            return Advice("changed", first.rule, first.point, first.first, first.side)
    if drift is not None:
        return Advice("changed", 0, drift[0], drift[0], drift[1])
    if capability is not None and capability.cp is not None and capability.cp.value < 1:
        return Advice("cannot_hold", sure=capability.cp.surely_below(1))
    if capability is not None and capability.cpk.value < 1:
        side: Side = "below" if capability.nearer == "lower" else "above"
        return Advice("off_centre", side=side, sure=capability.cpk.surely_below(1))
    return Advice("leave")
