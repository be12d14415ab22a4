"""A band from history."""

from __future__ import annotations

from collections.abc import Iterable

from flask import g, render_template, request

from webapp.db import get_db
from webapp.store import products, trend_states
from webapp.store import trends as store
from webapp.trends import band, band_page
from webapp.trends.blueprint import trends
from webapp.ui.access import open_to


def pairs(numbers: Iterable[int]) -> list[tuple[int, int]]:
    """What is offered, as value and text."""
    return [(number, number) for number in numbers]


@trends.get("/trends/<uuid:product_id>/<any(whole, ground, difference):kind>/band")
@open_to("roaster")
def band_from_history(product_id, kind: str):
    """Reference batches, the band that they give, and what it would have meant. Nothing is changed here."""
    db = get_db()
    there, choice = products.get_product(db, str(product_id)), band.read(request.args, g.site.time_zone)
    found = band.gather(db, there, kind, choice)
    return render_template(
        "trends/band.html", product=there, kind=kind, found=found, page=band_page.make(found, there, kind),
        asked=choice.asked, choice=choice, shares=pairs(band.SHARES), sizes=pairs(band.SIZES),
        choices=store.get_choices(db, there.id, kind), kinds=tuple(trend_states.states_of(db, there.id)),
    ), 400 if choice.asked.problems else 200  # fmt: skip
