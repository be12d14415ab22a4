"""The record of a batch and its copy for a customer, the sheet of a day, the sheet of a month."""

from __future__ import annotations

import uuid

from flask import Blueprint, abort, g, render_template, request, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.sheets import day as days
from webapp.sheets import fields
from webapp.sheets import month as months
from webapp.sheets import record as records
from webapp.sheets.words import printed, whole_address
from webapp.store import batches, products
from webapp.store import months as month_store
from webapp.store.months import Month
from webapp.ui.access import open_to
from webapp.ui.month_words import month_title
from webapp.ui.spans import read_span

sheets = Blueprint("sheets", __name__)


@sheets.get("/batches/<uuid:batch_id>/record")
@open_to("trainee")
def record(batch_id: uuid.UUID):
    """Everything about a batch, to read and to print."""
    sheet = records.make(get_db(), str(batch_id), fields.EVERYTHING, address_of(batch_id))
    return render_template("sheets/record.html", sheet=sheet, printed=printed())


@sheets.get("/batches/<uuid:batch_id>/record/choose")
@open_to("roaster")
def choose(batch_id: uuid.UUID):
    """What a copy for a customer shows."""
    batch = batches.get_batch(get_db(), str(batch_id))
    return render_template(
        "sheets/choose.html", title=_("A copy for a customer"), words=fields.words(fields.RECORD),
        about=f"{batch.product_name} · {batch.code}", back=url_for("sheets.record", batch_id=batch_id),
        action=url_for("sheets.copy", batch_id=batch_id),
        choice=fields.read(request.args, fields.RECORD, fields.RECORD_USUAL),
    )  # fmt: skip


@sheets.get("/batches/<uuid:batch_id>/record/copy")
@open_to("roaster")
def copy(batch_id: uuid.UUID):
    """The record with the chosen fields alone."""
    choice = fields.read(request.args, fields.RECORD, fields.RECORD_USUAL)
    sheet = records.make(get_db(), str(batch_id), choice, address_of(batch_id))
    return render_template("sheets/copy.html", sheet=sheet, choice=choice, printed=printed("names" in choice))


@sheets.get("/days/<day>/sheet")
@open_to("trainee")
def day(day: str):
    """A day, for the shift that takes over."""
    if read_span(day, "").since != day:
        abort(404)
    return render_template("sheets/day.html", page=days.make(get_db(), day), printed=printed())


@sheets.get("/products/<uuid:product_id>/months/<month>/sheet")
@open_to("roaster")
def month(product_id: uuid.UUID, month: str):
    """A month of a product, for a customer."""
    product, choice = products.get_product(get_db(), str(product_id)), month_choice()
    page = months.make(get_db(), product, month_asked(month), choice)
    return render_template(
        "sheets/month.html", page=page, product=product, month=month, choice=choice, printed=printed(named=False)
    )  # fmt: skip


@sheets.get("/products/<uuid:product_id>/months/<month>/sheet/choose")
@open_to("roaster")
def choose_month(product_id: uuid.UUID, month: str):
    """What a month's sheet shows of each batch."""
    product, asked = products.get_product(get_db(), str(product_id)), month_asked(month)
    return render_template(
        "sheets/choose.html", title=_("A month for a customer"), words=fields.words(fields.MONTH),
        about=f"{product.name} · {month_title(asked.name)}", choice=month_choice(),
        back=url_for("trends.month", product_id=product_id, month=month),
        action=url_for("sheets.month", product_id=product_id, month=month),
    )  # fmt: skip


def month_choice() -> fields.Choice:
    """The fields of a month's list, from the address."""
    return fields.read(request.args, fields.MONTH, fields.MONTH_USUAL)


def month_asked(month: str) -> Month:
    """The month of an address; 404 if it is none."""
    return month_store.month_of(month, g.site.time_zone) or abort(404)


def address_of(batch_id: uuid.UUID) -> str:
    """Where the record is to be found, for its QR code."""
    return whole_address(url_for("sheets.record", batch_id=batch_id))
