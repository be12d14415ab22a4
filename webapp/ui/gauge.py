"""One band as a picture: where everything goes on the axis. templates/ui/gauge.html draws it.

Lighter is always to the right, whichever way the scale runs. All numbers are scale units; the store's
hundredths are divided before they come here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from webapp.measure.rounding import show_give_or_take, show_value

# A value further beyond the axis than this share of it does not stretch the axis: an arrow shows it at the edge.
FAR = 0.75
# A band takes this share of the axis when the value lies in it.
BAND_SHARE = 0.4
ONE_TWO_FIVE = (1, 2, 5)
# A mark pinned to the axis' end stands this much inside it, so that the arrow beside it can be seen.
PINNED = 12


@dataclass(frozen=True)
class Tick:
    """A line on the axis; `text` is empty for the small ones between the numbers."""

    x: float
    text: str = ""


@dataclass(frozen=True)
class Rail:
    """A limit of the band and its printed number."""

    x: float
    text: str


@dataclass(frozen=True)
class View:
    """The gauge at one width, in units of its viewBox.

    left, width: the axis. rails: the limits, in order of x. wash: (x, width) of the band. target, mark: x or
    None. whisker: (x1, x2) or None. arrow: 'left', 'right' or '' when the value lies beyond the axis.
    ends: whether there is room to print "darker" and "lighter" at the ends.
    """

    total: int
    left: int
    width: int
    ticks: tuple[Tick, ...]
    rails: tuple[Rail, ...]
    wash: tuple[float, float] | None
    target: float | None
    mark: float | None
    whisker: tuple[float, float] | None
    arrow: str
    ends: bool


@dataclass(frozen=True)
class Gauge:
    """What the macro `gauge` draws. low, high: the axis in scale units; the texts are printed to the step."""

    kind: str
    low: float
    high: float
    lighter: int
    step: float
    shade: str
    verdict: str
    value: str
    give_or_take: str
    lower: str
    centre: str
    upper: str
    scale: tuple[float, float] | None
    wide: View
    narrow: View


def make_gauge(
    kind: str,
    value: float | None,
    U: float | None,
    lower: float | None,
    centre: float | None,
    upper: float | None,
    *,
    step: float,
    lighter: int,
    shade: str = "",
    verdict: str = "",
    scale: tuple[float, float] | None = None,
    decimal_mark: str = ".",
) -> Gauge:
    """The gauge of one part; all in scale units.

    kind 'whole', 'ground' or 'difference'. value and its give-or-take U may be None (a live gauge before the
    first reading), so may any limit. scale: the ends of the meter's scale, shown where there is neither band nor
    value, and from which a script shades the mark. ValueError for a `lighter` that is not +1 or -1, or a step
    that is not above zero.
    """
    if lighter not in (1, -1):
        raise ValueError(f"lighter must be +1 or -1, not {lighter!r}")

    def text(number: float | None) -> str:
        return "" if number is None else show_value(number, step, decimal_mark)

    low, high = axis_range(value, U, lower, centre, upper, step, scale)
    parts = (value, U, lower, centre, upper)
    return Gauge(
        kind, low, high, lighter, step, shade, verdict,
        text(value), "" if U is None else show_give_or_take(U, step, decimal_mark),
        text(lower), text(centre), text(upper), scale,
        view(640, 30, 10.5, low, high, lighter, step, parts, text, decimal_mark),
        view(358, 20, 9.5, low, high, lighter, step, parts, text, decimal_mark),
    )  # fmt: skip


def axis_range(
    value: float | None,
    U: float | None,
    lower: float | None,
    centre: float | None,
    upper: float | None,
    step: float,
    scale: tuple[float, float] | None,
) -> tuple[float, float]:
    """(low, high) of the axis: the band with room on both sides, stretched to a value that is not far off."""
    if lower is None and upper is None:
        return without_band(value, U, step, scale)
    if lower is not None and upper is not None:
        room = (upper - lower) * (1 / BAND_SHARE - 1) / 2
        low, high = lower - room, upper + room
    else:
        limit = upper if lower is None else lower
        reach = abs(limit - centre) if centre is not None else max(20 * step, 3 * (U or 0))
        inward = -1 if lower is None else 1
        low, high = sorted((limit - inward * 1.5 * reach, limit + inward * 2.5 * reach))
    if value is None:
        return low, high
    span, slack = high - low, max(U or 0, 2 * step)
    if low - FAR * span <= value <= high + FAR * span:
        low, high = min(low, value - slack), max(high, value + slack)
    return low, high


def without_band(
    value: float | None, U: float | None, step: float, scale: tuple[float, float] | None
) -> tuple[float, float]:
    """The axis where nothing is asked for: around the value, else the whole scale."""
    if value is not None:
        reach = max(30 * step, 3 * (U or 0))
        return value - reach, value + reach
    return scale or (0.0, 100 * step)


def tick_step(low: float, high: float, step: float, width: float, char: float, decimal_mark: str = ".") -> float:
    """The finest 1-2-5 step, no finer than the scale's, whose printed numbers do not touch."""
    exponent = math.floor(math.log10(step) + 1e-9)
    while True:
        for digit in ONE_TWO_FIVE:
            size = float(f"{digit}e{exponent}")
            if size < step * (1 - 1e-9):
                continue
            longest = max(len(show_value(edge, size, decimal_mark)) for edge in (low, high))
            if size / (high - low) * width >= longest * char + 14:
                return size
        exponent += 1


