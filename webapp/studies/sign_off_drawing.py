"""The picture of a sign-off, as numbers for a template: the differences between the rails of what still matches, and
the spread against its limit. Lighter is up, whichever way the scale runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from webapp.store.signoffs import Evidence
from webapp.studies.outcome import Pair
from webapp.ui.axes import Axis, reach

LEFT, RIGHT, TOP, BOTTOM = 78, 440, 18, 262
BAR = 492
TRACK = 530


@dataclass(frozen=True)
class Drawing:
    """`dots`: one for each coffee, in the order of reading; `rails`: the bound, upper first; `sure`: the 90 % interval
    of the mean difference; `spread`, `limit`: along a track of TRACK units (None without a spread)."""

    y: Axis
    dots: list[tuple[float, float]]
    zero: float
    rails: tuple[float, float]
    bias: float
    sure: tuple[float, float]
    spread: float | None
    limit: float | None


def draw(pairs: Sequence[Pair], found: Evidence, step: float, lighter: int) -> Drawing:
    """The drawing of these pairs."""
    apart = [pair.b - pair.a for pair in pairs]
    y = Axis(reach([*apart, found.bias_low, found.bias_high, -found.bound, found.bound], step), BOTTOM, TOP, lighter,
             step / 10)  # fmt: skip
    gap = (RIGHT - LEFT) / (len(apart) + 1)
    dots = [(round(LEFT + gap * no, 1), y.at(d)) for no, d in enumerate(apart, 1)]
    rails, sure = (
        tuple(sorted(y.at(value) for value in pair))
        for pair in ((-found.bound, found.bound), (found.bias_low, found.bias_high))
    )
    spread = limit = None
    if found.spread is not None:
        most = max(found.spread, found.spread_limit) * 1.15
        spread, limit = (round(TRACK * value / most, 1) for value in (found.spread, found.spread_limit))
    return Drawing(y, dots, y.at(0.0), rails, y.at(found.bias), sure, spread, limit)
