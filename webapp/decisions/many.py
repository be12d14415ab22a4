"""Releasing several batches at once: each its own decision, judged here and now, all of them or none."""

from __future__ import annotations

import uuid
from datetime import datetime

from flask_babel import gettext as _
from sqlite_utils import Database
from werkzeug.datastructures import MultiDict

from webapp.store import batches, decisions, results
from webapp.store.connect import write
from webapp.store.errors import NotFound
from webapp.store.who import Who
from webapp.store.who_decides import may_decide
from webapp.ui import decision_words

MOST = 100


def asked(form: MultiDict) -> dict[str, str]:
    """batch id -> id of its decision: of the one whose button was tapped, else of all that are ticked."""
    ticked = form.getlist("one") or form.getlist("batch")
    pairs = (text.split(" ") for text in ticked[:MOST])
    return {pair[0]: pair[1] for pair in pairs if len(pair) == 2 and all(map(is_id, pair))}


def is_id(text: str) -> bool:
    """Whether it is a record's id as we write them."""
    try:
        return str(uuid.UUID(text)) == text
    except ValueError:
        return False


def release(db: Database, form: MultiDict, who: Who, now: datetime) -> list[str]:
    """Release what was asked for, in one transaction; else what keeps it from being released, nothing being stored."""
    wanted = asked(form)
    if not wanted:
        return [_("Tick the batches that you release.")]
    with write(db):
        new = {b: d for b, d in wanted.items() if not decisions.find_decision(db, d)}
        problems = [said for batch_id in new if (said := problem(db, batch_id, who))]
        for batch_id, decision_id in {} if problems else wanted.items():
            decisions.add_decision(db, decision_id, batch_id, "release", "", who, now)
    return problems


def problem(db: Database, batch_id: str, who: Who) -> str:
    """Why a batch cannot be released as it stands, or ""."""
    try:
        code = batches.get_batch(db, batch_id).code
    except NotFound:
        return _("One of these batches is not there.")
    last = decisions.last_decision(db, batch_id)
    if last is not None and not last.reread:
        return _("%(code)s: %(said)s", code=code, said=decision_words.said(last))
    if "release" not in may_decide(who.role, results.get_batch_result(db, batch_id), last):
        return _("%(code)s: as it stands now, it cannot simply be released. Open it.", code=code)
    return ""
