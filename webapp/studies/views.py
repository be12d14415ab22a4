"""Comparisons: the list, planning one, where it stands, and reading one coffee on one side. Those of precision studies
are in precision_views.py."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.store import compared, gear, methods
from webapp.store import comparisons as store
from webapp.store.records import new_id
from webapp.store.times import to_text
from webapp.studies import (
    conclude,
    planner_views,
    precision_conclude,
    precision_views,
    routine_views,
    service,
    sign_off_views,
)
from webapp.studies.blueprint import studies
from webapp.studies.forms import PlanForm, SampleForm
from webapp.ui.access import open_to, who

__all__ = [
    "conclude", "planner_views", "precision_conclude", "precision_views", "routine_views", "sign_off_views", "studies",
]  # fmt: skip


@studies.get("/comparisons")
@open_to("trainee")
def comparisons():
    """Every comparison with where it stands."""
    db = get_db()
    found = store.list_comparisons(db)
    return render_template(
        "studies/comparisons.html",
        comparisons=found,
        progress={one.id: service.progress(db, one) for one in found},
        outcomes={one.id: compared.find_outcome(db, one.id) for one in found},
    )


@studies.get("/comparisons/new")
@open_to("lead", confirmed=True)
def choose():
    """What is to be compared?"""
    return render_template("studies/choose.html")


def plan_form(what: str) -> PlanForm:
    """The form with what there is to choose from."""
    db = get_db()
    newest = methods.list_methods(db)
    versions = [v for m in newest for v in methods.list_versions(db, m.method_id)] if what == "methods" else newest
    return PlanForm(
        what=what, meters=gear.list_meters(db), methods=versions, grinders=gear.list_grinders(db),
        data={"fills": 2, "readings": 3, "blind": True},
    )  # fmt: skip


@studies.route("/comparisons/new/<any(meters, grinders, methods):which>", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def new_comparison(which: str):
    """Plan a comparison."""
    db, form = get_db(), plan_form(which)
    if request.method == "POST" and form.validate() and (new := service.plan(form, db)):
        store.add_comparison(db, new, who(), g.now)
        flash(_("The plan is stored. The coffees stand in a random order now, each with its code."))
        return redirect(url_for("studies.comparison", comparison_id=new.id), code=303)
    bounds = service.usual_bounds(db)
    page = render_template("studies/plan.html", form=form, what=which, bounds=bounds)
    return page, 422 if form.errors else 200


@studies.get("/comparisons/<uuid:comparison_id>")
@open_to("trainee")
def comparison(comparison_id):
    """Where it stands and what is next; no number, since whoever reads may look at it."""
    db = get_db()
    there = store.get_comparison(db, str(comparison_id))
    if there.what == "people":
        return sign_off_views.reading_page(there)
    drafts = [f"comparison/{there.id}/{coffee.no}/{side}" for coffee in there.coffees for side in store.SIDES]
    return render_template(
        "studies/comparison.html",
        drafts=" ".join(drafts),
        comparison=there,
        progress=service.progress(db, there),
        samples=store.list_samples(db, there.id),
        outcome=compared.find_outcome(db, there.id),
    )


@studies.get("/comparisons/<uuid:comparison_id>/coffees")
@open_to("lead")
def coffees(comparison_id):
    """Which code stands for which coffee: for whoever fills the cups, not for whoever reads."""
    return render_template("studies/coffees.html", comparison=store.get_comparison(get_db(), str(comparison_id)))


@studies.route("/comparisons/<uuid:comparison_id>/<int:no>/<any(a, b):side>", methods=["GET", "POST"])
@open_to("trainee")
def read(comparison_id, no: int, side: str):
    """One coffee on one side: how it is prepared, and room for the readings."""
    db = get_db()
    there = store.get_comparison(db, str(comparison_id))
    coffee, closed = there.coffee(no), compared.concluded_at(db, there.id) is not None
    onward = url_for("studies.comparison", comparison_id=there.id)
    if closed and request.method == "GET":
        return redirect(onward, code=303)
    own = there.side(side).open_to(g.session.person_id)
    if not own and request.method == "GET":
        return render_template("studies/others_cup.html", **place(there, coffee, side), path=request.path), 403
    form, problems = sample_form(there, coffee, side), []
    if request.method == "POST":
        taken = service.take(form, db, there, coffee, side, g.now)
        late = closed and not store.find_sample(db, form.id.data)
        problems = service.kept_out(there, side, late, own) or taken.problems
        if taken.sample and not problems:
            store.add_sample(db, taken.sample, who(), g.now)
            return redirect(onward, code=303)
    earlier = [s for s in store.list_samples(db, there.id) if (s.coffee_no, s.side) == (no, side)]
    shown = {"form": form, **place(there, coffee, side), "earlier": earlier}
    page = render_template("studies/read.html", **shown, problems=problems)
    return page, 422 if request.method == "POST" else 200


def place(there: store.Comparison, coffee: store.Coffee, side: str) -> dict:
    """What is read, for a template."""
    return {"comparison": there, "coffee": coffee, "side": side}


def sample_form(there: store.Comparison, coffee: store.Coffee, side: str) -> SampleForm:
    """The form of one coffee on one side, as posted or empty, with a row for every reading."""
    fields, _over = service.with_rows(request.form if request.method == "POST" else {}, there)
    form = SampleForm(formdata=fields)
    # The address says what is read; the same stands in the form for the tablet's outbox.
    form.comparison.data, form.coffee.data, form.side.data = there.id, str(coffee.no), side
    if request.method == "GET":
        form.id.data, form.made_at.data = new_id(), to_text(g.now)
    return form
