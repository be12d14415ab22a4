"""From a plan to a stored trial, and from a released trial to the blend-off."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.blends.forms import TrialForm
from webapp.blends.plan import Page, bands_of, held_of
from webapp.measure.blend import predict
from webapp.store import batches, times
from webapp.store.batches import NewBatch
from webapp.store.blends import Expected, Known, NewBlend, NewPart
from webapp.store.records import new_id
from webapp.store.site import get_site


def trial_form(db: Database, page: Page, now: datetime) -> TrialForm:
    """The empty form under a plan, with a code that is free."""
    code = batches.propose_code(db, times.local_day(now, get_site(db).time_zone))
    return TrialForm(formdata=None, id=new_id(), batch=new_id(), seen=page.seen, code=code, trial=None)


def new_blend(form: TrialForm, db: Database, page: Page, now: datetime) -> NewBlend | None:
    """The blend from a form that was validated and its plan; None where something is wrong, which stands beside its
    field."""
    if form.seen.data != page.seen:
        form.code.errors = [
            *form.code.errors,
            _("Something about the batches has changed since this plan was made. Look at it again, then store it."),
        ]
        form.seen.data = page.seen
    twin = next((b for b in batches.find_by_code(db, form.code.data) if b.id != form.batch.data), None)
    if twin:
        form.code.errors = [
            *form.code.errors,
            _("Batch %(code)s is there already: %(product)s, %(day)s. Give this one another code.",
              code=form.code.data, product=twin.product_name, day=twin.day),
        ]  # fmt: skip
    if form.trial.data and form.trial.data > page.total_g:
        form.trial.errors = [_("A trial cannot weigh more than the blend.")]
    return None if form.errors or page.mix is None else from_plan(form, page, now)


def from_plan(form: TrialForm, page: Page, now: datetime) -> NewBlend:
    """What a checked form and its plan say."""
    kinds, moment = page.target.bands, times.to_text(now)
    taken = [(part.one, part.grams) for part in page.parts]
    predicted = predict(held_of(page.target, taken), [grams for _one, grams in taken], bands_of(page.target))
    batch = NewBatch(
        form.batch.data, form.code.data, page.product.id, page.parts[0].one.machine_id, "", None, None, None, None,
        None, "", moment, moment,
    )  # fmt: skip
    parts = tuple(
        NewPart(one.batch_id, grams, {kind: Known(one.parts[kind].value, one.parts[kind].u) for kind in kinds})
        for one, grams in taken
    )
    expected = {kind: Expected(p.value, p.u, p.chance) for kind, p in predicted.items()}
    return NewBlend(
        form.id.data, batch, page.target.id, page.target.confidence, form.trial.data, form.reason.data, parts, expected
    )


def changed_words(parts: Iterable[tuple[str, str]]) -> list[str]:
    """What changed of which part (store.blends.PartsChanged), in sentences."""
    words = {
        "result": lambda code: _("%(code)s reads otherwise now than when the blend was planned.", code=code),
        "decision": lambda code: _("%(code)s was decided about since the blend was planned.", code=code),
    }
    return [words[why](code) for code, why in parts]
