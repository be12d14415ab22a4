"""Roast loss beside colour: the page of a second witness, and its picture."""

from __future__ import annotations

from dataclasses import dataclass

from flask import url_for
from flask_babel import gettext as _
from flask_babel import ngettext
from sqlite_utils import Database

from webapp.measure import show_value
from webapp.store import witnesses
from webapp.store.products import Product
from webapp.store.trends import KINDS, Kind
from webapp.store.witnesses import Beside, Disagreeing
from webapp.trends import words
from webapp.ui.axes import Axis, reach
from webapp.ui.numbers import decimal_mark
from webapp.ui.verdict_words import kind_word

LEFT, RIGHT, TOP, BOTTOM = 78, 546, 18, 338
# Places along the curved edge of the prediction band.
EDGE = 24


@dataclass(frozen=True)
class Dot:
    """A batch in the picture. odd: its loss and colour disagree; label, url: what it is and where it leads."""

    x: float
    y: float
    odd: bool
    code: str
    label: str
    url: str


@dataclass(frozen=True)
class Drawing:
    """line: x1, y1, x2, y2; band: the path of where 95 of 100 batches lie; None where there is no line."""

    x: Axis
    y: Axis
    dots: list[Dot]
    line: tuple[float, float, float, float] | None
    band: str


@dataclass(frozen=True)
class Row:
    """A batch that disagrees, as text."""

    sentence: str
    detail: str
    code: str
    url: str
    when: str


@dataclass(frozen=True)
class Page:
    """said, reason: the answer and what it rests on; look: its colour and shape as in words.Said; machines, kinds: what
    else may be looked at (id or kind, name)."""

    it: Beside | None
    look: str
    said: str
    reason: str
    rows: tuple[Row, ...]
    drawing: Drawing | None
    text: str
    machines: tuple[tuple[str, str], ...]
    machine: str
    kinds: tuple[Kind, ...]
    all: tuple[tuple[str, ...], ...] = ()


def make(db: Database, product: Product, machine_id: str | None, kind: Kind | None) -> Page:
    """The page of a product: machine None: the newest batch's; kind None: the one that says more."""
    machines = witnesses.machines_of(db, product.id)
    if not machines:
        return Page(None, "", _("Nothing read yet."), "", (), None, "", (), "", ())
    chosen = machine_id if machine_id in dict(machines) else machines[0][0]
    name = dict(machines)[chosen]
    kinds = tuple(one for one in KINDS if one in witnesses.PREFERRED)
    it = (
        witnesses.look(db, product.id, kind, chosen)
        if kind in witnesses.PREFERRED
        else witnesses.best_look(db, product.id, chosen)
    )
    told = witnesses.told(it)
    look, said, reason = answer(it, name, len(told))
    drawn = draw(it) if it.points else None
    return Page(
        it, look, said, reason, tuple(row(one) for one in reversed(told)), drawn, f"{said} {reason}",
        tuple(machines), chosen, kinds, tuple(numbers(it)),
    )  # fmt: skip


def answer(it: Beside, machine: str, odd: int) -> tuple[str, str, str]:
    """(look, the answer, what it rests on)."""
    many = len(it.points)
    rests = ngettext(
        "%(num)d batch of %(machine)s with roast loss and colour, %(kind)s.",
        "%(num)d batches of %(machine)s with roast loss and colour, %(kind)s.", many, machine=machine,
        kind=kind_word(it.kind),
    )  # fmt: skip
    if it.missing:
        more = ngettext("%(num)d more is needed.", "%(num)d more are needed.", it.missing)
        return "", _("Too few batches with a roast loss."), f"{rests} {more} {how_to_record()}"
    if it.witness is None:
        return "", _("The roast loss is always the same, or the colour."), f"{rests} " + _(
            "So one says nothing about the other."
        )
    if not it.clear:
        return "", _("The roast loss is no witness here."), f"{rests} " + _(
            "In these batches loss and colour do not go together clearly enough to hold one against the other."
        )
    if odd:
        said = ngettext("%(num)d batch disagrees.", "%(num)d batches disagree.", odd)
        return "changed", said, rests
    return "leave", _("Loss and colour agree."), rests


def how_to_record() -> str:
    """What would help."""
    return _("Write down green and roasted mass with each batch.")


