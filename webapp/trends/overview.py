"""All products on one page, what needs attention first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from flask import url_for
from flask_babel import format_date, ngettext
from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.store import products, standings, waiting
from webapp.store.products import Product
from webapp.store.standings import Stand
from webapp.store.waiting import Waiting
from webapp.ui import trend_words
from webapp.ui.verdict_words import kind_word

NO_ID = "00000000-0000-0000-0000-000000000000"


@dataclass(frozen=True)
class Kind:
    """A kind with the way to its trend. share: of its batches in band as text, "" without a band; label: all of it in
    words."""

    kind: str
    look: str
    share: str
    url: str
    label: str


@dataclass(frozen=True)
class Line:
    """A product. look, text: the one thing to know of it; kinds; last: its newest batch with its day; waits: how many
    wait for a decision in words, "" if none does, and the address of the one that has waited longest."""

    short: str
    name: str
    active: bool
    look: str
    text: str
    kinds: tuple[Kind, ...]
    last: str
    last_day: str
    waits: str
    waits_url: str


@dataclass(frozen=True)
class Overview:
    """lines: products in use, what needs attention first; unread: names of those of which nothing was read; retired:
    those not in use any more."""

    lines: tuple[Line, ...]
    unread: tuple[str, ...]
    retired: tuple[Line, ...]


def make(db: Database, today: str) -> Overview:
    """The page as of a day of the site's calendar."""
    stands = standings.of_all(db)
    waits = waiting.by_product(db)
    there = products.list_products(db, active_only=False)
    by, made = Lines(today), []
    for product in there:
        if product.id in stands:
            of_it, waits_of_it = stands[product.id], waits.get(product.id)
            made.append((order(of_it, waits_of_it, product), product, by.line(product, of_it, waits_of_it)))
    made.sort(key=lambda one: one[0])
    return Overview(
        tuple(line for _order, product, line in made if product.active),
        tuple(product.name for product in there if product.active and product.id not in stands),
        tuple(line for _order, product, line in made if not product.active),
    )


def order(stands: Sequence[Stand], waits: Waiting | None, product: Product) -> tuple:
    """What comes first: a signal that nobody has explained, what is surely not right, what waits, what leans, what is
    known, what is steady, what is too new; among equals the larger share out of band."""
    rank = min(stand.rank for stand in stands)
    leans = max((abs(stand.state.lean or 0) for stand in stands), default=0.0)
    if rank <= 1:
        group = rank
    elif waits:
        group = 2
    elif rank == 3 and leans >= trend_words.LEANING:
        group = 3
    else:
        group = {2: 4, 3: 5, 4: 6}[rank]
    return group, -max(map(share_out, stands)), -(waits.batches if waits else 0), -leans, product.name.casefold()


def share_out(stand: Stand) -> float:
    """The share of a kind's batches that lies out of band."""
    return stand.state.outside / stand.state.judged if stand.state.judged else 0.0


class Lines:
    """Makes the lines as of a day. Addresses from one pattern: building hundreds one by one costs more."""

    def __init__(self, today: str) -> None:
        self.today = today
        self.trend = {kind: url_for("trends.trend", product_id=NO_ID, kind=kind) for kind in KINDS}
        self.result = url_for("bench.result", batch_id=NO_ID)

    def line(self, product: Product, stands: Sequence[Stand], waits: Waiting | None) -> Line:
        """One product."""
        first = min(stands, key=lambda stand: stand.rank)
        newest = max(stands, key=lambda stand: stand.state.last_roasted_at)
        return Line(
            product.short, product.name, product.active, trend_words.look_of(first), trend_words.short_words(first),
            tuple(self.kind(stand) for stand in stands), newest.last_code, day_words(newest.last_day, self.today),
            ngettext("%(num)d waits", "%(num)d wait", waits.batches) if waits else "",
            self.result.replace(NO_ID, waits.oldest_id) if waits else "",
        )  # fmt: skip

    def kind(self, stand: Stand) -> Kind:
        """One kind of it."""
        state = stand.state
        share = share_words(state.judged - state.outside, state.judged) if state.judged else ""
        in_band = _("%(share)s in band", share=share) if share else ""
        said = [f"{stand.product_name}, {kind_word(state.kind)}", in_band, trend_words.standing_words(stand).title]
        return Kind(
            state.kind, trend_words.look_of(stand), share, self.trend[state.kind].replace(NO_ID, state.product_id),
            ": ".join(filter(None, said)),
        )  # fmt: skip


KINDS = ("whole", "ground", "difference")


def share_words(inside: int, judged: int) -> str:
    """`93 %`; 100 % only where it is all of them. A share of batches, not a chance."""
    whole = 100 if inside == judged else min(99, round(100 * inside / judged))
    return f"{whole}\N{NO-BREAK SPACE}%"


def day_words(day: str, today: str) -> str:
    """`today`, or `14 May`; with the year where it is not this one."""
    if day == today:
        return _("today")
    return format_date(date.fromisoformat(day), "d MMM" if day[:4] == today[:4] else "d MMM y")
