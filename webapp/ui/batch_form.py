"""The form of a batch and its checks: for a new one, for one out of a tablet's outbox, and for correcting one."""

from __future__ import annotations

from datetime import datetime, timedelta

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from sqlite_utils import Database
from wtforms import DateField, HiddenField, RadioField, StringField, TextAreaField, TimeField
from wtforms.validators import Length

from webapp.store import batches
from webapp.store.batches import Batch
from webapp.ui.fields import DurationField, MassField, TemperatureField
from webapp.ui.filters import site_zone
from webapp.ui.forms import BaseForm, printable, required

CLOCK_SLACK = timedelta(minutes=5)
FIRST_YEAR = 2000
# A batch's facts as they are stored -> the fields they are typed into. When it was roasted is typed as day and time.
FIELDS = {
    "product_id": "product", "machine_id": "machine", "code": "code", "lot": "lot", "green_g": "green",
    "roasted_g": "roasted", "drop_decicelsius": "drop", "total_s": "total", "development_s": "development",
    "note": "note",
}  # fmt: skip


class BatchForm(BaseForm):
    """A batch: what was roasted, on what, and what is known of the roast."""

    id = HiddenField()
    product = RadioField(_l("Product"), validators=[required(_l("Choose the product."))])
    machine = RadioField(_l("Machine"), validators=[required(_l("Choose the machine."))])
    code = StringField(
        _l("Batch code"),
        validators=[required(_l("Give the batch a code.")), Length(max=40, message=_l("Use at most 40 characters."))]
        + [printable],
    )
    lot = StringField(
        _l("Green lot"), validators=[Length(max=80, message=_l("Use at most 80 characters.")), printable]
    )
    day = DateField(_l("Roasted on"), validators=[required(_l("Give the day of the roast."))])
    clock = TimeField(_l("at"), format=["%H:%M", "%H:%M:%S"], validators=[required(_l("Give the time of the roast."))])
    green = MassField(_l("Green mass"))
    roasted = MassField(_l("Roasted mass"))
    drop = TemperatureField(_l("Drop temperature"))
    total = DurationField(_l("Total time"))
    development = DurationField(_l("Development time"))
    note = TextAreaField(_l("Note"), validators=[Length(max=2000), printable])


def moment_of_roast(form: BatchForm) -> datetime:
    """Day and time of the roast at the site. The form is valid so far."""
    return datetime.combine(form.day.data, form.clock.data, site_zone())


def check_moment(form: BatchForm, roasted_at: datetime, now: datetime) -> None:
    """Whether it can have been roasted then; messages go beside the fields."""
    if form.day.data.year < FIRST_YEAR:
        form.day.errors = [*form.day.errors, _("Check the year of this day.")]
    if roasted_at > now + CLOCK_SLACK:
        form.clock.errors = [*form.clock.errors, _("This time is still to come. Check the day and the time.")]


def check_amounts(form: BatchForm) -> None:
    """What masses and times say together; messages go beside the fields."""
    if form.roasted.data and form.green.data and form.roasted.data > form.green.data:
        form.roasted.errors = [*form.roasted.errors, _("Roasted coffee cannot weigh more than the green it came from.")]
    if form.development.data and form.total.data and form.development.data > form.total.data:
        form.development.errors = [
            *form.development.errors,
            _("The development cannot be longer than the whole roast."),
        ]


def check_batch(form: BatchForm, roasted_at: datetime, now: datetime) -> None:
    """What the fields say together; messages go beside them."""
    check_moment(form, roasted_at, now)
    check_amounts(form)


def twin(code: str, batch_id: str, db: Database) -> Batch | None:
    """Another batch with this code than the one of this id, the newest."""
    return next((b for b in batches.find_by_code(db, code) if b.id != batch_id), None)


def check_code(form: BatchForm, batch_id: str, db: Database) -> None:
    """Refuse a code that another batch has; the message goes beside the field."""
    if there := twin(form.code.data, batch_id, db):
        form.code.errors = [
            *form.code.errors,
            _(
                "Batch %(code)s is there already: %(product)s, %(day)s. Give this one another code.",
                code=form.code.data,
                product=there.product_name,
                day=there.day,
            ),
        ]
