"""The two drawings of an outcome, as numbers for a template. Lighter is up and to the right, whichever way the scale
runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from webapp.measure.compare import BlandAltman, Deming
from webapp.ui.axes import Axis, reach

WIDTH, HEIGHT = 560, 400
LEFT, RIGHT, TOP, BOTTOM = 78, 546, 18, 338


@dataclass(frozen=True)
class Differences:
    """b minus a against the mean of both: dots, the bias with its interval, the limits, and what is still the same."""

    x: Axis
    y: Axis
    dots: list[tuple[float, float]]
    zero: float
    bias: float
    sure: tuple[float, float]
    limits: tuple[float, float]
    same: tuple[float, float]


def differences(a: Sequence[float], b: Sequence[float], found: BlandAltman, bound: float, step: float, lighter: int):
    """The drawing of a Bland-Altman comparison."""
    means = [(one + other) / 2 for one, other in zip(a, b, strict=True)]
    apart = [other - one for one, other in zip(a, b, strict=True)]
    x = Axis(reach(means, step), LEFT, RIGHT, lighter, step)
    y = Axis(reach([*apart, found.lower, found.upper, -bound, bound], step), BOTTOM, TOP, lighter, step / 10)
    between = [tuple(sorted(y.at(value) for value in pair)) for pair in (found.bias_interval, (-bound, bound))]
    return Differences(
        x, y, [(x.at(mean), y.at(d)) for mean, d in zip(means, apart, strict=True)], y.at(0.0), y.at(found.bias),
        between[0], (y.at(found.lower), y.at(found.upper)), between[1],
    )  # fmt: skip


@dataclass(frozen=True)
class Lines:
    """b against a: dots, the line through them, and the line on which both say the same; each line x1, y1, x2, y2."""

    x: Axis
    y: Axis
    dots: list[tuple[float, float]]
    equal: tuple[float, float, float, float]
    line: tuple[float, float, float, float] | None


def lines(a: Sequence[float], b: Sequence[float], found: Deming | None, step: float, lighter: int) -> Lines:
    """The drawing of a Deming line; the paper has the same ends both ways."""
    ends = reach([*a, *b], step)
    x, y = Axis(ends, LEFT, RIGHT, lighter, step), Axis(ends, BOTTOM, TOP, lighter, step)
    drawn = None
    if found is not None:
        low, high = within(found, ends)
        if low < high:
            drawn = (x.at(low), y.at(found.intercept + found.slope * low), x.at(high),
                     y.at(found.intercept + found.slope * high))  # fmt: skip
    return Lines(
        x, y, [(x.at(one), y.at(other)) for one, other in zip(a, b, strict=True)],
        (x.at(ends[0]), y.at(ends[0]), x.at(ends[1]), y.at(ends[1])), drawn,
    )  # fmt: skip


def within(found: Deming, ends: tuple[float, float]) -> tuple[float, float]:
    """From where to where on a the line stays on the paper."""
    if found.slope == 0:
        return ends
    crossings = sorted((end - found.intercept) / found.slope for end in ends)
    return max(ends[0], crossings[0]), min(ends[1], crossings[1])