def row(one: Disagreeing) -> Row:
    """A disagreeing batch in sentences."""
    point, colour = one.point, one.doubt.odd == "colour"
    step = one.scale.step / 100 if colour else 0.1
    expected, low, high = (show_value(end, step, decimal_mark()) for end in (one.doubt.expected, *one.doubt.reach))
    there = {
        "expected": expected, "low": low, "high": high, "loss": show_value(one.loss, 0.1, decimal_mark()),
        "value": show_value(point.value, one.scale.step / 100, decimal_mark()),
    }  # fmt: skip
    if colour:
        detail = _("To a loss of %(loss)s %% belongs a reading of %(expected)s (%(low)s to %(high)s). It reads"
                   " %(value)s: look at the sample first.", **there)  # fmt: skip
    else:
        detail = _("To a reading of %(value)s belongs a loss of %(expected)s %% (%(low)s to %(high)s). Written down is"
                   " %(loss)s %%: look at what was weighed first.", **there)  # fmt: skip
    return Row(
        disagreement(point.code), detail, point.code, url_for("bench.result", batch_id=point.batch_id),
        words.day_of_time(point.roasted_at),
    )  # fmt: skip


def disagreement(code: str) -> str:
    """What is said of a batch, wherever it is said."""
    return _(
        "Loss and colour of %(code)s disagree: look at the scale, the sampling, or whether two batches were mixed up.",
        code=code,
    )


def draw(it: Beside) -> Drawing:
    """Colour over loss. Lighter is up, whichever way the scale runs."""
    step, odd = it.scale.step / 100, {one.index for one in it.doubts}
    values = [point.value for point in it.points]
    ends = reach(it.losses, 0.05)
    edges: list[tuple[float, float, float]] = []
    if it.clear:
        line, low = it.witness.line, ends[0]
        for no in range(EDGE + 1):
            at = low + (ends[1] - low) * no / EDGE
            edges.append((at, *line.next_at(at)))
        # The line is drawn where it was seen, and the paper made for it: one odd loss does not stretch the picture.
        edges = [edge for edge in edges if line.low - 0.05 <= edge[0] <= line.high + 0.05] or edges
        values += [end for _at, *pair in edges for end in pair]
    x = Axis(ends, LEFT, RIGHT, 1, 0.1)
    y = Axis(reach(values, step), BOTTOM, TOP, it.scale.lighter, step)
    dots = [
        Dot(x.at(loss), y.at(point.value), no in odd, point.code, label(it, no),
            url_for("bench.result", batch_id=point.batch_id))
        for no, (loss, point) in enumerate(zip(it.losses, it.points, strict=True))
    ]  # fmt: skip
    if not edges:
        return Drawing(x, y, dots, None, "")
    line, first, last = it.witness.line, edges[0][0], edges[-1][0]
    there = [(x.at(at), y.at(low)) for at, low, _high in edges]
    back = [(x.at(at), y.at(high)) for at, _low, high in reversed(edges)]
    path = "M" + "L".join(f"{a} {b}" for a, b in there + back) + "Z"
    return Drawing(x, y, dots, (x.at(first), y.at(line.at(first)), x.at(last), y.at(line.at(last))), path)


def label(it: Beside, no: int) -> str:
    """What a dot says."""
    code, when, loss, value = one_of(it, no)
    return _("%(code)s, %(day)s: loss %(loss)s %%, %(value)s", code=code, day=when, loss=loss, value=value)


def one_of(it: Beside, no: int) -> tuple[str, str, str, str]:
    """(code, day, loss, value) of a batch as text."""
    point = it.points[no]
    loss = show_value(it.losses[no], 0.1, decimal_mark())
    value = show_value(point.value, it.scale.step / 100, decimal_mark())
    return point.code, words.day_of_time(point.roasted_at), loss, value


def numbers(it: Beside) -> list[tuple[str, ...]]:
    """(url, code, day, loss, value, what belongs to the loss, '1' if they disagree) of each batch, newest first."""
    odd, found = {one.index for one in it.doubts}, []
    for no in reversed(range(len(it.points))):
        url = url_for("bench.result", batch_id=it.points[no].batch_id)
        fits = ""
        if it.clear:
            fits = show_value(it.witness.line.at(it.losses[no]), it.scale.step / 100, decimal_mark())
        found.append((url, *one_of(it, no), fits, "1" if no in odd else ""))
    return found
