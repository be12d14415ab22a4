"""Month by month: the table of a kind, and the report of a month of a product."""

from __future__ import annotations

from flask import abort, g, render_template

from webapp.db import get_db
from webapp.store import kind_months, products, trend_states
from webapp.store import months as store
from webapp.store.times import to_text
from webapp.trends import month as report
from webapp.trends.blueprint import trends
from webapp.ui.access import open_to
from webapp.ui.filters import day_and_clock
from webapp.ui.month_words import month_title


@trends.get("/trends/<uuid:product_id>/<any(whole, ground, difference):kind>/months")
@open_to("trainee")
def by_month(product_id, kind: str):
    """Share in band, capability and signals of each month."""
    db = get_db()
    there = products.get_product(db, str(product_id))
    rows = []
    for name, _batches in store.list_months(db, there.id):
        if found := kind_months.look(db, there.id, kind, store.month_of(name, g.site.time_zone)):
            rows.append((name, month_title(name), report.line(db, found), len(found.signals)))
    kinds = tuple(trend_states.states_of(db, there.id))
    return render_template("trends/months.html", product=there, kind=kind, rows=rows, kinds=kinds)


@trends.get("/trends/<uuid:product_id>/month/<month>")
@open_to("trainee")
def month(product_id, month: str):
    """The report of one month, one sheet of paper."""
    db = get_db()
    there, asked = products.get_product(db, str(product_id)), store.month_of(month, g.site.time_zone)
    if asked is None:
        abort(404)
    page, now = report.make(db, there, asked), day_and_clock(to_text(g.now))
    return render_template("trends/month.html", product=there, page=page, month=asked.name, now_text=now)
