"""The forms of a grinder's log and of its grind checks; the same ones for a page and for a tablet's outbox."""

from __future__ import annotations

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import HiddenField, RadioField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import ValidationError

from webapp.store.gear import Grinder
from webapp.store.grinder_log import WHATS
from webapp.ui.fields import HundredthsField, WholeNumberField
from webapp.ui.forms import BaseForm
from webapp.ui.record_fields import LineField, RecordIdField

CUPPING_SIEVE_UM = 850
MOST_CG = 100_000_00


class GrinderForm(BaseForm):
    """What both have: the record's id, when it was made by the tablet's clock, the grinder and one of its settings."""

    id = RecordIdField()
    made_at = HiddenField()
    grinder = HiddenField()
    setting = RadioField(_l("Setting"), validate_choice=False)
    choose = _l("Choose the setting.")

    def of(self, there: Grinder) -> GrinderForm:
        """The form for this grinder."""
        self.there = there
        self.grinder.data = there.id
        if self.setting:
            self.setting.choices = [SelectChoice(s.id, s.name) for s in there.settings]
        return self

    def validate_setting(self, field) -> None:
        """One of this grinder's own."""
        if not field.data:
            raise ValidationError(self.choose)
        if field.data not in {setting.id for setting in self.there.settings}:
            raise ValidationError(_("This is no setting of %(name)s. Choose again.", name=self.there.name))

    def refuse_retired(self) -> None:
        """Say beside the first field that nothing is done on a grinder that is out of use."""
        if not self.there.active:
            text = _("%(name)s is retired. A lead can bring it back into use first.", name=self.there.name)
            field = self.setting or self.note
            field.errors = [*field.errors, text]


class LogForm(GrinderForm):
    """An entry of the log. `kind` says what was done; only where the setting was moved is there a setting."""

    what = HiddenField()
    note = LineField(_l("Note"), most=200)
    choose = _l("Choose where the grinder stands now.")

    def of_kind(self, what: str) -> LogForm:
        """The form for one kind of entry."""
        self.what.data = what
        if what != "setting":
            del self.setting
        return self

    def validate_what(self, field) -> None:
        """One of the four."""
        if field.data not in WHATS:
            raise ValidationError(_("Say what was done to the grinder."))

    @property
    def setting_id(self) -> str | None:
        """Where the grinder stands now, if it was moved."""
        return self.setting.data if self.setting else None


class GrindCheckForm(GrinderForm):
    """How much of a ground sample passes a sieve. Masses in grams, kept in hundredths."""

    choose = _l("Choose the setting it was ground at.")
    coffee = LineField(_l("Coffee"), most=80)
    sieve = WholeNumberField(
        _l("Sieve opening"), message=_l("Type the opening of the sieve."), least=1, most=10_000,
        default=CUPPING_SIEVE_UM,
    )
    total = HundredthsField(_l("Mass of all"), message=_l("Type the mass of all."), least=1, most=MOST_CG)
    passing = HundredthsField(_l("Mass that passed"), message=_l("Type what passed."), least=0, most=MOST_CG)
    note = LineField(_l("Note"), most=200)

    def validate(self, extra_validators=None) -> bool:
        """What passes is a part of all."""
        super().validate(extra_validators)
        total, passing = self.total.data, self.passing.data
        if total is not None and passing is not None and passing > total:
            text = _("More passed than there was. Type what went through the sieve, not more than the mass of all.")
            self.passing.errors = [*self.passing.errors, text]
        return not self.errors
