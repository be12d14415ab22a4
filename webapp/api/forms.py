"""The form of a new key."""

from __future__ import annotations

from flask_babel import lazy_gettext as _l

from webapp.ui.forms import BaseForm, NameField
from webapp.ui.record_fields import RecordIdField


class KeyForm(BaseForm):
    """What will use the key. The id comes with the form, so that sending it twice makes one key."""

    id = RecordIdField()
    name = NameField(_l("What will read with it"), message=_l("Say which program or machine will use this key."))
