"""Batches out of a tablet's outbox: the same form and the same checks as the page, whenever they arrive."""

from __future__ import annotations

from datetime import datetime

from flask_babel import gettext as _
from sqlite_utils import Database
from werkzeug.datastructures import MultiDict
from wtforms.fields.choices import SelectChoice

from webapp.bench import service
from webapp.bench.standing import standing
from webapp.store import batches, gear, products, times
from webapp.store.batches import Batch
from webapp.store.errors import NotFound
from webapp.ui import batch_form
from webapp.ui.batch_form import FIELDS, BatchForm
from webapp.ui.tablet_records import TabletRecord, invalid

# Typed as they are; product and machine are chosen.
PLAIN = {fact: name for fact, name in FIELDS.items() if name not in ("product", "machine")}


class TabletBatches:
    """The handler for records of kind "batch" (see ui/tablet_records.Handler)."""

    def versions(self, db: Database, record: TabletRecord) -> tuple[dict, dict] | None:
        """What was stored at first, whatever was corrected since, and what was sent."""
        try:
            there = batches.as_stored(db, batches.get_batch(db, record.id))
        except NotFound:
            return None
        return stored_facts(there), sent_facts(filled(db, record), record, there)

    def store(self, db: Database, record: TabletRecord, now: datetime) -> list[str]:
        """Check and store. A code that is used already does not hold it back: the id is the key."""
        form = filled(db, record)
        if not form.validate():
            raise invalid(form.problems)
        roasted_at = batch_form.moment_of_roast(form)
        if is_ahead(roasted_at, record, now):
            roasted_at = now
        batch_form.check_batch(form, roasted_at, now)
        if form.errors:
            raise invalid(form.problems)
        there = batch_form.twin(form.code.data, form.id.data, db)
        new = service.batch_from(form, roasted_at, record.made_at)
        batches.add_batch(db, new, record.who, now, record.sent)
        return [twin_words(there)] if there else []

    def shown(self, db: Database, record: TabletRecord) -> dict:
        """Where the batch stands."""
        return standing(db, record.id)


def filled(db: Database, record: TabletRecord) -> BatchForm:
    """The form as the tablet filled it, with everything to choose from that there ever was."""
    form = BatchForm(formdata=MultiDict(record.form), meta={"csrf": False})
    form.product.choices = [SelectChoice(p.id, p.name) for p in products.list_products(db, active_only=False)]
    form.machine.choices = [SelectChoice(m.id, m.name) for m in gear.list_machines(db, active_only=False)]
    return form


def is_ahead(roasted_at: datetime, record: TabletRecord, now: datetime) -> bool:
    """Whether a time to come is only the tablet's clock, which runs ahead: it is then believed up to now."""
    clock = record.sent.clock
    return clock is not None and now < roasted_at <= times.from_text(clock) + batch_form.CLOCK_SLACK


def twin_words(there: Batch) -> str:
    """What to say of a code that two batches now have."""
    return _(
        "Another batch has the code %(code)s too: %(product)s, %(day)s. Both are kept.",
        code=there.code,
        product=there.product_name,
        day=there.day,
    )


def stored_facts(there: Batch) -> dict:
    """A stored batch in the words of both versions."""
    return {
        "product": {"id": there.product_id, "name": there.product_name},
        "machine": {"id": there.machine_id, "name": there.machine_name},
        **{fact: getattr(there, fact) for fact in PLAIN},
        "roasted_at": there.roasted_at,
        "person": {"id": there.person_id, "name": there.person_name},
    }


def sent_facts(form: BatchForm, record: TabletRecord, there: Batch) -> dict:
    """What was sent, in the same words; as typed where it cannot be read."""
    form.validate()
    return {
        "product": chosen(form.product),
        "machine": chosen(form.machine),
        **{fact: read(form[name]) for fact, name in PLAIN.items()},
        "roasted_at": sent_moment(form, there),
        "person": {"id": record.person.id, "name": record.person.name},
    }


def chosen(field) -> dict:
    """The id and name of what was chosen."""
    names = {choice.value: choice.label for choice in field.choices}
    return {"id": field.data, "name": names.get(field.data)}


def read(field) -> str | int | None:
    """What a field says, or what was typed into it."""
    if field.errors:
        return field.raw_data[0] if field.raw_data else ""
    return field.data


def sent_moment(form: BatchForm, there: Batch) -> str:
    """When it was roasted, believed as far as it was when the batch was stored."""
    if form.day.errors or form.clock.errors or form.day.data.year < batch_form.FIRST_YEAR:
        return " ".join(str(text) for field in (form.day, form.clock) for text in field.raw_data or ())
    roasted_at = times.to_text(batch_form.moment_of_roast(form))
    return min(roasted_at, there.received_at) if there.tablet_clock else roasted_at
