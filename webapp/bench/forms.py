"""The bench's forms: a batch, a sample, a countersignature, a correction. What was typed is always shown again."""

from __future__ import annotations

import uuid

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import (
    BooleanField,
    DateField,
    FieldList,
    Form,
    FormField,
    HiddenField,
    RadioField,
    SelectField,
    StringField,
    TextAreaField,
    TimeField,
)
from wtforms.fields.choices import SelectChoice
from wtforms.validators import Length, Optional, ValidationError

from webapp.ui.fields import DurationField, MassField, TemperatureField
from webapp.ui.forms import BaseForm, printable, required

VOID_REASONS = [
    SelectChoice("", _l("counts")),
    SelectChoice("mistyped", _l("mistyped")),
    SelectChoice("moved", _l("meter moved")),
    SelectChoice("other", _l("failed")),
]


class BatchForm(BaseForm):
    """A new batch: what was roasted, on what, and what is known of the roast."""

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


class ReadingForm(Form):
    """One reading: the number, whether it counts, and the answer to "is that right?"."""

    value = StringField(_l("Reading"), validators=[Length(max=40, message=_l("Use at most 40 characters."))])
    void = SelectField(_l("Does it count?"), choices=VOID_REASONS, default="")
    sure = BooleanField(_l("Yes, it is as I typed it"))


class FillForm(Form):
    """The readings of one fill."""

    readings = FieldList(FormField(ReadingForm), max_entries=12)


class StepForm(Form):
    """A step of the method: ticked, when (by the tablet's clock), and what was noted."""

    done = BooleanField(_l("Done"))
    at = HiddenField()
    note = StringField(
        _l("Value"), validators=[Length(max=40, message=_l("Use at most 40 characters.")), printable]
    )


def own_number(_form, field) -> None:
    """A sample's number is a UUID: a practice form has none, so that it can never be taken for a sample."""
    try:
        uuid.UUID(field.data)
    except ValueError:
        raise ValidationError(_("This form makes no sample. Open the batch's own page.")) from None


class CaptureForm(BaseForm):
    """One sample: the steps ticked and the readings of up to four fills."""

    id = HiddenField(validators=[required(_l("The form has lost its number. Load the page again.")), own_number])
    made_at = HiddenField()
    method_version = HiddenField(validators=[required(_l("Choose the method."))])
    checklist = HiddenField(default="page")
    meter = RadioField(_l("Meter"), validators=[required(_l("Choose the meter."))])
    # Where it was ground; left out, it is as the method says. What may be chosen: see CapturePage.settings.
    setting = StringField(_l("Ground at"))
    steps = FieldList(FormField(StepForm), max_entries=40)
    fills = FieldList(FormField(FillForm), max_entries=4)
    fewer = BooleanField(_l("Store it with fewer readings"))
    no_more = BooleanField(_l("No further reading can be taken: use the middle value"))
    note = TextAreaField(_l("Note"), validators=[Length(max=2000), printable])

    @property
    def problems(self) -> list[tuple[str, str]]:
        """As every form's, with each reading's own by its fill and number."""
        own = super().problems
        found = [(id, text) for id, text in own if not id.startswith(("fills", "steps"))]
        for no, step in enumerate(self.steps, 1):
            note = step.form.note
            found += [(note.id, f"{_('Step %(no)d', no=no)}: {text}") for text in note.errors]
        for fill_no, fill in enumerate(self.fills, 1):
            for no, entry in enumerate(fill.form.readings, 1):
                value = entry.form.value
                where = _("Fill %(fill)d, reading %(no)d", fill=fill_no, no=no)
                found += [(value.id, f"{where}: {text}") for text in value.errors]
        return found


class PracticeForm(CaptureForm):
    """The same for practice. Its number says what the practice meter shows, and is no sample's: see practice.py."""

    id = HiddenField()


class PracticeChoiceForm(BaseForm):
    """What to practise: the method, and with it the kind; whose numbers are read, and on which meter."""

    class Meta(BaseForm.Meta):
        """It only asks for a page: what is chosen stands in the address."""

        csrf = False

    method = RadioField(_l("Method"))
    dish = RadioField(_l("What will you read?"))
    meter = RadioField(_l("Meter"))


class CountersignForm(BaseForm):
    """Somebody signed off stands behind these samples."""

    id = HiddenField(validators=[required(_l("The form has lost its number. Load the page again."))])
    # Those that were on the page, with blanks between them: what is read meanwhile waits on.
    samples = HiddenField(validators=[required(_l("The form has lost its samples. Load the page again."))])
    note = StringField(_l("Note"), validators=[Length(max=200), printable])


class CorrectionForm(BaseForm):
    """A later word on one stored reading."""

    id = HiddenField(validators=[required(_l("The form has lost its number. Load the page again."))])
    what = RadioField(
        _l("What is wrong with it?"),
        choices=[SelectChoice("replace", _l("It was mistyped")), SelectChoice("void", _l("It should not count"))],
        validators=[required(_l("Say what is wrong with it."))],
    )
    value = StringField(_l("What the meter showed"), validators=[Optional()])
    reason = StringField(
        _l("Reason"),
        validators=[required(_l("Give the reason.")), Length(max=300, message=_l("Use at most 300 characters."))],
    )
