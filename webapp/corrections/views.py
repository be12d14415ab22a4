"""Corrections: a reading, a sample's batch, a batch's facts. The old stays in sight, with who, when and why."""

from __future__ import annotations

import uuid

from flask import Blueprint, abort, g, redirect, render_template, request, url_for

from webapp.corrections.facts import correct_facts, facts_form
from webapp.corrections.forms import ReadingForm
from webapp.corrections.moving import move as moved
from webapp.corrections.moving import move_form, only_looking
from webapp.corrections.readings import corrected_value, find_reading
from webapp.db import get_db
from webapp.store import batches, samples
from webapp.store import corrections as reading_corrections
from webapp.ui.access import open_to, who

corrections = Blueprint("corrections", __name__)


@corrections.route("/samples/<uuid:sample_id>/<int:fill_no>/<int:reading_no>/correct", methods=["GET", "POST"])
@open_to("roaster")
def correct(sample_id: uuid.UUID, fill_no: int, reading_no: int):
    """Correct a stored reading: the old one stays visible."""
    db = get_db()
    sample = samples.get_sample(db, str(sample_id))
    reading = find_reading(sample, fill_no, reading_no)
    if reading is None:
        abort(404)
    form = ReadingForm(id=str(uuid.uuid4()))
    if request.method == "POST" and form.validate():
        value = corrected_value(form, sample)
        if not form.value.errors:
            reading_corrections.add_correction(
                db, form.id.data, sample.id, fill_no, reading_no, value, form.reason.data, who(), g.now
            )
            return redirect(url_for("bench.batch", batch_id=sample.batch_id), code=303)
    batch = batches.get_batch(db, sample.batch_id)
    shown = {"form": form, "sample": sample, "reading": reading, "batch": batch}
    return render_template("corrections/correct.html", **shown), 422 if form.errors else 200


@corrections.route("/samples/<uuid:sample_id>/move", methods=["GET", "POST"])
@open_to("roaster")
def move(sample_id: uuid.UUID):
    """Move a sample to the batch that it was really read of."""
    db = get_db()
    sample = samples.get_sample(db, str(sample_id))
    form, offered = move_form(db, sample)
    cautions = []
    if request.method == "POST" and not only_looking() and form.validate():
        cautions = moved(db, form, sample, who(), g.now)
        if cautions is None:
            return redirect(url_for("bench.result", batch_id=form.batch.data), code=303)
    batch = batches.get_batch(db, sample.batch_id)
    shown = {"form": form, "sample": sample, "batch": batch, "offered": offered, "cautions": cautions}
    return render_template("corrections/move.html", **shown), 422 if form.errors or cautions else 200


@corrections.route("/batches/<uuid:batch_id>/facts", methods=["GET", "POST"])
@open_to("roaster")
def facts(batch_id: uuid.UUID):
    """Correct what was written down of a batch."""
    db = get_db()
    batch = batches.get_batch(db, str(batch_id))
    form = facts_form(db, batch)
    if request.method == "POST" and form.validate() and correct_facts(db, form, batch, who(), g.now):
        return redirect(url_for("bench.batch", batch_id=batch.id), code=303)
    return render_template("corrections/facts.html", form=form, batch=batch), 422 if form.errors else 200