def ticks(
    low: float, high: float, step: float, width: float, char: float, place, decimal_mark: str
) -> tuple[Tick, ...]:
    """Numbered ticks, and small ones at half way where there is room and the scale is that fine."""
    size = tick_step(low, high, step, width, char, decimal_mark)
    half = size / 2
    fine = half >= step * (1 - 1e-9) and half / (high - low) * width >= 8
    found = []
    for n in range(math.ceil(low / half - 1e-9), math.floor(high / half + 1e-9) + 1):
        numbered = n % 2 == 0
        if numbered or fine:
            found.append(Tick(place(n * half), show_value(n * half, size, decimal_mark) if numbered else ""))
    return tuple(found)


def view(
    total: int, left: int, char: float, low: float, high: float, lighter: int, step: float, parts, text, decimal_mark
) -> View:
    """The gauge at one width. char: the width of a figure in viewBox units, by which overlaps are avoided."""
    value, U, lower, centre, upper = parts
    width = total - 2 * left

    def place(number: float) -> float:
        share = (number - low) / (high - low)
        share = share if lighter > 0 else 1 - share
        return round(left + min(1.0, max(0.0, share)) * width, 1)

    limits = sorted((place(limit), text(limit)) for limit in (lower, upper) if limit is not None)
    rails = tuple(Rail(x, printed) for x, printed in limits)
    wash = None
    if rails:
        edges = sorted(place(limit) for limit in (low if lower is None else lower, high if upper is None else upper))
        wash = (edges[0], round(edges[1] - edges[0], 1))
    arrow = ""
    if value is not None and not low <= value <= high:
        arrow = "right" if (value > high) == (lighter > 0) else "left"
    spots = {"": None if value is None else place(value), "left": left + PINNED, "right": left + width - PINNED}
    whisker = None
    if value is not None and U:
        whisker = tuple(sorted((place(value - U), place(value + U))))
    # "darker" and "lighter" are six and seven letters; a rail's number is centred on it.
    clear = 7 * char + 8
    halves = [(rail.x, len(rail.text) * char / 2) for rail in rails]
    ends = all(left + clear <= x - half and x + half <= total - left - clear for x, half in halves)
    return View(
        total, left, width, ticks(low, high, step, width, char, place, decimal_mark), rails, wash,
        None if centre is None else place(centre), spots[arrow], whisker, arrow, ends,
    )  # fmt: skip
