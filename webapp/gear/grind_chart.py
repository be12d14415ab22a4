"""Where the points of a grind chart lie: one chart for each sieve opening, share that passed over time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from webapp.gear.grinder_forms import CUPPING_SIEVE_UM
from webapp.store.grinder_log import GrindCheck
from webapp.store.times import from_text

WIDTH, HEIGHT = 400, 230
LEFT, RIGHT, TOP, BOTTOM = 48, 388, 14, 190
# SCA Coffee Standards (rev. 2018), section 3: of coffee ground for cupping 70 to 75 % pass a 20 mesh (850 um) sieve.
CUPPING_SHARE = (70, 75)
SHAPES = 4


@dataclass(frozen=True)
class Point:
    """A check on the chart: where, the shape of its setting, and the check itself."""

    x: float
    y: float
    shape: int
    check: GrindCheck


@dataclass(frozen=True)
class Chart:
    """One sieve opening. grid and limits: (y, per cent); settings: (shape, name); points oldest first."""

    sieve_um: int
    grid: list[tuple[float, int]]
    limits: list[tuple[float, int]]
    settings: list[tuple[int, str]]
    points: list[Point]


def charts(checks: Sequence[GrindCheck], setting_ids: Sequence[str]) -> list[Chart]:
    """The charts of a grinder, the sieve of the cupping grind first. setting_ids: in the order of their shapes."""
    openings = sorted({check.sieve_um for check in checks}, key=lambda um: (um != CUPPING_SIEVE_UM, um))
    return [chart(um, [c for c in reversed(checks) if c.sieve_um == um], setting_ids) for um in openings]


def chart(sieve_um: int, checks: Sequence[GrindCheck], setting_ids: Sequence[str]) -> Chart:
    """One chart; checks oldest first."""
    limits = CUPPING_SHARE if sieve_um == CUPPING_SIEVE_UM else ()
    shares = [100 * check.share for check in checks]
    low, high = ends([*shares, *limits])
    moments = [from_text(check.made_at).timestamp() for check in checks]
    first, span = min(moments), max(moments) - min(moments)

    def y(share: float) -> float:
        return round(BOTTOM - (share - low) / (high - low) * (BOTTOM - TOP), 1)

    def x(moment: float) -> float:
        inside = (moment - first) / span if span else 0.5
        return round(LEFT + 12 + inside * (RIGHT - LEFT - 24), 1)

    shape = {setting_id: index % SHAPES for index, setting_id in enumerate(setting_ids)}
    points = [
        Point(x(moment), y(share), shape.get(check.setting_id, 0), check)
        for check, share, moment in zip(checks, shares, moments, strict=True)
    ]
    named = {check.setting_id: (shape.get(check.setting_id, 0), check.setting_name) for check in checks}
    step = 10 if high - low > 25 else 5
    return Chart(
        sieve_um, [(y(at), at) for at in range(low, high + 1, step)], [(y(at), at) for at in limits],
        list(named.values()), points,
    )  # fmt: skip


def ends(shares: Sequence[float]) -> tuple[int, int]:
    """The ends of the axis in per cent: multiples of ten that leave no point on the edge, from 0 to 100."""
    low = max(0, math.floor((min(shares) - 1) / 10) * 10)
    high = min(100, math.ceil((max(shares) + 1) / 10) * 10)
    return low, high
