"""The forms of scales, machines, meters with their plates, and grinders with their settings."""

from __future__ import annotations

from collections.abc import Iterable

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import RadioField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import Optional, ValidationError

from webapp.store.gear import Plate, Scale
from webapp.ui.fields import HundredthsField, ScaleNumberField
from webapp.ui.forms import BaseForm, required
from webapp.ui.record_fields import NOT_OFFERED, LineField, RecordIdField

# The largest end of a scale, in hundredths: far beyond any meter, and exact everywhere.
FARTHEST = 100_000_00
ENDS = {"least": -FARTHEST, "most": FARTHEST}


class NamedForm(BaseForm):
    """A name that nothing else of its kind has. `others`: (id, name) of what there is already."""

    id = RecordIdField()
    name = LineField(_l("Name"), message=_l("Give it a name."))

    def __init__(self, *args, others: Iterable[tuple[str, str]] = (), **kwargs):
        super().__init__(*args, **kwargs)
        self.others = list(others)

    def validate_name(self, field) -> None:
        """Two things of one name cannot be told apart at the bench."""
        name = field.data.casefold()
        if any(other.casefold() == name for other_id, other in self.others if other_id != self.id.data):
            raise ValidationError(_("This name is taken. Add something that tells the two apart."))


class ScaleForm(NamedForm):
    """A meter's number scale."""

    lower = HundredthsField(_l("Smallest number"), message=_l("Type the smallest number."), **ENDS)
    upper = HundredthsField(_l("Largest number"), message=_l("Type the largest number."), **ENDS)
    step = HundredthsField(_l("Step"), message=_l("Type the step."), least=1, most=FARTHEST)
    lighter = RadioField(
        _l("Which way is lighter?"),
        choices=[
            SelectChoice("1", _l("The larger number is lighter")),
            SelectChoice("-1", _l("The smaller number is lighter")),
        ],
        validators=[required(_l("Choose which number is the lighter one."))],
        invalid_choice_message=NOT_OFFERED,
    )

    def validate(self, extra_validators=None) -> bool:
        """The ends must be in order, and on the grid of the step."""
        super().validate(extra_validators)
        lower, upper, step = self.lower.data, self.upper.data, self.step.data
        if lower is not None and upper is not None and lower >= upper:
            self.upper.errors = [_("The largest number must be above the smallest one.")]
        elif step is not None:
            for field in (self.lower, self.upper):
                if field.data is not None and field.data % step:
                    field.errors = [off_grid(field, self.step)]
        return not self.errors


def off_grid(field: HundredthsField, step: HundredthsField) -> str:
    """What to say to an end of a scale that cannot be reached in whole steps, with the nearest ones that can."""
    below = field.data // step.data * step.data
    return _(
        "Readings go in steps of %(step)s, so this must be %(below)s or %(above)s.",
        step=step.show(step.data), below=field.show(below), above=field.show(below + step.data),
    )  # fmt: skip


def use_scale(form: PlateForm | MeterForm, scale: Scale) -> None:
    """Take plate values in hundredths: a certificate may be finer than what the meter shows."""
    form.assigned.on_scale(scale.lower, scale.upper, 1)
    form.tolerance.on_scale(1, scale.upper - scale.lower, 1)


