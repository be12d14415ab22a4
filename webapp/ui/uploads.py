"""A form with a file: how much it may bring, and a page, not a broken line, where it brings more."""

from __future__ import annotations

from flask import render_template, request
from flask_babel import gettext as _

# A browser shows an answer only when it has got rid of what it is sending.
MOST_DRAINED = 256 * 1000 * 1000
PIECE = 1 << 18


def let_in(most: int):
    """Let the form be read up to so many bytes; None. What says that it is larger is answered with a page, after what
    it sends was taken off the line and thrown away."""
    request.max_content_length = most
    if (request.content_length or 0) <= most:
        return None
    drain(request.content_length)
    hint = _("At most %(most)d MB can be sent at once, and this is %(size)d MB. Nothing was stored. Send it in parts.",
             most=most // 1_000_000, size=request.content_length // 1_000_000)  # fmt: skip
    return render_template("errors/error.html", title=_("That file is too large"), hint=hint, code=413), 413


def drain(size: int) -> None:
    """Read what is being sent, and keep nothing of it."""
    left = min(size, MOST_DRAINED)
    while left > 0:
        piece = request.environ["wsgi.input"].read(min(PIECE, left))
        if not piece:
            return
        left -= len(piece)
