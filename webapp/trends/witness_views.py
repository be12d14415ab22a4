"""Roast loss against colour: the second witness of a product."""

from __future__ import annotations

from flask import render_template, request

from webapp.db import get_db
from webapp.store import products
from webapp.trends import witness
from webapp.trends.blueprint import trends
from webapp.ui.access import open_to


@trends.get("/trends/<uuid:product_id>/witness")
@open_to("trainee")
def against_loss(product_id):
    """Which batches' loss and colour disagree."""
    db = get_db()
    there = products.get_product(db, str(product_id))
    page = witness.make(db, there, request.args.get("machine"), request.args.get("kind"))
    return render_template("trends/witness.html", product=there, page=page)
