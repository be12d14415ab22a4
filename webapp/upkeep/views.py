"""The page of the server's state, for a lead."""

from __future__ import annotations

from pathlib import Path

from flask import Blueprint, Response, abort, current_app, g, render_template, request

from webapp.db import get_db
from webapp.store import ledger
from webapp.ui.access import open_to
from webapp.upkeep import certificate, state
from webapp.upkeep.commands import place
from webapp.upkeep.words import said_of

upkeep_pages = Blueprint("upkeep", __name__)


@upkeep_pages.get("/status")
@open_to("lead")
def status():
    """How the server is, and what to do about it."""
    lines = [(line, said_of(line)) for line in state.gather(get_db(), place(), g.now)]
    count, newest = ledger.head(get_db())
    return render_template("upkeep/status.html", lines=lines, count=count, newest=newest)


@upkeep_pages.get("/trust")
@open_to("anyone")
def trust():
    """How a tablet learns to trust the site's own authority. Reached before it does, so without HTTPS, too."""
    pem = authority()
    digits = certificate.fingerprint(pem) if pem else None
    secure = f"https://{request.host.partition(':')[0]}/"
    return render_template("upkeep/trust.html", fingerprint=digits, secure=secure)


@upkeep_pages.get("/trust/certificate")
@open_to("anyone")
def authority_certificate():
    """The root's certificate, for a tablet to take in. Never its key, whatever else stands in the file."""
    pem = authority()
    if pem is None or certificate.fingerprint(pem) is None:
        abort(404)
    shown = Response(certificate.first_certificate(pem.read_text()), mimetype="application/x-x509-ca-cert")
    shown.headers["Content-Disposition"] = 'attachment; filename="bench-authority.crt"'
    return shown


def authority() -> Path | None:
    """Where the authority's certificate lies, if the site has one of its own."""
    return current_app.config["AUTHORITY"]
