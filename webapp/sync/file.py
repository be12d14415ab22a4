"""A file of waiting records, as a tablet saves it (static/js/offline/transfer.mjs): read on the server itself."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from datetime import datetime

from sqlite_utils import Database

from webapp.sync import service
from webapp.sync.service import Sender
from webapp.ui.tablet_records import Registry

WHAT = "drumside waiting records"
# Kind -> why it stays out.
BY_PIN = {
    "decision": "a decision needs its person's PIN on a tablet",
    "countersignature": "a countersignature needs its person's PIN on a tablet",
}


class NotOurFile(ValueError):
    """What is wrong with the file, in words for whoever typed its name."""


def read(content: bytes) -> list[dict]:
    """The records of a file, as `POST /records` takes them. NotOurFile if it is another file, or not whole."""
    body, _newline, last = content.rstrip().rpartition(b"\n")
    body += b"\n"
    try:
        head, *lines = [json.loads(line) for line in body.splitlines()]
        end = json.loads(last)
        what, records = head["what"], [line["record"] for line in lines]
        whole = end["sha256"] == hashlib.sha256(body).hexdigest() and head["count"] == len(records)
    except (ValueError, TypeError, KeyError):
        what, whole = (WHAT, False) if WHAT.encode() in content else ("", False)
    if what != WHAT:
        raise NotOurFile("this is no file of waiting records")
    if not whole:
        raise NotOurFile("this file is not whole, or it was changed")
    return records


def take(db: Database, registry: Registry, records: list[dict], sender: Sender, now: datetime) -> Iterator[dict]:
    """Take them in; gives an answer for each, in order. What only a PIN makes somebody's own stays out (BY_PIN): only a
    tablet can ask for it."""
    wanted = [record for record in records if not (isinstance(record, dict) and record.get("kind") in BY_PIN)]
    answers = iter(service.take_all(db, registry, wanted, sender, now))
    for record in records:
        kind = record.get("kind") if isinstance(record, dict) else None
        if kind in BY_PIN:
            problems = [{"field": "", "message": BY_PIN[kind]}]
            yield {"id": record["id"], "kind": kind, "stored": False, "problems": problems}
        else:
            yield {"kind": kind} | next(answers)
