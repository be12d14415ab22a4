"""Blends: planning one, storing its trial, its page, carrying the blend-off out, and the list."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _

from webapp.blends import plan as plans
from webapp.blends import read, store_trial, words
from webapp.blends.blueprint import blends
from webapp.blends.forms import CarryOutForm, TrialForm
from webapp.blends.plan import Page
from webapp.db import get_db
from webapp.store import blend_candidates, products, results
from webapp.store import blends as store
from webapp.store.errors import NotFound
from webapp.ui.access import at_least, open_to, who


@blends.get("/blends/new")
@open_to("roaster")
def plan():
    """What of a product can be mixed so that it is in band."""
    db = get_db()
    if not request.args.get("product"):
        return choose()
    page = page_of(request.args)
    if page is None:
        return choose(without_target=True)
    form = store_trial.trial_form(db, page, g.now) if page.mix and at_least("lead") else None
    return plan_page(page, form), 422 if page.form.problems else 200


def page_of(given) -> Page | None:
    """The plan that an address or a posted form asks for. NotFound for a product that is none."""
    db = get_db()
    return plans.gather(db, products.get_product(db, given.get("product", "")), given, g.now)


def choose(*, without_target: bool = False):
    """Of which product?"""
    db = get_db()
    counts = blend_candidates.count_by_product(db)
    listed = [p for p in products.list_products(db, active_only=False) if p.active or p.id in counts]
    listed.sort(key=lambda product: -sum(counts.get(product.id, {}).values()))
    page = render_template("blends/choose.html", products=listed, counts=counts, without_target=without_target)
    return page, 404 if without_target else 200


def plan_page(page: Page, form: TrialForm | None) -> str:
    """The page, with the trial's form for a lead."""
    return render_template("blends/plan.html", page=page, form=form, words=words, read=read)


@blends.post("/blends/new")
@open_to("lead", confirmed=True)
def store_plan():
    """Store the trial of a plan as it was shown."""
    db, page, form = get_db(), page_of(request.form), TrialForm()
    if page is None:
        return choose(without_target=True)
    if there := known(form.id.data):
        return redirect(url_for("blends.show", blend_id=there.id), code=303)
    form.validate()
    new = store_trial.new_blend(form, db, page, g.now)
    if new is None or page.mix is None:
        return plan_page(page, form), 422
    try:
        store.add_blend(db, new, who(), g.now)
    except store.PartsChanged as problem:
        form.code.errors = store_trial.changed_words(problem.parts)
        return plan_page(page, form), 422
    flash(_("The trial is stored as a batch. Mix a little in these shares, and read it like any other."))
    return redirect(url_for("blends.show", blend_id=new.id), code=303)


def known(blend_id: str | None) -> store.Blend | None:
    """A blend that is stored already: the button was pressed twice."""
    try:
        return store.get_blend(get_db(), blend_id or "")
    except NotFound:
        return None


@blends.get("/blends/<uuid:blend_id>")
@open_to("trainee")
def show(blend_id):
    """A blend: its parts, what was expected, what was read, and what follows."""
    return blend_page(store.get_blend(get_db(), str(blend_id)), CarryOutForm(formdata=None))


def blend_page(blend: store.Blend, form: CarryOutForm, problems: list[str] | None = None) -> str:
    """The page with its form."""
    db = get_db()
    read_of = results.get_parts(db, blend.batch_id)
    missing = [kind for kind in coffee_of(blend) if kind not in read_of]
    ready = store.ready(db, blend)
    return render_template(
        "blends/show.html",
        blend=blend, form=form, problems=problems or [], lines=read.lines(db, blend),
        stands=results.get_batch_result(db, blend.batch_id), ready=ready, missing=missing,
        changed=[] if blend.carried_out else store_trial.changed_words(store.changed_parts(db, blend)),
        trial_g=blend.trial_g or 1000, words=words,
        way=way([bool(read_of), not missing, ready or bool(blend.carried_out), bool(blend.carried_out)],
                blend.decision == "reject"),
    )  # fmt: skip


def way(done: list[bool], over: bool) -> list[str]:
    """Of each step: 'done', 'now' for the one that is next, or ''. over: none is next any more."""
    following = len(done) if over or all(done) else done.index(False)
    return ["done" if is_done else "now" if no == following else "" for no, is_done in enumerate(done)]


def coffee_of(blend: store.Blend) -> list[str]:
    """The kinds of coffee that a trial has to be read in."""
    both = "difference" in blend.expected
    return [kind for kind in ("whole", "ground") if both or kind in blend.expected]


@blends.post("/blends/<uuid:blend_id>/carry-out")
@open_to("lead", confirmed=True)
def carry_out(blend_id):
    """The blend-off: every part goes into the blend, or none does and the page says why."""
    db, form = get_db(), CarryOutForm()
    blend = store.get_blend(db, str(blend_id))
    if not form.validate():
        return blend_page(blend, form), 422
    try:
        store.carry_out(db, blend.id, form.reason.data, who(), g.now)
    except store.NotReady:
        return blend_page(blend, form, [_("The trial has to be read, in band and released before.")]), 409
    except store.PartsChanged as problem:
        return blend_page(blend, form, store_trial.changed_words(problem.parts)), 409
    flash(_("The blend-off is decided for every batch in it."))
    return redirect(url_for("blends.show", blend_id=blend.id), code=303)


@blends.get("/blends")
@open_to("trainee")
def index():
    """All blends, and what they say of mixing."""
    db = get_db()
    listed = store.list_blends(db)
    return render_template(
        "blends/index.html",
        blends=listed,
        lines={blend.id: read.lines(db, blend, drawn=False) for blend in listed},
        learnt=read.learnt_words(db, listed),
    )
