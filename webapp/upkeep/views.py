"""The page of the server's state, for a lead."""

from __future__ import annotations

from flask import Blueprint, g, render_template

from webapp.db import get_db
from webapp.ui.access import open_to
from webapp.upkeep import state
from webapp.upkeep.commands import place
from webapp.upkeep.words import said_of

upkeep_pages = Blueprint("upkeep", __name__)


@upkeep_pages.get("/status")
@open_to("lead")
def status():
    """How the server is, and what to do about it."""
    lines = [(line, said_of(line)) for line in state.gather(get_db(), place(), g.now)]
    count, newest = state.head_of(get_db())
    return render_template("upkeep/status.html", lines=lines, count=count, newest=newest)
