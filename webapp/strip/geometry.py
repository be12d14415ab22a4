"""Where each batch's marks go on the strip. Lighter is up (on a phone: right), whichever way a scale runs.

Across: one cell per batch, CELL by HEIGHT units, a unit being a pixel at the standard text size. Upright (phone):
the same positions as a share of the row's width, in percent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from webapp.store.strip_days import COFFEE, StripBatch, StripPart
from webapp.ui.filters import shade

# Position units (half bands) shown on each side of the target; what lies beyond is pinned there with an arrow.
REACH = 1.6
CELL = 50
MIDDLE = 114
UNIT = 54
# The middle of the row of state shapes, and the whole picture's height.
SHAPES = 250
HEIGHT = 266
SLOT = {"whole": 13.5, "ground": 36.5}
# Half the height of the oval; half the side of the square.
OVAL, SQUARE = 13, 10.4
# Upright: a unit of position in percent of the row.
SHARE = 23
# The width to allow for a letter of the product's name.
LETTER = 9
# The product's name is printed again in a long run, so that it is in view wherever one has scrolled to.
REPEAT = 8
# This many stand side by side on a tablet held wide, and on the wall. With more than FEW the day is also drawn
# small as a whole; where all fit side by side after all, CSS leaves it out.
AT_ONCE = 18
FEW = 9


@dataclass(frozen=True)
class Spot:
    """One mark, across: centre x and y, top of the square; upright: along, in percent.

    ring: its verdict, 'plain' where that needs no ring. far: 'lighter' or 'darker' if it is pinned at the edge;
    arrow: that arrow's path; text_y: where the number goes; within: that is inside the band.
    """

    kind: str
    x: float
    y: float
    top: float
    along: float
    shade: str
    ring: str
    far: str
    arrow: str
    text_y: float
    within: bool


@dataclass(frozen=True)
class Placed:
    """A batch's marks. spots: on the strip. aside: measured kinds without a position, as (kind, shade). ghosts:
    kinds still missing. tie: the verdict on the difference where both have a position ('plain': none), else ''."""

    spots: tuple[Spot, ...]
    aside: tuple[tuple[str, str], ...]
    ghosts: tuple[str, ...]
    tie: str


@dataclass(frozen=True)
class Run:
    """The product's name above a batch where it changes: how many cells it may cover (1 to 6)."""

    name: str
    short: str
    cells: int
    again: bool

    @property
    def tight(self) -> bool:
        """Whether the name would not fit above its cells, in two lines, where the cells are narrow."""
        per_line = (self.cells * CELL - 8) // LETTER
        lines, room = 1, per_line
        for word in self.name.split():
            if len(word) > per_line:
                return True
            if len(word) > room:
                lines, room = lines + 1, per_line
            room -= len(word) + 1
        return lines > 2


def brown(part: StripPart) -> str:
    """The roast's shade on its meter's scale."""
    return shade(part.value, part.scale_lower, part.scale_upper, part.lighter)


def place(batch: StripBatch) -> Placed:
    """Where the batch's marks go."""
    spots: list[Spot] = []
    aside = []
    for kind in COFFEE:
        part = batch.parts.get(kind)
        if part is None:
            continue
        if part.position is None:
            aside.append((kind, brown(part)))
        else:
            spots.append(spot(part, spots[0] if spots else None))
    difference = batch.parts.get("difference")
    tie = ((difference and difference.verdict) or "plain") if len(spots) == 2 else ""
    ghosts = tuple(kind for kind in batch.missing if kind not in batch.parts)
    return Placed(tuple(spots), tuple(aside), ghosts, tie)


