"""The door for programs: a key in the Authorization header, and nothing else, opens what is marked `program`."""

from __future__ import annotations

import threading
from collections import Counter

from flask import Response, g, request

from webapp.db import get_db
from webapp.store import api_tokens
from webapp.ui.problems import problem

CHALLENGE = 'Bearer realm="Drumside"'
# What this process has counted and not written down yet: key -> requests.
_counted: Counter[str] = Counter()
_lock = threading.Lock()


def refusal() -> Response | None:
    """None where the request carries a key in force (RFC 6750, 2.1); else what to answer.

    A tablet's cookies count for nothing here: a page elsewhere that makes a browser ask gets a refusal. A key in the
    address would stand in every log on its way, so there is no such parameter.
    """
    sent = request.headers.getlist("Authorization")
    kind, _blank, text = sent[0].partition(" ") if len(sent) == 1 else ("", "", "")
    if kind.lower() != "bearer" or not text.strip():
        return _ask("Send a key as: Authorization: Bearer KEY. A lead makes one at /people/keys.", CHALLENGE)
    key = api_tokens.find_key(get_db(), text.strip())
    if key is None:
        return _ask("This key is not known, or it was revoked.", f'{CHALLENGE}, error="invalid_token"')
    _count(key)
    return None


def _ask(detail: str, challenge: str) -> Response:
    return problem(401, detail, {"WWW-Authenticate": challenge})


def _count(key: api_tokens.Holder) -> None:
    """One more request; what was counted is written down once a minute."""
    with _lock:
        _counted[key.id] += 1
        if not api_tokens.use_is_due(key, g.now):
            return
        requests = _counted.pop(key.id)
    if not api_tokens.note_use(get_db(), key.id, requests, g.now):
        with _lock:
            _counted[key.id] += requests
