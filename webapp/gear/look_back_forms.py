"""The form that settles one sample of a look-back."""

from __future__ import annotations

from flask_babel import lazy_gettext as _l
from wtforms import HiddenField, TextAreaField
from wtforms.validators import Length

from webapp.ui.forms import BaseForm, printable
from webapp.ui.record_fields import RecordIdField, filled


class SettleForm(BaseForm):
    """Why a sample is accepted, or put on hold."""

    id = RecordIdField()
    # The address says these; the same stands in the form for the tablet's outbox.
    check = HiddenField()
    sample = HiddenField()
    what = HiddenField()
    reason = TextAreaField(
        _l("Reason"),
        validators=[
            filled(_l("Give the reason: it stays on the record.")),
            Length(max=500, message=_l("Use at most %(max)d characters.")),
            printable,
        ],
    )
