"""How the colour of a product answers to the roast, on one machine, and what would bring it back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from webapp.measure.response import (
    LEAST_BATCHES,
    Change,
    NoSpread,
    RoastLine,
    change_for,
    loss_percent,
    response_of,
)
from webapp.measure.spread import mean
from webapp.measure.witness import witness_of
from webapp.store.trends import TrendPoint
from webapp.trends.run import Looked

Variable = Literal["drop", "development", "total", "loss"]
VARIABLES: tuple[Variable, ...] = ("drop", "development", "total", "loss")

# No change is advised from fewer batches since something changed: one batch is chance.
LEAST_SINCE = 3
MOST_LOOKED_AT = 500


@dataclass(frozen=True)
class Answer:
    """The line of the result on one number of the roast. change: what would bring the colour back to the target, only
    where a signal stands and the answer is clear."""

    what: Variable
    line: RoastLine
    change: Change | None


def number_of(point: TrendPoint, what: Variable) -> float | None:
    """A number of the roast in its own unit (degrees, seconds, percent); None where it was not written down."""
    if what == "drop":
        return None if point.drop_decicelsius is None else point.drop_decicelsius / 10
    if what == "development":
        return point.development_s
    if what == "total":
        return point.total_s
    if not point.green_g or not point.roasted_g:
        return None
    return loss_percent(point.green_g, point.roasted_g)


def answers(it: Looked) -> list[Answer]:
    """One for each number that changed among enough batches of the newest batch's machine."""
    machine = it.trend.points[-1].machine_id
    found = []
    for what in VARIABLES:
        known = [
            (no, point.value, number)
            for no, point in enumerate(it.trend.points)
            if point.machine_id == machine and (number := number_of(point, what)) is not None
        ]
        if len(known) < LEAST_BATCHES:
            continue
        try:
            if what == "loss":
                known = agreeing(known, it.scale.step / 100)
            line = response_of([number for _no, _value, number in known], [value for _no, value, _number in known])
        except NoSpread:
            continue
        found.append(Answer(what, line, change(it, what, line, known)))
    return found


def agreeing(known: list[tuple[int, float, float]], step: float) -> list[tuple[int, float, float]]:
    """Without the batches whose loss and colour disagree: one wrong mass would turn the line. All, where fewer than
    LEAST_BATCHES would be left, and where there are so many that looking would take long."""
    if len(known) > MOST_LOOKED_AT:
        return known
    doubts = witness_of([loss for _no, _value, loss in known], [value for _no, value, _loss in known], step).doubts
    odd = {one.index for one in doubts}
    left = [one for no, one in enumerate(known) if no not in odd]
    return left if len(left) >= LEAST_BATCHES else known


def change(it: Looked, what: Variable, line: RoastLine, known: list[tuple[int, float, float]]) -> Change | None:
    """What would bring the mean since the change back to the target. Roast loss is no handle: never of it."""
    since = [one for one in known if it.advice.since is not None and one[0] >= it.advice.since]
    if what == "loss" or it.advice.word != "changed" or it.band is None or len(since) < LEAST_SINCE:
        return None
    away = it.band[1] - mean([value for _no, value, _number in since])
    return change_for(line, mean([number for _no, _value, number in since]), away)
