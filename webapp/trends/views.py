"""Trends: the products that have one, and the run of one product and kind."""

from __future__ import annotations

from flask import g, redirect, render_template, request, url_for

from webapp.db import get_db
from webapp.store import products, times, trend_states
from webapp.store import trends as store
from webapp.trends import (
    band_views,
    baseline_views,
    filters,
    month_views,
    note_views,
    overview,
    page,
    rule_views,
    run,
    witness_views,
    worked_out,
)
from webapp.trends import together as together_page
from webapp.trends.blueprint import trends
from webapp.ui.access import open_to

__all__ = ["band_views", "baseline_views", "month_views", "note_views", "rule_views", "trends", "witness_views"]


@trends.get("/trends")
@open_to("trainee")
def index():
    """All products, what needs attention first."""
    today = times.local_day(g.now, g.site.time_zone)
    return render_template("trends/index.html", page=overview.make(get_db(), today))


@trends.get("/trends/<uuid:product_id>")
@open_to("trainee")
def product(product_id):
    """From a product to the first kind of its trend."""
    there = products.get_product(get_db(), str(product_id))
    kind = next(iter(trend_states.states_of(get_db(), there.id)), "whole")
    return redirect(url_for("trends.trend", product_id=there.id, kind=kind), code=303)


@trends.get("/trends/<uuid:product_id>/all")
@open_to("trainee")
def together(product_id):
    """All kinds of a product along one axis."""
    db = get_db()
    there = products.get_product(db, str(product_id))
    asked = filters.read(request.args, g.site.time_zone)
    wanted = store.Wanted() if asked.problems else asked.wanted

    def make():
        shown = together_page.make(db, there, wanted, asked.most)
        return shown, store.get_all_choices(db, there.id), tuple(trend_states.states_of(db, there.id))

    asks = (there.id, "all", wanted, asked.most)
    shown, choices, kinds = worked_out.once(db, asks, make, lambda made: 3 * len(made[0].points))
    return render_template(
        "trends/together.html", product=there, kind="all", page=shown, asked=asked, sizes=filters.SHOWN,
        choices=choices, kinds=kinds,
    ), 400 if asked.problems else 200  # fmt: skip


@trends.get("/trends/<uuid:product_id>/<any(whole, ground, difference):kind>")
@open_to("trainee")
def trend(product_id, kind: str):
    """The run of a product: chart, signals, advice, numbers."""
    db = get_db()
    there = products.get_product(db, str(product_id))
    asked = filters.read(request.args, g.site.time_zone)
    wanted = store.Wanted() if asked.problems else asked.wanted

    def make():
        shown = page.make(run.look_at(db, there.id, kind, wanted, asked.most), there, kind, asked.args)
        return shown, store.get_choices(db, there.id, kind), tuple(trend_states.states_of(db, there.id))

    asks = (there.id, kind, wanted, asked.most, tuple(asked.args.items()))
    shown, choices, kinds = worked_out.once(db, asks, make, lambda made: len(made[0].it.trend.points))
    return render_template(
        "trends/trend.html", product=there, kind=kind, page=shown, asked=asked, sizes=filters.SHOWN,
        choices=choices, kinds=kinds,
    ), 400 if asked.problems else 200  # fmt: skip
