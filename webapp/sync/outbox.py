"""The page of what waits on this tablet. It comes without any content: the tablet fills it from what it keeps."""

from __future__ import annotations

from flask import Blueprint, render_template

from webapp.ui.access import open_to

outbox = Blueprint("outbox", __name__)


@outbox.get("/outbox")
@open_to("anyone")
def waiting() -> str:
    """What waits here, why, and what can be done about it. Open to anybody: a file can be saved without a PIN."""
    return render_template("sync/outbox.html")
