"""What the forms that make a record share: its id, texts that may not be blank, and edits that cross."""

from __future__ import annotations

import uuid
from collections.abc import Callable

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import HiddenField, StringField
from wtforms.validators import Length, StopValidation

from webapp.ui.forms import printable

NOT_OFFERED = _l("This is not offered any more. Choose again.")


class RecordIdField(HiddenField):
    """The id of the record that this form makes: chosen when the form is opened, so that sending it twice makes one.

    What is no UUID is replaced by a fresh one.
    """

    def __init__(self, label=None, **kwargs):
        super().__init__(label, default=lambda: str(uuid.uuid4()), **kwargs)

    def process_formdata(self, valuelist) -> None:
        """Take a UUID in its usual spelling."""
        try:
            self.data = str(uuid.UUID(valuelist[0]))
        except (IndexError, ValueError):
            self.data = str(uuid.uuid4())

    def _value(self) -> str:
        return self.data


def filled(message) -> Callable:
    """Needed, and not only blanks."""

    def check(_form, field) -> None:
        if not (field.data or "").strip():
            raise StopValidation(message)

    return check


class LineField(StringField):
    """One line of text of at most `most` characters. `message`: what to say when it is empty; None: it may be."""

    def __init__(self, label=None, *, message=None, most: int = 60, **kwargs):
        validators = [Length(max=most, message=_l("Use at most %(max)d characters.")), printable]
        super().__init__(label, default="", validators=([filled(message)] if message else []) + validators, **kwargs)


def changed_meanwhile(form, newest) -> bool:
    """Whether somebody stored a version after this edit was opened; if so, say it beside the reason.

    form: with `id` (of the version it makes), `base` (the version it started from) and `reason`. newest: the version
    now in force, with `id`, `no` and `person_name`. Sent again, the form counts as started from the newest.
    """
    if newest.id in (form.base.data, form.id.data):
        return False
    form.reason.errors = [
        _(
            "%(name)s stored version %(no)d meanwhile. Look at it first. If you send this again, it comes after it.",
            name=newest.person_name or _("Somebody"), no=newest.no,
        )
    ]  # fmt: skip
    form.base.data = newest.id
    return True