class PlateForm(BaseForm):
    """What became of a meter's plate, with the reason. Needs `use_scale`, and `follow` the row before, if any."""

    id = RecordIdField()
    what = RadioField(
        _l("What happened?"),
        choices=[
            SelectChoice("replaced", _l("Replaced by another plate")),
            SelectChoice("reassigned", _l("The same plate has a new value")),
            SelectChoice("damaged", _l("Damaged: not used any more")),
        ],
        validators=[Optional()],
        invalid_choice_message=NOT_OFFERED,
    )
    plate_name = LineField(_l("Name or number of the plate"), message=_l("Type what stands on the plate."))
    assigned = ScaleNumberField(_l("Assigned value"), message=_l("Type the plate's value."))
    tolerance = ScaleNumberField(_l("Tolerance, plus or minus"), message=_l("Type the tolerance."))
    reason = LineField(_l("Why is it changed?"), message=_l("Say in a few words why."), most=200)

    before: Plate | None = None

    def follow(self, before: Plate | None) -> None:
        """Say which row this one comes after. The first value of a meter comes after none: nothing happened to it."""
        self.before = before
        if before is None:
            del self.what

    @property
    def change(self) -> str | None:
        """What happened: as chosen; where nobody chose, another name is another plate."""
        if self.before is None:
            return None
        return self.what.data or ("reassigned" if self.plate_name.data == self.before.name else "replaced")

    def validate(self, extra_validators=None) -> bool:
        """A damaged plate keeps its values, whatever the fields hold; a new value belongs to the same plate."""
        super().validate(extra_validators)
        if self.change == "damaged":
            for field in (self.plate_name, self.assigned, self.tolerance):
                field.errors = []
            if not self.before.usable:
                self.what.errors = [_("It is marked as damaged already.")]
        elif self.change == "reassigned" and self.plate_name.data != self.before.name and not self.plate_name.errors:
            self.plate_name.errors = [
                _("This is another name than %(name)s. Say that the plate was replaced, or keep its name.",
                  name=self.before.name)
            ]  # fmt: skip
        return not self.errors

    def values(self) -> tuple[str, int, int]:
        """Name, assigned value and tolerance to store."""
        if self.change == "damaged":
            return self.before.name, self.before.assigned, self.before.tolerance
        return self.plate_name.data, self.assigned.data, self.tolerance.data


class MeterForm(NamedForm):
    """A meter: its scale and, if there is one, its plate. `scales`: what to choose from."""

    scale = RadioField(
        _l("Scale"),
        validators=[required(_l("Choose the scale that this meter shows."))],
        invalid_choice_message=NOT_OFFERED,
    )
    plate_name = LineField(_l("Name or number of the plate"))
    assigned = ScaleNumberField(_l("Assigned value"))
    tolerance = ScaleNumberField(_l("Tolerance, plus or minus"))

    def __init__(self, *args, scales: Iterable[Scale], **kwargs):
        super().__init__(*args, **kwargs)
        self.scales = {scale.id: scale for scale in scales}
        self.scale.choices = [SelectChoice(scale.id, scale.name) for scale in self.scales.values()]
        if len(self.scales) == 1 and not self.scale.data:
            self.scale.data = next(iter(self.scales))
        if chosen := self.scales.get(self.scale.data):
            use_scale(self, chosen)
        else:
            self.assigned.on_no_scale()
            self.tolerance.on_no_scale()

    @property
    def has_plate(self) -> bool:
        """Whether any part of a plate was filled in."""
        return any(field.raw_data and field.raw_data[0].strip() for field in self.plate_fields)

    @property
    def plate_fields(self) -> tuple:
        """The three fields that go together."""
        return self.plate_name, self.assigned, self.tolerance

    def validate(self, extra_validators=None) -> bool:
        """All of a plate or nothing of it."""
        super().validate(extra_validators)
        if self.has_plate:
            for field, words in zip(self.plate_fields, self.words(), strict=True):
                if not field.errors and not field.data:
                    field.errors = [words]
        return not self.errors

    @staticmethod
    def words() -> tuple[str, str, str]:
        """What to say to each plate field that is missing."""
        return _("Type what stands on the plate."), _("Type the plate's value."), _("Type the tolerance.")


class SettingForm(BaseForm):
    """A grinder setting. `taken`: the names this grinder has already."""

    id = RecordIdField()
    name = LineField(_l("New setting"), message=_l("Type the setting as it stands on the grinder."))

    def __init__(self, *args, settings: Iterable[tuple[str, str]] = (), **kwargs):
        super().__init__(*args, **kwargs)
        self.settings = list(settings)

    def validate_name(self, field) -> None:
        """One name, one setting."""
        if any(name == field.data for setting_id, name in self.settings if setting_id != self.id.data):
            raise ValidationError(_("This grinder has this setting already."))
