"""Sign-offs: who is signed off for what, planning one, its cups, its conclusion, its renewal and its withdrawal."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _
from wtforms.fields.choices import SelectChoice

from webapp.db import get_db
from webapp.store import comparisons as store
from webapp.store import gear, methods, people, signoffs
from webapp.store.comparisons import Comparison
from webapp.store.connect import write
from webapp.store.errors import NotFound
from webapp.store.signoffs import KINDS, NewSignOff
from webapp.studies import service, sign_off
from webapp.studies.blueprint import studies
from webapp.studies.sign_off import Findings
from webapp.studies.sign_off_forms import ConclusionForm, RenewForm, SignOffPlanForm, WithdrawForm
from webapp.ui.access import at_least, open_to, who


@studies.get("/studies/sign-offs")
@open_to("trainee")
def sign_offs():
    """Who is signed off for what and until when, and what is under way."""
    db = get_db()
    under_way = [one for one in store.list_open(db) if one.what == "people"]
    trainees = [person for person in people.list_people(db) if person.role == "trainee"]
    return render_template(
        "studies/sign_offs.html",
        trainees=trainees,
        states={(p.id, kind): signoffs.state_of(db, p.id, kind, g.now) for p in trainees for kind in KINDS},
        under_way=under_way,
        progress={one.id: service.progress(db, one) for one in under_way},
        history=signoffs.list_signoffs(db),
    )


@studies.route("/studies/sign-offs/new", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def new_sign_off():
    """Plan a sign-off."""
    db = get_db()
    form = SignOffPlanForm(
        people=people.list_people(db), methods=methods.list_methods(db), meters=gear.list_meters(db),
        data={"fills": 2, "readings": 3, "coffees": sign_off.usual_coffees(db), "trainee": request.args.get("trainee")},
    )  # fmt: skip
    if request.method == "POST" and form.validate() and (new := sign_off.plan(form, db)):
        store.add_comparison(db, new, who(), g.now)
        flash(_("The plan is stored. The coffees stand in a random order now, each with its code."))
        return redirect(url_for("studies.comparison", comparison_id=new.id), code=303)
    page = render_template("studies/sign_off_plan.html", form=form, bounds=service.usual_bounds(db))
    return page, 422 if form.errors else 200


def reading_page(there: Comparison):
    """Where the reading stands, and whoever is here has to read next. No number; the page of studies.comparison."""
    db = get_db()
    own = next((side for side in store.SIDES if there.side(side).person_id == g.session.person_id), None)
    done = service.progress(db, there).done
    return render_template(
        "studies/sign_off_reading.html",
        comparison=there,
        own=own,
        done=done,
        counts={side: sum(done[coffee.no, side] for coffee in there.coffees) for side in store.SIDES},
        following=next((c for c in there.coffees if own and not done[c.no, own]), None),
        samples=store.list_samples(db, there.id),
        drafts=" ".join(f"comparison/{there.id}/{coffee.no}/{own}" for coffee in there.coffees if own),
        conclusion=signoffs.find_conclusion(db, there.id),
    )


def of_people(comparison_id) -> Comparison:
    """The sign-off under this number. NotFound for any other comparison."""
    there = store.get_comparison(get_db(), str(comparison_id))
    if there.what != "people":
        raise NotFound(comparison_id)
    return there


def until_of(form) -> str | None:
    """Until when a sign-off holds, as a lead chose it."""
    return sign_off.end_of(g.now, int(form.months.data), g.site.time_zone)


def conclusion_form(found: Findings) -> ConclusionForm:
    """What the numbers allow: nobody is signed off against them, and nobody has to be."""
    form = ConclusionForm()
    words = {"signed_off": _("Sign off"), "not_yet": _("Not yet")}
    form.what.choices = [SelectChoice(name, words[name]) for name in words if found.passed or name == "not_yet"]
    if request.method == "GET":
        form.what.data = form.what.choices[0].value
        form.reason.data = "; ".join(found.faults)
    if not found.passed:
        del form.months
    return form


def sign_off_page(found: Findings, form: ConclusionForm | None):
    """The page, with the form while there is something to conclude."""
    return render_template("studies/sign_off.html", found=found, comparison=found.comparison, form=form)


@studies.get("/studies/sign-offs/<uuid:sign_off_id>")
@open_to("trainee")
def sign_off_of(sign_off_id):
    """What it comes to: for a lead, and once it is concluded for both who read."""
    db, there = get_db(), of_people(sign_off_id)
    took_part = g.session.person_id in (there.a.person_id, there.b.person_id)
    if not at_least("lead") and not (took_part and signoffs.find_conclusion(db, there.id)):
        return render_template("errors/not_yours.html", level="lead"), 403
    found = sign_off.gather(db, there, g.session.person_id, stop="stop" in request.args)
    offered = found.evidence and not found.conclusion and at_least("lead")
    return sign_off_page(found, conclusion_form(found) if offered else None)


@studies.post("/studies/sign-offs/<uuid:sign_off_id>/conclude")
@open_to("lead", confirmed=True)
def conclude_sign_off(sign_off_id):
    """Store what a lead makes of it, or say what keeps it from being stored."""
    db = get_db()
    # In one transaction: what is looked at is what is concluded.
    with write(db):
        there = of_people(sign_off_id)
        found = sign_off.gather(db, there, g.session.person_id, stop="stop" in request.form)
        if found.evidence is None or found.conclusion is not None:
            return redirect(url_for("studies.sign_off_of", sign_off_id=there.id), code=303)
        form = conclusion_form(found)
        if form.validate() and request.form.get("seen") != str(found.seen):
            form.what.errors = [_("Somebody has read more meanwhile. Look at the numbers again, then store.")]
        if form.errors:
            return sign_off_page(found, form), 422
        until = until_of(form) if form.what.data == "signed_off" else None
        new = NewSignOff(
            form.id.data, there.b.person_id, there.kind, form.what.data, there.id, found.evidence, until,
            form.reason.data or "",
        )  # fmt: skip
        signoffs.add_signoff(db, new, who(), g.now)
    flash(_("It is stored, with what was read as evidence."))
    return redirect(url_for("studies.sign_off_of", sign_off_id=there.id), code=303)


@studies.route(
    "/studies/sign-offs/people/<uuid:person_id>/<any(whole, ground):kind>/<any(renew, withdraw):change>",
    methods=["GET", "POST"],
)
@open_to("lead", confirmed=True)
def change_sign_off(person_id, kind: str, change: str):
    """Renew a sign-off, or take it back, with a reason."""
    db = get_db()
    person = people.get_person(db, str(person_id))
    state = signoffs.state_of(db, person.id, kind, g.now)
    if not (state.signed or (change == "renew" and state.expired)):
        return redirect(url_for("studies.sign_offs"), code=303)
    form = RenewForm() if change == "renew" else WithdrawForm()
    if request.method == "POST" and form.validate():
        word, until = ("renewed", until_of(form)) if change == "renew" else ("withdrawn", None)
        new = NewSignOff(form.id.data, person.id, kind, word, None, None, until, form.reason.data)
        signoffs.add_signoff(db, new, who(), g.now)
        flash(_("It is stored."))
        return redirect(url_for("studies.sign_offs"), code=303)
    shown = {"form": form, "person": person, "kind": kind, "what": change, "state": state}
    return render_template("studies/sign_off_change.html", **shown), 422 if form.errors else 200
