"""Whole bean, ground and difference of a product below each other, batch by batch along one axis.

Each is judged as on its own page, so that both say the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from flask_babel import format_date
from flask_babel import gettext as _
from markupsafe import Markup
from sqlite_utils import Database

from webapp.measure import show_give_or_take
from webapp.store import times, trends
from webapp.store.products import Product
from webapp.store.trend_events import FOR_THE_FIRST_TIME, Event, fewer, place_of
from webapp.store.trends import Kind, TrendPoint, Wanted
from webapp.trends import chart, drawing, page, run, words
from webapp.trends.drawing import Axis, Mark, Panel
from webapp.trends.run import Looked
from webapp.ui.numbers import decimal_mark
from webapp.ui.verdict_words import kind_word


@dataclass(frozen=True)
class Part:
    """One kind. said: the advice; name: the kind as a heading."""

    kind: Kind
    name: str
    it: Looked
    said: words.Said


@dataclass(frozen=True)
class Cell:
    """A kind's number in a line. give: its give or take, or from where to where it reaches; fired: the rules."""

    value: str
    give: str
    verdict: str
    side: str
    proven: bool
    fired: str


@dataclass(frozen=True)
class Line:
    """A line of the table: a batch, or all of a day, week or month. cells: of each part, None where it was not read."""

    when: str
    day_url: str
    name: str
    url: str
    batches: int
    cells: tuple[Cell | None, ...]

    @property
    def fired(self) -> bool:
        """Whether a rule fired in any of them."""
        return any(cell and cell.fired for cell in self.cells)


@dataclass(frozen=True)
class Together:
    """The page. parts: of the kinds that were read; the rest as in page.Page."""

    parts: tuple[Part, ...]
    points: tuple[TrendPoint, ...]
    pictures: tuple[tuple[str, Markup, str], ...] = ()
    events: tuple[tuple[str, str, str], ...] = ()
    left_out: int = 0
    beside: tuple[tuple[str, str], ...] = ()
    each: str = "batch"
    lines: tuple[Line, ...] = ()
    spots: bool = False


def make(db: Database, product: Product, wanted: Wanted, most: int) -> Together:
    """The page of a product, with the newest ``most`` results of each kind."""
    looked = {kind: run.look_at(db, product.id, kind, narrowed(db, wanted, kind), most) for kind in trends.KINDS}
    parts = tuple(
        Part(kind, kind_word(kind), it, words.advice_words(it, it.standing))
        for kind, it in looked.items()
        if it.trend.points
    )
    points = along(part.it for part in parts)
    if not points:
        return Together((), ())
    happened = events(parts, points)
    kept = fewer(happened, run.MOST_EVENTS)
    sizes = drawing.in_sizes(points, lambda axis: [panel(part, axis) for part in parts])
    drawn = [drawing.stack(panels, axis, points, kept, handed(parts[0])) for axis, panels in sizes]
    wide, panels = sizes[0]
    return Together(
        parts, points, pictures(product, parts, points, drawn),
        tuple((letter, words.day_of_time(event.at, run.years_of(points)), words.event_words(event))
              for letter, event in zip(drawing.letters(kept), kept, strict=True)),
        len(happened) - len(kept), beside(product, parts), wide.each, tuple(lines(parts, wide, panels)), drawn[0].spots,
    )  # fmt: skip


def narrowed(db: Database, wanted: Wanted, kind: Kind) -> Wanted:
    """What is wanted of a kind: a version of a method narrows only what is read by that method."""
    if not wanted.method_version_id:
        return wanted
    of = trends.kind_read_by(db, wanted.method_version_id)
    return wanted if of == trends.READ_AS[kind] else replace(wanted, method_version_id=None)


def along(them) -> tuple[TrendPoint, ...]:
    """Every batch of the runs once, in order of roasting."""
    found = {point.batch_id: point for it in them for point in it.trend.points}
    return tuple(sorted(found.values(), key=lambda point: point.roasted_at))


def events(parts: Sequence[Part], points: Sequence[TrendPoint]) -> list[Event]:
    """What happened to any of them, each once, with its place among all batches."""
    found: dict[tuple, Event] = {}
    order = [point.roasted_at for point in points]
    for event in sorted((event for part in parts for event in part.it.happened), key=lambda event: event.at):
        first = event.what in FOR_THE_FIRST_TIME
        found.setdefault((event.what, event.name, "" if first else event.at), event)
    placed = [replace(event, before=place_of(order, event.at)) for event in found.values()]
    return sorted(placed, key=lambda event: (event.before, event.at, event.what))


def beside(product: Product, parts: Sequence[Part]) -> tuple[tuple[str, str], ...]:
    """What was read otherwise, and where it is shown. A difference is read as its ground sample: that is said once."""
    own = [part for part in parts if trends.READ_AS[part.kind] == part.kind]
    return tuple(
        (f"{part.name}: {text}", url) for part in own for text, url in page.beside(part.it, product.id, part.kind)
    )


def handed(part: Part) -> drawing.Words:
    """What a panel needs said."""
    return drawing.Words(
        page.label_one(part.it), page.label_many(part.it), words.day_short, page.batch_url, page.day_url
    )


def panel(part: Part, axis: Axis) -> Panel:
    """A kind's panel."""
    return drawing.panel(part.it, part.kind, part.name, axis, handed(part))


def pictures(
    product: Product, parts: Sequence[Part], points: Sequence[TrendPoint], drawn: Sequence[drawing.Drawing]
) -> tuple[tuple[str, Markup, str], ...]:
    """The pictures for a wide and a slim place; none where nothing draws."""
    said = " ".join(f"{part.name}: {part.said.title} {part.said.reason}" for part in parts)
    text = page.in_words(len(points), said)
    try:
        return tuple((one.size, page.svg(one, product.name, text), words.each_words(one.each)) for one in drawn)
    except chart.NoPicture:
        return ()


def lines(parts: Sequence[Part], axis: Axis, panels: Sequence[Panel]) -> list[Line]:
    """The numbers of the wide picture, newest first."""
    marks = [{mark.x: mark for mark in panel.marks} for panel in panels]
    fired = [page.fired_at(panel) for panel in panels]
    found = []
    for x in reversed(range(len(axis.groups))):
        points = axis.groups[x]
        cells = tuple(
            cell(part.it, there[x], " ".join(rules.get(x, []))) if x in there else None
            for part, there, rules in zip(parts, marks, fired, strict=True)
        )
        first, single = points[0], axis.each == "batch"
        day = format_date(times.day_bounds(first.day, "UTC")[0].date(), "d MMM y")
        url = page.batch_url(first) if single else page.day_url(first)
        found.append(Line(day, page.day_url(first), first.code if single else "", url, len(points), cells))
    return found


def cell(it: Looked, mark: Mark, fired: str) -> Cell:
    """A kind's number as text."""
    step = it.scale.step / 100
    if mark.u is not None:
        give = f"± {show_give_or_take(2 * mark.u, step, decimal_mark())}"
    else:
        give = _("%(low)s to %(high)s", low=page.shown(it, mark.low), high=page.shown(it, mark.high))
    return Cell(page.shown(it, mark.value), give, mark.state, mark.side, mark.proven, fired)
