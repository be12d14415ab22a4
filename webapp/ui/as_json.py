"""Addresses that a tablet's script asks: they answer JSON whatever happens, never a page and never a redirect.

A tablet drops a record from its outbox only on a JSON answer that names it; a sign-in page with status 200 must not
look like one. The path decides, so that this also holds where no view was found.
"""

from __future__ import annotations

from flask import Response, jsonify, request

PATHS = ("/records", "/kit", "/csrf")
BELOW = ("/records/", "/kit/", "/csrf/", "/claims/", "/decisions/newest/")
ERRORS = {400: "bad_request", 403: "refused", 404: "not_found", 405: "not_allowed", 413: "too_large"}


def wanted() -> bool:
    """Whether the answer to this request has to be JSON."""
    return request.path in PATHS or request.path.startswith(BELOW)


def refusal(code: int, error: str | None = None, **more: object) -> Response:
    """{"error": code word, ...} with its status; the word is for a program, `message` in `more` for a person."""
    response = jsonify(error=error or ERRORS.get(code, "broken"), **more)
    response.status_code = code
    return response
