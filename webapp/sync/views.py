"""The four addresses of a tablet that works without a network: records, kit, form token, and a PIN for a claim."""

from __future__ import annotations

import re
import uuid
from collections.abc import Mapping

from flask import Blueprint, Flask, Response, current_app, g, jsonify
from flask_babel import gettext as _
from flask_wtf.csrf import generate_csrf

from webapp.db import get_db
from webapp.store import claims, pin_guard, times
from webapp.sync import door, service
from webapp.sync.claims import TabletClaims, content
from webapp.ui import as_json
from webapp.ui.access import open_to
from webapp.ui.pin_words import pin_refused
from webapp.ui.tablet_records import Handler, Registry

MOST_RECORDS = 200

sync = Blueprint("sync", __name__)


def init_app(app: Flask, registry: Registry) -> None:
    """Keep what the features hand in; claims are sync's own."""
    handlers: Mapping[str, Handler] = {**registry.handlers, "claim": TabletClaims()}
    app.extensions["records"] = Registry(handlers, registry.kit)


# No automatic OPTIONS: its answer would be an empty page. No merged slashes: they would be a redirect.
ONLY = {"provide_automatic_options": False, "merge_slashes": False}


@sync.post("/records", **ONLY)
@open_to("trainee", quiet=True)
def take_records():
    """Take a list of records from a tablet's outbox; the answer names those that are stored."""
    body = door.read_json()
    raws = body.get("records") if isinstance(body, dict) else None
    if not isinstance(raws, list):
        return as_json.refusal(400, "no_records")
    if len(raws) > MOST_RECORDS:
        return as_json.refusal(413, "too_large", most=MOST_RECORDS)
    sender = service.Sender(g.session.person_id, g.tablet.id, g.session.confirmed)
    answers = service.take_all(get_db(), current_app.extensions["records"], raws, sender, g.now)
    return jsonify(
        stored=list(dict.fromkeys(answer["id"] for answer in answers if answer["stored"])),
        results=answers,
        build=current_app.config["BUILD"],
        now=times.to_text(g.now),
    )


@sync.get("/kit", **ONLY)
@open_to("trainee", quiet=True)
def kit() -> Response:
    """Everything that a tablet needs to go on without the server."""
    made = current_app.extensions["records"].kit(get_db(), g.now)
    own = {
        "build": current_app.config["BUILD"],
        "tablet": {"id": g.tablet.id, "name": g.tablet.name},
        "person_id": g.session.person_id,
        "claims": [content(claim) for claim in claims.open_claims(get_db(), g.tablet.id)],
    }
    return jsonify(made | own)


@sync.get("/csrf", **ONLY)
@open_to("tablet", quiet=True)
def csrf() -> Response:
    """A form token of this browser's session, to be fetched when there is something to send."""
    return jsonify(token=generate_csrf())


@sync.post("/claims/<uuid:claim_id>/confirm", **ONLY)
@open_to("tablet", quiet=True)
def confirm(claim_id: uuid.UUID):
    """The PIN of the person claimed, whoever is signed in: it was them. Counted and slowed like every PIN."""
    body = door.read_json()
    pin = body.get("pin") if isinstance(body, dict) else None
    claim = claims.get_claim(get_db(), str(claim_id))
    if not isinstance(pin, str) or not re.fullmatch("[0-9]{6}", pin):
        return as_json.refusal(422, "invalid", problems=[{"field": "pin", "message": _("A PIN has six digits.")}])
    outcome = pin_guard.check_pin(get_db(), claim.person_id, g.tablet.id, pin, g.now)
    if not outcome.ok:
        return refuse_pin(outcome, claim.person_name)
    return jsonify(content(claims.confirm_claim(get_db(), claim.id, g.tablet.id, g.now)))


def refuse_pin(outcome: pin_guard.PinOutcome, name: str) -> Response:
    """A wrong PIN, or a wait; the words are those of the PIN page."""
    wait = outcome.wait_seconds
    response = as_json.refusal(
        429 if wait else 403, "pin_wait" if wait else "pin", message=pin_refused(outcome, name),
        wait_seconds=wait, tries_left=outcome.tries_left,
    )  # fmt: skip
    if wait:
        response.headers["Retry-After"] = str(wait)
    return response
