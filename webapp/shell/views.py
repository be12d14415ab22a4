"""The two pages that every tablet keeps: the shell, and the page that says that the server cannot be reached."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace

from flask import Blueprint, Response, current_app, g, render_template, url_for

from webapp.shell import stand_ins
from webapp.shell.scripts import modules
from webapp.shell.words import form_words, words
from webapp.store.results import KINDS
from webapp.ui.access import open_to

shell_pages = Blueprint("shell", __name__)

# What every page of the shell starts with.
SCRIPTS = ("app.mjs", "offline/shell.mjs")
# The forms that have a shell of their own, with nothing else in it, and the scripts that each begins with: what is not
# there need not be read before the form can be used.
FORMS = {"new-batch": ("bench/new-batch.mjs",), "capture": ("offline/capture-fill.mjs", "bench/capture.mjs")}
# Every state's shape: verdict, side.
SHAPES = (
    ("inside", None), ("undecided", None), ("outside", "lighter"), ("outside", "darker"), ("outside", None),
    ("incomplete", None), ("unjudged", None),
)  # fmt: skip


@shell_pages.get("/shell")
@open_to("anyone")
def shell() -> Response:
    """The page that a tablet fills by itself."""
    return kept(content("shell"))


@shell_pages.get("/shell/<any({}):only>".format(", ".join(f"'{name}'" for name in FORMS)))
@open_to("anyone")
def form(only: str) -> Response:
    """The same with one form in it."""
    return kept(content(only))


@shell_pages.get("/offline")
@open_to("anyone")
def offline() -> Response:
    """In place of a page that only the server can make."""
    return kept(content("offline"))


def addresses() -> dict[str, str]:
    """Name -> address of every page that a tablet keeps."""
    forms = {name: url_for("shell.form", only=name) for name in FORMS}
    return {"shell": url_for("shell.shell"), **forms, "offline": url_for("shell.offline")}


def content(name: str) -> str:
    """The page's text: the same for everybody, whoever asks for it, and without a form token."""
    asked_by = g.session, g.tablet, g.site
    g.session = g.tablet = g.site = None
    try:
        return offline_text() if name == "offline" else shell_text(name if name in FORMS else "")
    finally:
        g.session, g.tablet, g.site = asked_by


def shell_text(only: str = "") -> str:
    """See templates/sync/shell.html."""
    forms = stand_ins.forms()
    rest = {} if only else stand_ins.pages()
    return render_template(
        "sync/shell.html",
        only=only,
        pages={name: page for name, page in forms.items() if name in (only or name, "not-ready")} | rest,
        gauges=stand_ins.gauges(),
        how=stand_ins.how_views(),
        how_target=SimpleNamespace(rule="guarded", confidence=0.8),
        shapes=SHAPES,
        kinds=KINDS,
        words=json.dumps(form_words() if only else words(), ensure_ascii=False),
        pictures=url_for("static", filename="pictures/"),
        modules=modules(Path(current_app.static_folder) / "js", *SCRIPTS, *FORMS.get(only, ())),
    )


def offline_text() -> str:
    """See templates/sync/offline.html."""
    return render_template("sync/offline.html")


def kept(text: str) -> Response:
    """Anybody may keep it; a browser asks whether it is still the one."""
    response = Response(text)
    response.headers["Cache-Control"] = "no-cache"
    return response
