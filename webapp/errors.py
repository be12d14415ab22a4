"""What went wrong, as a page in plain words. One table from the store's errors to HTTP."""

from __future__ import annotations

from flask import Flask, Response, make_response, render_template
from flask_babel import gettext as _
from flask_wtf.csrf import CSRFError
from werkzeug.exceptions import HTTPException, MethodNotAllowed, SecurityError

from webapp.store.errors import AlreadyThere, NotFound
from webapp.ui import as_json, problems

STORE_ERRORS = {NotFound: 404, AlreadyThere: 409}


def words(code: int) -> tuple[str, str]:
    """(title, what to do) for a status code."""
    known = {
        400: (
            _("That did not work"),
            _("The form came back in a shape we cannot read. Go back and try once more."),
        ),
        403: (_("That is not yours to do"), _("Ask a lead, or change person in the top corner.")),
        404: (_("There is nothing here"), _("The page or record does not exist. Go back to the day strip.")),
        405: (_("That did not work"), _("This address takes no such request. Go back to the day strip.")),
        409: (
            _("Stored already, with other content"),
            _("Nothing was overwritten. Open the batch to see what is stored."),
        ),
        413: (_("That was too much at once"), _("Nothing was stored. Shorten the text and send it again.")),
    }
    return known.get(code, (_("Something broke"), _("Nothing was lost that was stored. Go back and try once more.")))


def page(code: int, *, title: str | None = None, hint: str | None = None):
    """The error page with its status; for what only a script or a program asks, JSON."""
    if problems.wanted():
        return problems.problem(code)
    if as_json.wanted():
        return as_json.refusal(code)
    standard_title, standard_hint = words(code)
    return (
        render_template("errors/error.html", code=code, title=title or standard_title, hint=hint or standard_hint),
        code,
    )


def init_app(app: Flask) -> None:
    """Register the handlers."""

    @app.errorhandler(CSRFError)
    def stale_form(_error: CSRFError):
        return page(
            400,
            title=_("This form is too old to send"),
            hint=_("Go back, load the page again, and send it once more. What you typed is still on the page before."),
        )

    @app.errorhandler(SecurityError)
    def another_host(_error: SecurityError):
        # Asked for under a name that is not this server's (TRUSTED_HOSTS): there is no address to build a page with.
        if problems.wanted():
            return problems.problem(400, _("This server does not answer to that name."))
        if as_json.wanted():
            return as_json.refusal(400)
        return Response(_("This server does not answer to that name."), 400, mimetype="text/plain")

    @app.errorhandler(HTTPException)
    def http_error(error: HTTPException):
        if error.code is None or error.code < 400:
            return error
        response = make_response(page(error.code))
        if isinstance(error, MethodNotAllowed) and error.valid_methods:
            response.headers["Allow"] = ", ".join(sorted(error.valid_methods))
        return response

    for kind, code in STORE_ERRORS.items():
        app.register_error_handler(kind, lambda _error, code=code: page(code))

    @app.errorhandler(500)
    def broken(_error: Exception):
        return page(500)
