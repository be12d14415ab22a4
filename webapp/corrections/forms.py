"""The forms of corrections: each has a reason, and a number by which it is stored once."""

from __future__ import annotations

from flask_babel import lazy_gettext as _l
from wtforms import HiddenField, RadioField, StringField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import Length, Optional

from webapp.ui.batch_form import BatchForm
from webapp.ui.forms import BaseForm, printable, required


def number_field() -> HiddenField:
    """The number under which a correction is stored."""
    return HiddenField(validators=[required(_l("The form has lost its number. Load the page again."))])


def reason_field() -> StringField:
    """Why: it stays on the record."""
    return StringField(
        _l("Reason"),
        validators=[required(_l("Give the reason.")), Length(max=300, message=_l("Use at most 300 characters."))]
        + [printable],
    )


class ReadingForm(BaseForm):
    """A later word on one stored reading."""

    id = number_field()
    what = RadioField(
        _l("What is wrong with it?"),
        choices=[SelectChoice("replace", _l("It was mistyped")), SelectChoice("void", _l("It should not count"))],
        validators=[required(_l("Say what is wrong with it."))],
    )
    value = StringField(_l("What the meter showed"), validators=[Optional()])
    reason = reason_field()


class MoveForm(BaseForm):
    """The batch that a sample was really read of."""

    id = number_field()
    # The batch that it was in when the page was opened.
    from_batch = HiddenField(validators=[required(_l("The form has lost its number. Load the page again."))])
    # The batch for which it was said what will be otherwise there.
    understood = HiddenField()
    batch = RadioField(_l("Which batch was it read of?"), validators=[required(_l("Choose the batch."))])
    code = StringField(
        _l("Find another batch by its code"),
        validators=[Length(max=40, message=_l("Use at most 40 characters.")), printable],
    )
    reason = reason_field()


class FactsForm(BatchForm):
    """A batch's facts as they stand, to put right what is wrong."""

    id = number_field()
    # The newest correction when the page was opened.
    seen = HiddenField()
    reason = reason_field()
