"""The outcome of a comparison: looked at and concluded by a lead, who alone moves targets."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _
from wtforms.fields.choices import SelectChoice

from webapp.db import get_db
from webapp.store import compared
from webapp.store import comparisons as store
from webapp.store.connect import write
from webapp.store.products import get_product
from webapp.studies import outcome as findings
from webapp.studies.blueprint import studies
from webapp.studies.forms import OutcomeForm
from webapp.studies.outcome import Findings
from webapp.ui.access import open_to, who


def outcome_words() -> dict[str, str]:
    """The three outcomes as they are offered."""
    return {
        "carry": _("Targets carry over"), "move": _("Move the targets that are ticked"),
        "not_comparable": _("Not comparable: the targets stay, and hold for the first only"),
    }  # fmt: skip


def outcome_form(found: Findings) -> OutcomeForm:
    """What the numbers say, or that the two are not comparable after all. Nothing else is offered."""
    form, words = OutcomeForm(), outcome_words()
    offered = dict.fromkeys([found.result.outcome, "not_comparable"])
    form.outcome.choices = [SelectChoice(name, words[name]) for name in offered]
    possible = [m for m in found.moves if not m.trouble]
    form.move.choices = [SelectChoice(m.product.id, m.product.name) for m in possible]
    if request.method == "GET":
        form.outcome.data = found.result.outcome
        form.move.data = [m.product.id for m in possible if not m.other_method]
    if not found.moves:
        del form.move
    return form


def outcome_page(found: Findings, form: OutcomeForm | None):
    """The page, with the form while there is something to conclude."""
    return render_template(
        "studies/outcome.html",
        found=found,
        comparison=found.comparison,
        form=form,
        direction=findings.direction(found.comparison, found.result.bias) if found.result else "",
        made=findings.made_by(get_db(), found.outcome) if found.outcome else [],
    )


@studies.get("/comparisons/<uuid:comparison_id>/outcome")
@open_to("lead")
def outcome(comparison_id):
    """The numbers, both drawings, and what follows from them. Those of two people have a page of their own."""
    db = get_db()
    there = store.get_comparison(db, str(comparison_id))
    if there.what == "people":
        return redirect(url_for("studies.sign_off_of", sign_off_id=there.id), code=303)
    found = findings.gather(db, there)
    return outcome_page(found, outcome_form(found) if found.result and not found.outcome else None)


@studies.post("/comparisons/<uuid:comparison_id>/conclude")
@open_to("lead", confirmed=True)
def conclude(comparison_id):
    """Store the outcome, with the target versions that it makes, or say what keeps it from being stored."""
    db = get_db()
    back = redirect(url_for("studies.outcome", comparison_id=comparison_id), code=303)
    # In one transaction: what is looked at is what is concluded.
    with write(db):
        there = store.get_comparison(db, str(comparison_id))
        if there.what == "people":
            return back
        found = findings.gather(db, there)
        if found.result is None or found.outcome is not None:
            return back
        form = outcome_form(found)
        if not form.validate() or not stored(form, found):
            return outcome_page(found, form), 422
    flash(_("The outcome is stored."))
    return back


def stored(form: OutcomeForm, found: Findings) -> bool:
    """Store it; False after saying beside a field why not."""
    db, result, comparison = get_db(), found.result, found.comparison
    if request.form.get("seen") != str(found.seen):
        form.outcome.errors = [_("Somebody has read more meanwhile. Look at the numbers again, then store.")]
        return False
    chosen = {}
    if form.outcome.data == "move":
        chosen = {m.product.id: m for m in found.moves if m.product.id in form.move.data}
    if form.outcome.data == "move" and not chosen and found.moves and form.move.choices:
        form.move.errors = [_("Tick at least one product. What is not ticked keeps its targets.")]
        return False
    new = compared.NewOutcome(
        form.id.data, comparison.id, form.outcome.data, len(found.pairs), result.bias, result.U, form.reason.data
    )
    moved = [findings.moved_target(comparison, m, request.form.get(f"base-{id}", "")) for id, m in chosen.items()]
    reason = _(
        "Moved by %(bias)s after the comparison %(name)s: %(reason)s",
        bias=found.signed(result.bias), name=comparison.name, reason=form.reason.data,
    )  # fmt: skip
    try:
        compared.add_outcome(db, new, moved, reason, who(), g.now)
    except compared.TargetsChanged as changed:
        names = ", ".join(get_product(db, product_id).name for product_id in changed.product_ids)
        form.move.errors = [
            _("Somebody changed the targets of %(names)s meanwhile. Nothing was stored. Look again.", names=names)
        ]
        return False
    return True
