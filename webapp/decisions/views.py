"""What waits for a decision, and deciding."""

from __future__ import annotations

import uuid

from flask import Blueprint, g, jsonify, redirect, render_template, request, url_for

from webapp.db import get_db
from webapp.decisions import deciding, many, page
from webapp.store import batches
from webapp.store import decisions as stored
from webapp.ui.access import ask_for_pin, open_to, who
from webapp.ui.decision_form import DecisionForm, blank_form

decisions = Blueprint("decisions", __name__)

WHATS = "any(release, hold, remeasure, reject, concession):what"


@decisions.get("/decisions")
@open_to("trainee")
def waiting():
    """Everything that waits for somebody, oldest first; and what is in band and not released yet."""
    return render_template("decisions/waiting.html", **page.waiting_page(get_db()))


@decisions.post("/decisions/release")
@open_to("roaster")
def release():
    """Release one or several batches that are in band: all of them, or none."""
    problems = many.release(get_db(), request.form, who(), g.now)
    if problems:
        ticked = set(many.asked(request.form))
        shown = page.waiting_page(get_db(), problems=problems, ticked=ticked)
        return render_template("decisions/waiting.html", **shown), 422
    return redirect(url_for("decisions.waiting", released=len(many.asked(request.form))) + "#ready", code=303)


@decisions.post("/batches/<uuid:batch_id>/decision")
@open_to("roaster")
def decide(batch_id: uuid.UUID):
    """Release, hold, have it read again, reject, or release by concession."""
    db, form = get_db(), DecisionForm()
    batch = batches.get_batch(db, str(batch_id))
    answer = deciding.decide(db, form, batch.id, who(), g.session.confirmed, g.now)
    if answer.pin:
        return ask_for_pin("confirm")
    if answer.stored:
        return redirect(url_for("bench.result", batch_id=batch.id), code=303)
    shown = page.reason_page(db, form, batch) | {"overtaken": answer.overtaken, "may": answer.may}
    return render_template("decisions/reason.html", **shown), 409 if answer.overtaken else 422


@decisions.get(f"/batches/<uuid:batch_id>/decision/<{WHATS}>")
@open_to("roaster")
def reason(batch_id: uuid.UUID, what: str):
    """Ask for the reason of a decision."""
    db = get_db()
    batch = batches.get_batch(db, str(batch_id))
    form = blank_form(what, stored.last_decision(db, batch.id))
    return render_template("decisions/reason.html", **page.reason_page(db, form, batch))


@decisions.get("/decisions/newest/<uuid:batch_id>")
@open_to("roaster", quiet=True)
def newest(batch_id: uuid.UUID):
    """The newest decision on a batch, for a form that asks whether it has seen it; JSON."""
    db = get_db()
    last = stored.last_decision(db, batches.get_batch(db, str(batch_id)).id)
    return jsonify(newest=last.id if last else "")
