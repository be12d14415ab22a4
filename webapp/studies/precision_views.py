"""Precision studies: the list, planning one, where it stands, and reading one fill; and the page of all studies."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.store import comparisons, gear, methods, people, precision
from webapp.store.precision import Place, Study
from webapp.store.records import new_id
from webapp.store.times import to_text
from webapp.studies import precision_plan, precision_read
from webapp.studies.blueprint import studies
from webapp.studies.precision_forms import StudyFillForm, StudyForm
from webapp.ui.access import open_to, who


@studies.get("/studies")
@open_to("trainee")
def index():
    """What kinds of studies there are, and what each is for."""
    db = get_db()
    compared = comparisons.list_open(db)
    of_people = sum(one.what == "people" for one in compared)
    return render_template(
        "studies/index.html", open_studies=len(precision.list_open(db)), open_comparisons=len(compared) - of_people,
        open_sign_offs=of_people,
    )  # fmt: skip


@studies.get("/studies/precision")
@open_to("trainee")
def precision_studies():
    """Every precision study with where it stands."""
    db = get_db()
    found = precision.list_studies(db)
    return render_template(
        "studies/precision_list.html",
        studies=found,
        progress={one.id: precision_plan.progress(db, one, g.session.person_id) for one in found},
        outcomes={one.id: precision.find_outcome(db, one.id) for one in found},
    )


def study_form() -> StudyForm:
    """The form with what there is to choose from."""
    db = get_db()
    return StudyForm(
        meters=gear.list_meters(db), methods=methods.list_methods(db), people=people.list_people(db),
        data={"fills": 4, "readings": 3, "minutes": precision_plan.ASSUMED_MINUTES},
    )  # fmt: skip


@studies.route("/studies/precision/new", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def new_precision():
    """Plan a study: first what it takes is shown, then it is stored."""
    form, needs = study_form(), None
    if request.method == "POST" and form.validate():
        needs, mark = precision_plan.needs(form), precision_plan.mark(form)
        if form.seen.data == mark:
            precision.add_study(get_db(), new := precision_plan.plan(form), who(), g.now)
            flash(_("The plan is stored, its fills in a random order."))
            return redirect(url_for("studies.precision_study", study_id=new.id), code=303)
        form.seen.data = mark
    page = render_template("studies/precision_plan.html", form=form, needs=needs, version=form.version)
    return page, 422 if form.errors else 200


@studies.get("/studies/precision/<uuid:study_id>")
@open_to("trainee")
def precision_study(study_id):
    """Where it stands and whose fill is next; no number, since whoever reads may look at it."""
    db = get_db()
    there = precision.get_study(db, str(study_id))
    return render_template(
        "studies/precision_study.html",
        study=there,
        progress=precision_plan.progress(db, there, g.session.person_id),
        kept=precision_plan.all_kept(db, there),
        outcome=precision.find_outcome(db, there.id),
        drafts=" ".join(f"precision/{there.id}/{place.no}" for place in there.places),
    )


@studies.route("/studies/precision/<uuid:study_id>/<int:no>", methods=["GET", "POST"])
@open_to("trainee")
def read_fill(study_id, no: int):
    """One fill, read by its own person: how it is prepared, and room for the readings."""
    db = get_db()
    there = precision.get_study(db, str(study_id))
    place, form, problems = there.place(no), fill_form(there, no), []
    if request.method == "GET" and (instead := not_to_be_read(there, place)):
        return instead
    if request.method == "POST":
        taken = precision_read.take(form, db, there, place, g.now)
        problems = refused(there, place, form) or taken.problems
        if taken.fill and not problems:
            said = precision_read.second(db, there, place)
            if said and not precision.find_fill(db, taken.fill.id):
                flash(said)
            precision.add_fill(db, taken.fill, who(), g.now)
            return redirect(url_for("studies.precision_study", study_id=there.id), code=303)
    page = render_template("studies/precision_fill.html", form=form, study=there, place=place, problems=problems)
    return page, 422 if request.method == "POST" else 200


def not_to_be_read(there: Study, place: Place):
    """The page that stands in place of the form: it is somebody else's, or there is nothing to be read any more."""
    db = get_db()
    if precision.find_outcome(db, there.id):
        return redirect(url_for("studies.precision_study", study_id=there.id), code=303)
    if place.preparer_id != g.session.person_id:
        own = precision_plan.progress(db, there, g.session.person_id).own
        return render_template("studies/precision_other.html", study=there, place=place, own=own)
    if place.no in precision.counted_fills(db, there.id):
        flash(_("This fill is read already."))
        return redirect(url_for("studies.precision_study", study_id=there.id), code=303)
    return None


def refused(there: Study, place: Place, form: StudyFillForm) -> list[str]:
    """Why these readings are not taken, whatever they are."""
    db = get_db()
    if place.preparer_id != g.session.person_id:
        return [precision_read.not_yours(place)]
    if precision.find_outcome(db, there.id) and not precision.find_fill(db, form.id.data):
        return [precision_read.settled()]
    return []


def fill_form(there: Study, no: int) -> StudyFillForm:
    """The form of one fill, as posted or empty, with a row for every reading."""
    fields, _over = precision_read.with_rows(request.form if request.method == "POST" else {}, there)
    form = StudyFillForm(formdata=fields)
    # The address says what is read; the same stands in the form for the tablet's outbox.
    form.study.data, form.place.data = there.id, str(no)
    if request.method == "GET":
        form.id.data, form.made_at.data = new_id(), to_text(g.now)
    return form
