"""Pages that were worked out before, for as long as nothing has been written since.

The stamp is the newest line of the ledger: every write adds one, in the transaction that writes, and its hash names all
that was written up to it. It is read from the file before the page is worked out, by each worker and for each request.
So no worker can show what another one has changed: with the change comes another stamp. What is written while a page is
worked out moves the stamp on, and the page is kept under one that is never asked for again. Only what follows from the
file, the address and the language may be kept: nothing of who asks, or of the day.
"""

from __future__ import annotations

import os
import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import TypeVar

from flask import current_app, request
from flask_babel import get_locale
from sqlite_utils import Database

from webapp.store import ledger

MOST_POINTS = 20_000
"""So many batches the pages may have together: about a kilobyte each."""

PICTURES = 250
"""What a page's two pictures take of the memory, in batches."""

Made = TypeVar("Made")
_kept: OrderedDict[tuple, tuple[object, int]] = OrderedDict()
_lock = threading.Lock()


def once(db: Database, asked: tuple, make: Callable[[], Made], points: Callable[[Made], int]) -> Made:
    """What ``make`` gives for what was ``asked``: made now, or as it was made since the last write.

    points: how many batches it has, which is what it takes of the memory.
    """
    stamp = stamp_of(db)
    key = (stamp, str(get_locale()), request.script_root, asked)
    with _lock:
        if key in _kept:
            _kept.move_to_end(key)
            return _kept[key][0]
    made = make()
    with _lock:
        for old in [one for one in _kept if one[0] != stamp]:
            del _kept[old]
        _kept[key] = made, points(made) + PICTURES
        while len(_kept) > 1 and sum(size for _made, size in _kept.values()) > MOST_POINTS:
            _kept.popitem(last=False)
    return made


def stamp_of(db: Database) -> tuple:
    """Which file this is, and up to where it is written."""
    path = current_app.config["DATABASE"]
    found = os.stat(path)
    return (str(path), found.st_dev, found.st_ino, *ledger.head(db))
