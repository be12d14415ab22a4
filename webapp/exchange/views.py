"""Taking data out: what, in which form, and what its columns mean."""

from __future__ import annotations

from flask import current_app, g, render_template, request
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.exchange import asked, files, import_views
from webapp.exchange.blueprint import exchange
from webapp.exchange.workbook import TooLong
from webapp.store.export_sets import SETS
from webapp.ui import meanings
from webapp.ui.access import open_to

__all__ = ["exchange", "import_views"]


@exchange.get("/export")
@open_to("lead", confirmed=True)
def choose():
    """What to take out."""
    return show(asked.read(request.args))


@exchange.get("/export/file")
@open_to("lead", confirmed=True)
def take():
    """The file."""
    wanted = asked.read(request.args)
    if wanted.problems:
        return show(wanted), 400
    try:
        return files.response(get_db(), current_app.config["DATABASE"], wanted, g.now, g.site.time_zone)
    except TooLong:
        message = _("A sheet holds a million rows, and these are more. Choose fewer days, or another kind of file.")
        return show(wanted, (("form-field", message),)), 400


@exchange.get("/export/columns")
@open_to("lead")
def columns():
    """The data dictionary."""
    return render_template(
        "exchange/columns.html", sets=SETS, what=meanings.set_words(), meanings=meanings.meanings(),
        types=meanings.type_words(),
    )  # fmt: skip


def show(wanted: asked.Asked, more: tuple[tuple[str, str], ...] = ()) -> str:
    """The form, as it was filled in."""
    return render_template(
        "exchange/choose.html", typed=wanted.typed, problems=(*wanted.problems, *more), sets=SETS,
        what=meanings.set_names(), forms=meanings.form_words(), styles=meanings.style_words(),
    )  # fmt: skip