def spot(part: StripPart, other: Spot | None) -> Spot:
    """The mark of a part that has a position; `other` is the mark already in the same cell."""
    position = part.position
    pinned = min(REACH, max(-REACH, position))
    far = "" if pinned == position else ("lighter" if position > 0 else "darker")
    y = round(MIDDLE - pinned * UNIT, 1)
    # A pinned mark's number stands between it and the rail; that of a second one beyond the rail, in the band.
    within = bool(far and other and other.far == far)
    x, up = SLOT[part.kind], far == "lighter"
    text_y = y + (26.4 if up else -18.4) + within * (19 if up else -20)
    arrow = f"M{x - 6} {y - 17:.1f}h12l-6-9z" if up else f"M{x - 6} {y + 17:.1f}h12l-6 9z"
    return Spot(
        kind=part.kind,
        x=x,
        y=y,
        top=round(y - SQUARE, 1),
        along=round(50 + pinned * SHARE, 1),
        shade=brown(part),
        ring=part.verdict if part.verdict in ("undecided", "outside") else "plain",
        far=far,
        arrow=arrow if far else "",
        text_y=round(text_y, 1),
        within=within,
    )


def runs(batches: Sequence[StripBatch]) -> list[Run | None]:
    """One entry per batch: the name to print above it, or None where the run before goes on."""
    found: list[Run | None] = [None] * len(batches)
    start = 0
    for n in range(1, len(batches) + 1):
        if n < len(batches) and batches[n].product_name == batches[start].product_name:
            continue
        for first in range(start, n, REPEAT):
            batch = batches[first]
            cells = min(6, REPEAT, n - first)
            found[first] = Run(batch.product_name, batch.product_short, cells, first > start)
        start = n
    return found


@dataclass(frozen=True)
class Overview:
    """The whole day in one small picture, WIDE by TALL units: paths of dots by kind and state.

    dots: (kind, state, path). shapes: (state, path) below, for what is not in band. size: the dots' thickness.
    """

    rails: tuple[float, float]
    dots: tuple[tuple[str, str, str], ...]
    shapes: tuple[tuple[str, str], ...]
    size: float


WIDE, TALL, SMALL_UNIT = 1000, 72, 15


def overview(batches: Sequence[StripBatch], placed: Sequence[Placed]) -> Overview:
    """All batches across WIDE, whatever their number."""
    pitch = WIDE / len(batches)
    size = round(min(8.0, pitch * 0.44), 1)
    dots: dict[tuple[str, str], list[str]] = {}
    shapes: dict[str, list[str]] = {}
    for n, (batch, marks) in enumerate(zip(batches, placed, strict=True)):
        middle = (n + 0.5) * pitch
        for spot in marks.spots:
            x = middle + (-0.26 if spot.kind == "whole" else 0.26) * pitch
            y = 30 - (MIDDLE - spot.y) / UNIT * SMALL_UNIT
            dots.setdefault((spot.kind, spot.ring), []).append(f"M{x:.1f} {y:.1f}h0")
        state, path = small_shape(batch, middle, min(5.0, pitch * 0.42))
        if state:
            shapes.setdefault(state, []).append(path)
    return Overview(
        (30 - SMALL_UNIT, 30 + SMALL_UNIT),
        tuple((kind, state, "".join(paths)) for (kind, state), paths in sorted(dots.items())),
        tuple((state, "".join(paths)) for state, paths in sorted(shapes.items())),
        size,
    )


def small_shape(batch: StripBatch, x: float, r: float) -> tuple[str, str]:
    """(state, path) of a state's shape in the overview; nothing for a batch in band."""
    y = TALL - 8
    if batch.verdict == "undecided":
        return "undecided", f"M{x:.1f} {y - r:.1f}l{r:.1f} {r:.1f}l-{r:.1f} {r:.1f}l-{r:.1f}-{r:.1f}z"
    if batch.verdict == "outside":
        tip = r if batch.side != "lighter" else -r
        return "outside", f"M{x:.1f} {y + tip:.1f}l{r:.1f} {-2 * tip:.1f}h-{2 * r:.1f}z"
    if batch.verdict == "incomplete":
        return "incomplete", f"M{x - r / 2:.1f} {y}h{r:.1f}"
    return "", ""
