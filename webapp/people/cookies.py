"""The two cookies: which tablet, and who is at it."""

from __future__ import annotations

from flask import Response, request

from webapp.ui.access import cookie_name, set_cookie

# The longest that browsers keep a cookie; every sign-in starts it anew.
TABLET_DAYS = 400


def set_person_cookie(response: Response, token: str) -> Response:
    """A new session's token, and the tablet's own secret for another long while."""
    set_cookie(response, "person", token, days=1)
    if secret := request.cookies.get(cookie_name("tablet")):
        set_tablet_cookie(response, secret)
    return response


def set_tablet_cookie(response: Response, secret: str) -> Response:
    """The secret that makes this browser an enrolled tablet."""
    set_cookie(response, "tablet", secret, days=TABLET_DAYS)
    return response


def end_person_cookie(response: Response) -> Response:
    """Forget who was here. The tablet stays enrolled."""
    set_cookie(response, "person", "", days=0)
    return response
