"""A batch's facts: the form filled with what stands, and what of it is to be otherwise."""

from __future__ import annotations

import uuid
from datetime import datetime

from flask import request
from flask_babel import gettext as _
from sqlite_utils import Database
from wtforms.fields.choices import SelectChoice

from webapp.corrections.forms import FactsForm
from webapp.store import batch_corrections, gear, products, times
from webapp.store.batch_corrections import ChangedMeanwhile, NothingChanged
from webapp.store.batches import Batch
from webapp.ui.access import at_least
from webapp.ui.batch_form import FIELDS, check_amounts, check_code, check_moment, moment_of_roast
from webapp.ui.filters import site_zone

# By what a batch is found, judged and placed in time: a lead's to correct.
OF_LEADS = ("product", "machine", "code", "day", "clock")


def facts_form(db: Database, batch: Batch) -> FactsForm:
    """The form as posted, else filled with what stands; without what only a lead corrects, for a roaster."""
    day, clock = shown_moment(batch.roasted_at)
    stands = {name: getattr(batch, fact) for fact, name in FIELDS.items()}
    seen = batch_corrections.newest_id(db, batch.id)
    form = FactsForm(id=str(uuid.uuid4()), seen=seen, day=day, clock=clock, **stands)
    offered = {p.id: p.name for p in products.list_products(db)} | {batch.product_id: batch.product_name}
    form.product.choices = [SelectChoice(*one) for one in offered.items()]
    offered = {m.id: m.name for m in gear.list_machines(db) if m.active} | {batch.machine_id: batch.machine_name}
    form.machine.choices = [SelectChoice(*one) for one in offered.items()]
    if not at_least("lead"):
        for name in OF_LEADS:
            del form[name]
    return form


def shown_moment(roasted_at: str) -> tuple:
    """(day, time to the minute) of a roast at the site, as the form has them. roasted_at: stored UTC text."""
    local = times.from_text(roasted_at).astimezone(site_zone())
    return local.date(), local.time().replace(second=0, microsecond=0)


def wanted_facts(form: FactsForm, batch: Batch) -> dict[str, str | int | None]:
    """What should stand by the checked form. What was not sent, or says what stands, is what stands."""
    wanted = {}
    for fact, name in FIELDS.items():
        if name in form and form[name].raw_data:
            stands, said = getattr(batch, fact), form[name].data
            said = "" if said is None and isinstance(stands, str) else said
            wanted[fact] = stands if _plain(said) == _plain(stands) else said
    if "day" in form and form.day.raw_data:
        # The form has minutes, a stored time may have seconds.
        same = (form.day.data, form.clock.data) == shown_moment(batch.roasted_at)
        wanted["roasted_at"] = batch.roasted_at if same else times.to_text(moment_of_roast(form))
    return wanted


def _plain(text: object) -> object:
    """A browser sends the lines of a text with other ends than a tablet does."""
    return text.replace("\r\n", "\n") if isinstance(text, str) else text


def correct_facts(db: Database, form: FactsForm, batch: Batch, who, now: datetime) -> bool:
    """Store what is otherwise; False after adding what is wrong beside the fields."""
    if not at_least("lead") and any(name in request.form for name in OF_LEADS):
        form.lot.errors = [
            _("Code, product, machine and time of the roast are a lead’s to correct. Nothing was stored.")
        ]
        return False
    wanted = wanted_facts(form, batch)
    check_amounts(form)
    if wanted.get("roasted_at", batch.roasted_at) != batch.roasted_at:
        check_moment(form, moment_of_roast(form), now)
    if wanted.get("code", batch.code) != batch.code:
        check_code(form, batch.id, db)
    if form.errors:
        return False
    try:
        batch_corrections.add_batch_correction(
            db, form.id.data, batch.id, wanted, form.reason.data, who, now, form.seen.data or ""
        )
    except NothingChanged:
        form.lot.errors = [_("Nothing is different here: the batch stands as it was.")]
    except ChangedMeanwhile:
        catch_up(db, form, batch)
    return not form.errors


def catch_up(db: Database, form: FactsForm, batch: Batch) -> None:
    """Somebody was quicker: the fields that nobody touched here show what stands now, and the page says so."""
    made = batch_corrections.list_batch_corrections(db, batch.id)
    ids = [correction.id for correction in made]
    later = made[ids.index(form.seen.data) + 1 if form.seen.data in ids else 0 :]
    for change in (change for correction in later for change in correction.facts):
        if change.fact == "roasted_at":
            before, after = shown_moment(change.before), shown_moment(change.after)
            pairs = zip(("day", "clock"), before, after, strict=True)
        else:
            pairs = [(FIELDS[change.fact], change.before, change.after)] if change.fact in FIELDS else []
        for name, before, after in pairs:
            if name in form and _plain(form[name].data or "") == _plain(before or ""):
                form[name].data, form[name].raw_data = after, None
    form.seen.data, form.seen.raw_data = made[-1].id, None
    form.lot.errors = [
        _("%(name)s corrected this batch meanwhile. Look at what stands now, and send it again if something is still"
          " wrong.", name=made[-1].person_name)
    ]  # fmt: skip
