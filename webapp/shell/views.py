"""The two pages that every tablet keeps: the shell, and the page that says that the server cannot be reached."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace

from flask import Blueprint, Response, current_app, g, render_template, url_for

from webapp.shell import stand_ins
from webapp.shell.scripts import modules
from webapp.shell.words import words
from webapp.store.results import KINDS
from webapp.ui.access import open_to

shell_pages = Blueprint("shell", __name__)

# What the shell starts, whichever page it then shows.
SCRIPTS = (
    "app.mjs", "offline/shell.mjs", "offline/corner.mjs", "people/idle-lock.mjs", "bench/new-batch.mjs",
    "bench/capture.mjs",
)  # fmt: skip
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


@shell_pages.get("/offline")
@open_to("anyone")
def offline() -> Response:
    """In place of a page that only the server can make."""
    return kept(content("offline"))


def content(name: str) -> str:
    """The page's text: the same for everybody, whoever asks for it, and without a form token."""
    asked_by = g.session, g.tablet, g.site
    g.session = g.tablet = g.site = None
    try:
        return {"shell": shell_text, "offline": offline_text}[name]()
    finally:
        g.session, g.tablet, g.site = asked_by


def shell_text() -> str:
    """See templates/sync/shell.html."""
    return render_template(
        "sync/shell.html",
        pages=stand_ins.pages(),
        how=stand_ins.how_views(),
        how_target=SimpleNamespace(rule="guarded", confidence=0.8),
        shapes=SHAPES,
        kinds=KINDS,
        words=json.dumps(words(), ensure_ascii=False),
        pictures=url_for("static", filename="pictures/"),
        modules=modules(Path(current_app.static_folder) / "js", *SCRIPTS),
    )


def offline_text() -> str:
    """See templates/sync/offline.html."""
    return render_template("sync/offline.html")


def kept(text: str) -> Response:
    """Anybody may keep it; a browser asks whether it is still the one."""
    response = Response(text)
    response.headers["Cache-Control"] = "no-cache"
    return response
