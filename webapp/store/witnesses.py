"""Roast loss beside colour, from what is stored: which batches of a product disagree. Nothing is kept for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlite_utils import Database

from webapp.measure.witness import LEAST_BATCHES, Doubt, NoSpread, Witness, loss_percent, witness_of

from . import gear, trends
from .gear import Scale
from .trends import Kind, TrendPoint, Wanted

LOOKED_AT = 100
"""So many of the newest results of a product and kind are looked at, as on its trend."""

PREFERRED: tuple[Kind, ...] = ("ground", "whole")
"""Ground first: it is a mean of the whole bean, as the loss is."""


@dataclass(frozen=True)
class Beside:
    """Loss beside colour of one product, kind and machine, oldest first.

    points    the batches with both; without_loss: how many results were left out because a mass was not written down
    losses    in percent, one for each point
    witness   None with fewer than LEAST_BATCHES points, or where loss or colour never changed
    scale     None where nothing was read
    """

    kind: Kind
    machine_id: str | None
    points: tuple[TrendPoint, ...]
    losses: tuple[float, ...]
    without_loss: int
    witness: Witness | None
    scale: Scale | None

    @property
    def missing(self) -> int:
        """Batches that are still needed."""
        return max(0, LEAST_BATCHES - len(self.points))

    @property
    def clear(self) -> bool:
        """Whether the loss tells the colour at all."""
        return self.witness is not None and self.witness.line.clear

    @property
    def doubts(self) -> tuple[Doubt, ...]:
        """The batches that disagree; none where nothing can be said."""
        return self.witness.doubts if self.witness else ()


@dataclass(frozen=True)
class Disagreeing:
    """A batch whose loss and colour disagree. loss in percent; value, expected, reach in scale units."""

    point: TrendPoint
    kind: Kind
    loss: float
    doubt: Doubt
    scale: Scale


def look(db: Database, product_id: str, kind: Kind, machine_id: str, until: str = "", most: int = LOOKED_AT) -> Beside:
    """The newest ``most`` results of a product, kind and machine, read as its newest one. until: stored UTC text."""
    trend = trends.get_trend(db, product_id, kind, Wanted(machine_id=machine_id, until=until), most)
    known = [point for point in trend.points if point.green_g and point.roasted_g]
    losses = tuple(loss_percent(point.green_g, point.roasted_g) for point in known)
    scale = gear.get_scale(db, trend.scale_id) if trend.scale_id else None
    found = None
    if len(known) >= LEAST_BATCHES:
        try:
            found = witness_of(losses, [point.value for point in known], scale.step / 100)
        except NoSpread:
            found = None
    return Beside(kind, machine_id, tuple(known), losses, len(trend.points) - len(known), found, scale)


def best_look(db: Database, product_id: str, machine_id: str, until: str = "", most: int = LOOKED_AT) -> Beside:
    """By the kind that says more: ground where there are enough of it, else whole bean, else the one nearer to it."""
    looks = [look(db, product_id, kind, machine_id, until, most) for kind in PREFERRED]
    return next((one for one in looks if one.witness), max(looks, key=lambda one: len(one.points)))


def machines_of(db: Database, product_id: str, until: str = "", most: int = LOOKED_AT) -> list[tuple[str, str]]:
    """(id, name) of the machines among the newest results of a product, newest first."""
    found: dict[str, tuple[str, str]] = {}
    for kind in PREFERRED:
        for point in reversed(trends.get_trend(db, product_id, kind, Wanted(until=until), most).points):
            newer = found.get(point.machine_id, ("", ""))
            found[point.machine_id] = max(newer, (point.roasted_at, point.machine_name))
    return [(id, name) for id, (_at, name) in sorted(found.items(), key=lambda one: one[1], reverse=True)]


def disagreeing(db: Database, product_id: str, until: str = "", most: int = LOOKED_AT) -> list[Disagreeing]:
    """The batches of a product whose loss and colour disagree, on any of its machines, oldest first.

    Among the newest ``most`` of each machine that were roasted before ``until`` (stored UTC text; "": now).
    """
    looks = [best_look(db, product_id, id, until, most) for id, _name in machines_of(db, product_id, until, most)]
    found = [one for look in looks for one in told(look)]
    return sorted(found, key=lambda one: one.point.roasted_at)


def told(beside: Beside) -> Sequence[Disagreeing]:
    """The doubts of one look with their batches."""
    return [
        Disagreeing(beside.points[one.index], beside.kind, beside.losses[one.index], one, beside.scale)
        for one in beside.doubts
    ]
