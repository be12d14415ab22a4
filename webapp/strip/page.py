"""What the strip's templates need, worked out beforehand so that the loops over the batches stay lean."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from flask import g, url_for
from flask_babel import format_date
from flask_babel import gettext as _

from webapp.store import times
from webapp.store.standings import Stand
from webapp.store.strip_days import StripBatch, StripDay
from webapp.strip import geometry
from webapp.strip.geometry import Overview, Placed, Run
from webapp.ui import trend_words
from webapp.ui.filters import clock
from webapp.ui.strip_words import Words, counts, heading, reason, words

# Cards beneath the strip; what waits beyond them is listed below.
CARDS = 4
WAIT_ORDER = {"outside": 0, "undecided": 1}
# Every state's shape: name -> (verdict, side).
LOOKS = {
    "inside": ("inside", None),
    "undecided": ("undecided", None),
    "outside-lighter": ("outside", "lighter"),
    "outside-darker": ("outside", "darker"),
    "outside-None": ("outside", None),
    "incomplete": ("incomplete", None),
    "unjudged": ("unjudged", None),
}
NO_ID = "00000000-0000-0000-0000-000000000000"


@dataclass(frozen=True)
class Cell:
    """A batch on the strip: its marks, where it leads, and every word about it.

    look: which of LOOKS its state's shape is, with "-sign" if it is to be countersigned. numbers: by kind, `56.2`;
    values: by kind, `56.2 ± 0.5` or what is missing; readers: who read it.
    """

    batch: StripBatch
    url: str
    clock: str
    label: str
    look: str
    verdict: str
    note: str
    numbers: dict[str, str]
    values: tuple[str, str, str]
    decision: str
    readers: str
    run: Run | None
    marks: Placed


@dataclass(frozen=True)
class Waiting:
    """A batch that waits for a decision, and why, in sentences. state: the look of its card."""

    cell: Cell
    state: str
    reason: tuple[str, ...]


@dataclass(frozen=True)
class Trending:
    """A product that is walking, or steady in the wrong way. look: as in trend_words.Said; url: of its trend."""

    look: str
    title: str
    text: str
    url: str


@dataclass(frozen=True)
class Step:
    """A way to another day: its address, its short name and its full one."""

    url: str
    short: str
    full: str


@dataclass(frozen=True)
class Page:
    """The whole page of one day. name: `Thursday 14 May`. now: the time of day at the site.

    cells: all batches; shown: those on the strip itself. overview: None while all are shown side by side.
    """

    day: str
    today: str
    name: str
    now: str
    before: Step | None
    after: Step | None
    heading: str
    counts: list[tuple[str, str | None, str]]
    cells: list[Cell]
    shown: list[Cell]
    cards: list[Waiting]
    rest: list[Waiting]
    overview: Overview | None
    trending: list[Trending]
    looks = LOOKS

    @property
    def codes(self) -> list[tuple[str, str]]:
        """(short, name) of the day's products, in the order in which they come."""
        return list(dict.fromkeys((c.batch.product_short, c.batch.product_name) for c in self.cells))

    @property
    def any_tight(self) -> bool:
        """Whether the strip across may have to print a short name in place of the full one."""
        return len(self.cells) > geometry.FEW and any(cell.run and cell.run.tight for cell in self.cells)

    @property
    def waiting(self) -> int:
        """How many batches wait for a decision."""
        return len(self.cards) + len(self.rest)


def make_page(day: StripDay, today: str, latest: int | None = None, stands: Sequence[Stand] = ()) -> Page:
    """Everything worked out for the templates. latest: the most batches that the strip itself shows; stands: what asks
    for somebody among the day's products, what asks most first."""
    say = words()
    cells = make_cells(day.batches, say)
    shown = cells if latest is None or len(cells) <= latest else make_cells(day.batches[-latest:], say)
    waiting = [Waiting(cell, state(cell.batch), reason(cell.batch, say)) for cell in cells if cell.batch.waits]
    waiting.sort(key=lambda w: (WAIT_ORDER.get(w.cell.batch.verdict, 2), w.cell.batch.roasted_at))
    many = len(cells) > geometry.FEW
    return Page(
        day=day.day,
        today=today,
        name=name_of(day.day, today),
        now=clock(times.to_text(g.now)),
        before=step_to(day.before, today),
        after=step_to(next_day(day, today), today),
        heading=heading(day.batches),
        counts=counts(day.batches),
        cells=cells,
        shown=shown,
        cards=waiting[:CARDS],
        rest=waiting[CARDS:],
        overview=geometry.overview(day.batches, [cell.marks for cell in cells]) if many else None,
        trending=trending(stands),
    )


def trending(stands: Sequence[Stand]) -> list[Trending]:
    """One card for each product, of the kind that asks most."""
    first: dict[str, Stand] = {}
    for stand in stands:
        first.setdefault(stand.state.product_id, stand)
    found = []
    for stand in first.values():
        url = url_for("trends.trend", product_id=stand.state.product_id, kind=stand.state.kind)
        said = trend_words.standing_words(stand)
        found.append(Trending(said.look, said.title, trend_words.aside(stand), url))
    return found


def make_cells(batches: Sequence[StripBatch], say: Words) -> list[Cell]:
    """One cell per batch, in order."""
    # Building eighty addresses one by one would cost as much as all the queries.
    before, after = url_for("bench.result", batch_id=NO_ID).split(NO_ID)
    cells = []
    for batch, run in zip(batches, geometry.runs(batches), strict=True):
        time = clock(batch.roasted_at)
        cells.append(
            Cell(
                batch=batch,
                url=before + batch.id + after,
                clock=time,
                label=say.label(batch, time),
                look=look_of(batch),
                verdict=say.verdict(batch),
                note=say.note(batch),
                numbers={kind: say.value(part) for kind, part in batch.parts.items()},
                values=say.values(batch),
                decision=f"{say.decisions[batch.decision]}, {batch.decided_by}" if batch.decision else "",
                readers=say.readers(batch),
                run=run,
                marks=geometry.place(batch),
            )
        )
    return cells


def look_of(batch: StripBatch) -> str:
    """See Cell.look."""
    look = f"{batch.verdict}-{batch.side}" if batch.verdict == "outside" else batch.verdict
    return f"{look}-sign" if batch.to_countersign else look


def state(batch: StripBatch) -> str:
    """The look of its card."""
    return batch.verdict if batch.verdict in ("undecided", "outside") else "held"


def next_day(day: StripDay, today: str) -> str | None:
    """The day that `later` leads to: the next with batches, and today from any day before it."""
    if day.day < today:
        return min(day.after or today, today)
    return day.after


def step_to(day: str | None, today: str) -> Step | None:
    """The way to a day."""
    if day is None:
        return None
    if day == today:
        return Step(url_for("strip.today"), _("Today"), _("Today"))
    return Step(url_for("strip.day", day=day), format_date(date.fromisoformat(day), "EEE d MMM"), name_of(day, today))


def name_of(day: str, today: str) -> str:
    """`Thursday 14 May`, with the year where it is not this one."""
    pattern = "EEEE d MMMM" if day[:4] == today[:4] else "EEEE d MMMM y"
    return format_date(date.fromisoformat(day), pattern)
