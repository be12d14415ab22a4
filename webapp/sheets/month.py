"""The sheet of a month for a customer: one product, how many batches, how they read. No names, no notes."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date

from flask_babel import format_date
from sqlite_utils import Database

from webapp.measure import show_give_or_take, show_value, standard_deviation
from webapp.measure.response import loss_percent
from webapp.sheets.fields import Choice
from webapp.sheets.words import sided_word
from webapp.store import month_sheets, months
from webapp.store.kind_months import KindMonth, look
from webapp.store.month_sheets import PartValue
from webapp.store.months import Month, MonthBatch
from webapp.store.products import Product
from webapp.store.trends import KINDS, Kind
from webapp.ui import month_drawing
from webapp.ui.decision_words import decided as decided_word
from webapp.ui.filters import one_decimal
from webapp.ui.month_drawing import Drawing
from webapp.ui.month_words import band_words, month_title, remarks, remarks_of, share_words, verdicts
from webapp.ui.numbers import decimal_mark, kilograms
from webapp.ui.verdict_words import kind_word


@dataclass(frozen=True)
class Line:
    """A kind in the table. Texts; "" for what there is not. spread: the standard deviation of the batches."""

    kind: Kind
    name: str
    batches: int
    mean: str
    spread: str
    ends: tuple[str, str]
    band: str
    inside: str
    share: str
    remarks: tuple[str, ...]
    drawing: Drawing
    told: str


@dataclass(frozen=True)
class BatchLine:
    """A batch in the list, as far as its fields were chosen: "" for what is left out. values: by kind."""

    day: str
    code: str
    values: dict[str, str]
    verdict: str
    side: str | None
    verdict_text: str
    decision: str
    lot: str
    mass: str
    loss: str


@dataclass(frozen=True)
class Page:
    """The sheet. verdicts: (verdict, side, words, batches); decisions: (words, batches); listed: every batch;
    left_out: what the list lacks, as texts."""

    title: str
    batches: int
    verdicts: tuple[tuple[str, str, str, int], ...]
    decisions: tuple[tuple[str, int], ...]
    lines: tuple[Line, ...]
    remarks: tuple[str, ...]
    listed: tuple[BatchLine, ...]
    left_out: tuple[str, ...]


def make(db: Database, product: Product, month: Month, choice: Choice) -> Page:
    """The sheet of a product and a month."""
    batches = months.get_batches(db, product.id, month)
    lines = tuple(line(db, it) for kind in KINDS if (it := look(db, product.id, kind, month)))
    values = month_sheets.list_values(db, product.id, month) if "values" in choice else {}
    decided = Counter(one.decision for one in batches if one.decision) if "decisions" in choice else {}
    return Page(
        month_title(month.name), len(batches), tuple(verdicts(batches)),
        tuple((decided_word(what), many) for what, many in sorted(decided.items())), lines, remarks_of(lines),
        tuple(batch_line(one, values.get(one.id, {}), choice) for one in batches), tuple(choice.left_out),
    )  # fmt: skip


def line(db: Database, it: KindMonth) -> Line:
    """A kind as text."""
    step, values = it.scale.step / 100, [point.value for point in it.points]

    def text(value: float, finer: int = 1) -> str:
        return show_value(value, step / finer, decimal_mark())

    spread = text(standard_deviation(values), 10) if len(values) > 1 else ""
    return Line(
        it.kind, kind_word(it.kind), len(values), text(it.mean, 10), spread, (text(min(values)), text(max(values))),
        band_words(it), *share_words(it), tuple(remarks(db, it)), month_drawing.draw(it), kind_word(it.kind),
    )  # fmt: skip


def batch_line(one: MonthBatch, values: dict[str, PartValue], choice: Choice) -> BatchLine:
    """A batch of the list."""
    shown = "verdicts" in choice
    loss = ""
    if "masses" in choice and one.green_g and one.roasted_g is not None:
        loss = f"{one_decimal(loss_percent(one.green_g, one.roasted_g))} %"
    return BatchLine(
        format_date(date.fromisoformat(one.day), "d MMM"), one.code,
        {kind: with_give(value) for kind, value in values.items()},
        one.verdict if shown else "", one.side if shown else None, sided_word(one.verdict, one.side) if shown else "",
        decided_word(one.decision) if one.decision and "decisions" in choice else "", choice.only("lots", one.lot),
        choice.only("masses", f"{kilograms(one.roasted_g)} kg" if one.roasted_g is not None else ""), loss,
    )  # fmt: skip


def with_give(part: PartValue) -> str:
    """`56.2 ± 0.5`."""
    step = part.step / 100
    give = show_give_or_take(2 * part.u, step, decimal_mark())
    return f"{show_value(part.value, step, decimal_mark())}\N{NO-BREAK SPACE}±\N{NO-BREAK SPACE}{give}"
