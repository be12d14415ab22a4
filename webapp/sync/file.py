"""A file of waiting records, as a tablet saves it (static/js/offline/transfer.mjs): read on the server itself."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from datetime import datetime

from sqlite_utils import Database

from webapp.sync import service
from webapp.sync.service import Sender
from webapp.ui.tablet_records import NEEDS_PERSON, Registry

WHAT = "drumside waiting records"


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
    """Take them in; gives an answer for each, in order. Decisions and the like stay out: only a tablet can ask for
    their person's PIN."""
    wanted = [record for record in records if not (isinstance(record, dict) and record.get("kind") in NEEDS_PERSON)]
    said = "it needs its person's PIN on a tablet"
    left = {"stored": False, "problems": [{"field": "", "message": said}]}
    answers = iter(service.take_all(db, registry, wanted, sender, now))
    for record in records:
        kind = record.get("kind") if isinstance(record, dict) else None
        if kind in NEEDS_PERSON:
            yield {"id": record["id"], "kind": kind} | left
        else:
            yield {"kind": kind} | next(answers)
