"""One database connection per request, opened after the workers were forked and closed with the request."""

from __future__ import annotations

from flask import current_app, g
from sqlite_utils import Database

from webapp.store import connect


def get_db() -> Database:
    """This request's connection."""
    if "db" not in g:
        g.db = connect.connect(current_app.config["DATABASE"])
    return g.db


def close_db(_error: BaseException | None = None) -> None:
    """Close it at the request's end."""
    db = g.pop("db", None)
    if db is not None:
        db.close()
