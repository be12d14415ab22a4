"""Which stretch of a run could be frozen as a baseline, and what that would do."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.measure.charts import LEAST_BASELINE, Limits, limits_of
from webapp.measure.standing import stand
from webapp.measure.steady import MOST_STRETCH, is_steady, steady_stretch
from webapp.store.baselines import Frozen
from webapp.store.trends import TrendPoint
from webapp.trends.run import Looked, Signalled, signals_of


@dataclass(frozen=True)
class Stretch:
    """Batches in a row of a run, and the limits from them, mirrored as the run's values.

    first, last: indices into all points; points: those between that count; left_out: those that do not, since no check
    stands behind their meter or their reading waits for a countersignature. within, since: what fires by these limits
    in the stretch itself, and after it, newest first.
    """

    first: int
    last: int
    points: tuple[TrendPoint, ...]
    left_out: int
    limits: Limits
    within: tuple[Signalled, ...]
    since: tuple[Signalled, ...]

    def frozen(self, way: int) -> Frozen:
        """As it is stored: in the scale's own numbers."""
        return Frozen(
            self.points[0].batch_id, self.points[-1].batch_id, len(self.points), self.limits.centre * way,
            self.limits.sigma,
        )  # fmt: skip


def counting(it: Looked) -> list[int]:
    """Indices of the points that limits may rest on: the meter is proven, and the hands are."""
    return [no for no, p in enumerate(it.trend.points) if p.proven and p.batch_id not in it.waiting]


def proposed(it: Looked) -> tuple[int, int] | None:
    """(first, last) of the newest steady stretch among the points that count, as indices of all points; None: there is
    none."""
    there = counting(it)
    found = steady_stretch([it.values[no] for no in there], it.scale.step / 100) if there else None
    return (there[found[0]], there[found[1]]) if found else None


def can_freeze(it: Looked) -> int:
    """How many of the newest batches that count are steady, all or ``LEAST_BASELINE``; 0 where neither are, or limits
    are frozen already. Cheap: the page of the limits looks closer."""
    if it.baseline or it.passed or not it.trend.points:
        return 0
    values = [it.values[no] for no in counting(it)][-MOST_STRETCH:]
    for many in (len(values), LEAST_BASELINE):
        if LEAST_BASELINE <= many <= len(values) and is_steady(values[-many:], it.scale.step / 100):
            return many
    return 0


def stretch(it: Looked, first: int, last: int) -> Stretch | None:
    """The points from first to last as a baseline; None: fewer than ``LEAST_BASELINE`` of them count."""
    there = [no for no in counting(it) if first <= no <= last]
    if len(there) < LEAST_BASELINE:
        return None
    step = it.scale.step / 100
    limits = limits_of([it.values[no] for no in there], step)
    found = stand(it.values, step, None, it.rules.rules, it.rules.average, limits, there[0])
    signals = signals_of(found, [])
    return Stretch(
        there[0], there[-1], tuple(it.trend.points[no] for no in there), there[-1] - there[0] + 1 - len(there), limits,
        tuple(one for one in signals if one.point <= there[-1]), tuple(one for one in signals if one.point > there[-1]),
    )  # fmt: skip
