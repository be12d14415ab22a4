"""The bench's pages: start a batch, capture a sample, see the result, look at the whole record."""

from __future__ import annotations

import json
import uuid

from flask import Blueprint, abort, g, redirect, render_template, request, url_for

from webapp.bench import hands, record, service
from webapp.bench import page as pages
from webapp.bench.filling import batch_form, capture_form, make_room
from webapp.bench.forms import CorrectionForm
from webapp.db import get_db
from webapp.store import batches, corrections, new_samples, samples
from webapp.ui.access import open_to, who

bench = Blueprint("bench", __name__)


@bench.route("/batches/new", methods=["GET", "POST"])
@open_to("trainee")
def new_batch():
    """Start a batch."""
    db = get_db()
    form, ready = batch_form(db)
    if not ready:
        return render_template("bench/not_ready.html")
    if request.method == "POST" and form.validate():
        new = service.new_batch(form, db, g.now)
        if new:
            batches.add_batch(db, new, who(), g.now)
            return redirect(record.next_step(db, new.id, request.form.get("next")), code=303)
    first = json.dumps(record.first_kinds(db, [choice.value for choice in form.product.choices]))
    return render_template("bench/new_batch.html", form=form, first=first), 422 if form.errors else 200


@bench.route("/batches/<uuid:batch_id>/<any(whole, ground):kind>", methods=["GET", "POST"])
@open_to("trainee")
def capture(batch_id: uuid.UUID, kind: str):
    """Prepare and read one sample."""
    db = get_db()
    batch = batches.get_batch(db, str(batch_id))
    page = pages.gather(db, batch, kind, request.values.get("meter"), request.values.get("method"), g.now)
    if page is None:
        return render_template("bench/not_ready.html")
    if began := request.args.get("version"):
        page = pages.with_version(db, page, began)
    form, problems = capture_form(page), []
    walk = hands.must_walk(db, g.session.person_id, g.session.role, kind, g.now)
    if request.method == "POST":
        valid = form.validate()
        if form.method_version.data and form.method_version.data != page.method.id:
            page = pages.with_version(db, page, form.method_version.data)
        checked = service.new_sample(form, page, walk, g.now)
        problems = checked.problems
        if valid and checked.sample:
            new_samples.add_sample(db, checked.sample, who(), g.now)
            return redirect(record.next_step(db, batch.id, request.form.get("next"), after=kind), code=303)
        make_room(form, page)
    onward = record.next_kind(db, batch, after=kind)
    shown = render_template("bench/capture.html", form=form, page=page, problems=problems, onward=onward, walk=walk)
    return shown, 422 if request.method == "POST" else 200


@bench.get("/batches/<uuid:batch_id>/result")
@open_to("trainee")
def result(batch_id: uuid.UUID):
    """Where does this batch stand, how sure are we, what next."""
    return render_template("bench/result.html", **record.result_page(get_db(), str(batch_id)))


@bench.get("/batches/<uuid:batch_id>")
@open_to("trainee")
def batch(batch_id: uuid.UUID):
    """Everything recorded about one batch, and who did what."""
    return render_template("bench/batch.html", **record.batch_page(get_db(), str(batch_id)))


@bench.get("/batches")
@open_to("trainee")
def find():
    """Find a batch by its code."""
    text = request.args.get("code", "").strip()[:40]
    return render_template("bench/find.html", text=text, found=batches.search(get_db(), text))


@bench.post("/batches/<uuid:batch_id>/countersign")
@open_to("roaster")
def countersign(batch_id: uuid.UUID):
    """Stand behind what a trainee has read."""
    return hands.countersign_page(get_db(), str(batch_id))


@bench.route("/samples/<uuid:sample_id>/<int:fill_no>/<int:reading_no>/correct", methods=["GET", "POST"])
@open_to("roaster")
def correct(sample_id: uuid.UUID, fill_no: int, reading_no: int):
    """Correct a stored reading: the old one stays visible."""
    db = get_db()
    sample = samples.get_sample(db, str(sample_id))
    reading = next((r for r in sample.readings if (r.fill_no, r.no) == (fill_no, reading_no)), None)
    if reading is None:
        abort(404)
    form = CorrectionForm(id=str(uuid.uuid4()))
    if request.method == "POST" and form.validate():
        value = service.corrected_value(form, sample)
        if not form.value.errors:
            corrections.add_correction(
                db, form.id.data, sample.id, fill_no, reading_no, value, form.reason.data, who(), g.now
            )
            return redirect(url_for("bench.batch", batch_id=sample.batch_id), code=303)
    batch = batches.get_batch(db, sample.batch_id)
    shown = {"form": form, "sample": sample, "reading": reading, "batch": batch}
    return render_template("bench/correct.html", **shown), 422 if form.errors else 200
