"""One database connection per thread, opened after the workers were forked and kept for the thread's life.

Kept, because closing the last connection makes SQLite fold the journal into the file and delete it: every request
would pay for it again. A connection never crosses a thread or a fork.
"""

from __future__ import annotations

import os
import threading

from flask import current_app, g
from sqlite_utils import Database

from webapp.store import connect

_here = threading.local()


def get_db() -> Database:
    """This thread's connection to the database as it lies on the disk now (a restored file is another one)."""
    if "db" not in g:
        path = current_app.config["DATABASE"]
        stat = os.stat(path)
        which = (os.getpid(), str(path), stat.st_dev, stat.st_ino)
        if getattr(_here, "which", None) != which:
            forget()
            _here.db, _here.which = connect.connect(path), which
        g.db = _here.db
    return g.db


def forget() -> None:
    """Close this thread's connection, if it has one of this process."""
    opened, which = getattr(_here, "db", None), getattr(_here, "which", None)
    _here.db = _here.which = None
    if opened is not None and which[0] == os.getpid():
        opened.close()


def leave_db(_error: BaseException | None = None) -> None:
    """At the request's end nothing may be left open in it."""
    db = g.pop("db", None)
    if db is not None and db.conn.in_transaction:
        db.conn.execute("ROLLBACK")
