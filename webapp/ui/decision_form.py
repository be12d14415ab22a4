"""The form of a decision: on the result screen, on its own page, and out of a tablet's outbox."""

from __future__ import annotations

import uuid

from flask_babel import lazy_gettext as _l
from wtforms import HiddenField, StringField, TextAreaField
from wtforms.validators import Length

from webapp.store.decisions import Decision
from webapp.ui.forms import BaseForm, printable, required


class DecisionForm(BaseForm):
    """What becomes of a batch, with its reason. seen: the id of the newest decision that was on the page."""

    id = HiddenField(validators=[required(_l("The form has lost its number. Load the page again.")), Length(max=60)])
    what = HiddenField(validators=[required(_l("Choose what becomes of the batch."))])
    seen = HiddenField()
    reason = TextAreaField(
        _l("Reason"), validators=[Length(max=500, message=_l("Use at most 500 characters.")), printable]
    )
    customer = StringField(
        _l("Customer"), validators=[Length(max=80, message=_l("Use at most 80 characters.")), printable]
    )


def blank_form(what: str, last: Decision | None) -> DecisionForm:
    """An empty form for a decision on a batch about which `last` was decided."""
    return DecisionForm(formdata=None, id=str(uuid.uuid4()), what=what, seen=last.id if last else "")
