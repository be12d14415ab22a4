"""What a program is told when its request is refused: problem details (RFC 9457), never a page and never a redirect."""

from __future__ import annotations

from collections.abc import Mapping

from flask import Response, json, request

ROOT = "/api"
TITLES = {
    400: "The request is not understood", 401: "A key is needed", 404: "There is nothing here",
    405: "Only GET and HEAD are answered here", 500: "Something broke",
}  # fmt: skip
DETAILS = {
    404: "The record or the address does not exist. /api/v1/openapi.json lists what does.",
    405: "This interface reads; nothing is changed through it.",
    500: "It is a fault of ours, and in the log. Nothing was changed.",
}


def wanted() -> bool:
    """Whether the answer to this request goes to a program that reads."""
    return request.path == ROOT or request.path.startswith(f"{ROOT}/")


def problem(
    code: int, detail: str | None = None, headers: Mapping[str, str] | None = None, **more: object
) -> Response:
    """The refusal; `type` is about:blank, which says that the title goes with the status."""
    body = {"type": "about:blank", "title": TITLES.get(code, "The request was refused"), "status": code}
    if detail or code in DETAILS:
        body["detail"] = detail or DETAILS[code]
    return Response(json.dumps(body | more), code, mimetype="application/problem+json", headers=headers)
