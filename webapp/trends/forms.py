"""The forms of trends: freezing limits and giving them up, what is listened for, and a note on a signal."""

from __future__ import annotations

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import BooleanField, HiddenField, SelectField, TextAreaField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import Length

from webapp.store.trend_rules import Rules
from webapp.ui.cause_words import cause_choices
from webapp.ui.forms import BaseForm, printable, required
from webapp.ui.record_fields import NOT_OFFERED, LineField, RecordIdField

LONGEST_NOTE = 400
WHY = _l("Say in a few words why.")


class FreezeForm(BaseForm):
    """Freeze the limits of a stretch. first, last: its batches; seen: what the page showed of it."""

    id = RecordIdField()
    first = HiddenField()
    last = HiddenField()
    seen = HiddenField()
    reason = LineField(_l("Reason"), message=WHY, most=200)


class GiveUpForm(BaseForm):
    """Give the frozen limits up. seen: which ones."""

    id = RecordIdField()
    seen = HiddenField()
    reason = LineField(_l("Reason"), message=WHY, most=200)


class RulesForm(BaseForm):
    """What is listened for. The first rule is always on. seen: the choice that the page showed."""

    id = RecordIdField()
    seen = HiddenField()
    rule_2 = BooleanField(_l("Rule 2"))
    rule_3 = BooleanField(_l("Rule 3"))
    rule_4 = BooleanField(_l("Rule 4"))
    average = BooleanField(_l("Running mean"))
    reason = LineField(_l("Reason"), message=WHY, most=200)

    def rules(self) -> Rules:
        """What was ticked."""
        return Rules((1, *(no for no in (2, 3, 4) if self[f"rule_{no}"].data)), self.average.data)


def words_area(label) -> TextAreaField:
    """Room for a few sentences."""
    too_long = Length(max=LONGEST_NOTE, message=_l("Use at most %(max)d characters."))
    return TextAreaField(label, default="", validators=[too_long, printable], render_kw={"rows": 3})


class NoteForm(BaseForm):
    """What was behind a signal and what was done. seen: the newest note that the page showed; rule: what fired."""

    id = RecordIdField()
    seen = HiddenField()
    rule = HiddenField()
    cause = SelectField(
        _l("What was it?"), validators=[required(_l("Choose what it was, or that it is not known yet."))],
        invalid_choice_message=NOT_OFFERED,
    )  # fmt: skip
    note = words_area(_l("What was found"))
    done = words_area(_l("What was done"))
    closed = BooleanField(_l("Nothing is left to do"))

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.cause.choices = [SelectChoice("", _("Choose"))] + [SelectChoice(*one) for one in cause_choices()]

    def validate(self, extra_validators=None) -> bool:
        """What is closed has a cause, and a note says something."""
        super().validate(extra_validators)
        if self.cause.errors:
            return False
        said = self.note.data or self.done.data
        if self.cause.data == "unknown" and self.closed.data:
            self.cause.errors = [_("Before it is closed, say what it was. If nothing was found, choose chance.")]
        elif self.cause.data == "unknown" and not said:
            self.note.errors = [_("Say what is known so far, or what was looked at.")]
        elif self.cause.data == "other" and not said:
            self.note.errors = [_("Say what it was.")]
        return not self.errors
