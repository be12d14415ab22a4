"""Who may knock: a POST from this app's own script, on this site, with a living form token, of a sensible size.

Each missing piece is refused alone, as JSON with its own word. Another site's page cannot send any of the three: a
form has no JSON, a foreign script may set no header of ours, and browsers say themselves where a request comes from.
"""

from __future__ import annotations

import json
from urllib.parse import urlsplit

from flask import abort, current_app, request
from flask_wtf.csrf import validate_csrf
from werkzeug.exceptions import RequestEntityTooLarge
from wtforms.validators import ValidationError

from webapp.ui import as_json

MOST_DRAINED = 4 * 1024 * 1024


def read_json() -> object:
    """The body of a POST that may come in; everything else ends here with a JSON refusal."""
    if request.mimetype != "application/json":
        refuse(403, "content_type")
    if not from_this_site():
        refuse(403, "origin")
    token = request.headers.get("X-CSRFToken", "")
    if not token:
        refuse(403, "csrf_missing")
    if not token_is_good(token):
        refuse(400, "csrf_stale")
    try:
        return json.loads(body().decode())
    except (ValueError, RecursionError):
        refuse(400, "bad_json")


def body() -> bytes:
    """The body. What is too large is refused, after it has come in as far as is reasonable.

    Left unread, it would break the connection before the answer is seen: the tablet would take it for no network, and
    try the same again instead of sending less at once.
    """
    try:
        return request.get_data(cache=False)
    except RequestEntityTooLarge:
        request.environ["wsgi.input"].read(MOST_DRAINED)
        refuse(413, "too_large")


def from_this_site() -> bool:
    """As the browser says; an older one says only from which host."""
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site == "same-origin"
    origin = request.headers.get("Origin", "")
    return bool(origin) and urlsplit(origin).netloc == request.host


def token_is_good(token: str) -> bool:
    """Whether the form token is of this browser's session. Tests may switch tokens off as a whole."""
    if not current_app.config.get("WTF_CSRF_ENABLED", True):
        return True
    try:
        validate_csrf(token)
    except ValidationError:
        return False
    return True


def refuse(code: int, error: str) -> None:
    """End the request here."""
    abort(as_json.refusal(code, error))
