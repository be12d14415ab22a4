"""The forms of a meter check and of its rule."""

from __future__ import annotations

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import BooleanField, FieldList, Form, FormField, HiddenField, RadioField, TextAreaField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import Length

from webapp.store.gear import Plate, Scale
from webapp.store.meter_rules import CLOCK
from webapp.ui.fields import MeterReadingField, WholeNumberField
from webapp.ui.forms import BaseForm, printable, required
from webapp.ui.record_fields import LineField, RecordIdField

# A plate read as far off as this many tolerances may be coffee: our own convention, no source.
FAR_TOLERANCES = 5
MOST_ROWS = 10


class PlateReadingForm(Form):
    """One reading of the plate, and the answer to "is that right?"."""

    value = MeterReadingField(_l("Reading"))
    sure = BooleanField(_l("Yes, it is the plate that I read"))


class CheckStepForm(Form):
    """A step of the check: ticked, and when by the tablet's clock."""

    done = BooleanField(_l("Done"))
    at = HiddenField()


class CheckForm(BaseForm):
    """Readings of a meter's plate, as found and, after an adjustment, as left. Needs `use`."""

    id = RecordIdField()
    made_at = HiddenField()
    meter = HiddenField()
    plate = HiddenField()
    checklist = HiddenField(default="page")
    steps = FieldList(FormField(CheckStepForm), min_entries=4, max_entries=4)
    plate_typed = LineField(_l("Name or number of the plate"), message=_l("Type what stands on the plate."))
    found = FieldList(FormField(PlateReadingForm), max_entries=MOST_ROWS)
    adjusted = BooleanField(_l("I adjusted the meter, and read the plate again"))
    left = FieldList(FormField(PlateReadingForm), max_entries=MOST_ROWS)
    note = TextAreaField(_l("Note"), validators=[Length(max=2000), printable])

    def use(self, scale: Scale, plate: Plate, planned: int) -> None:
        """Say which plate is read, on which scale, how many times."""
        self.scale, self.wanted, self.planned = scale, plate, planned
        for rows in (self.found, self.left):
            while len(rows) < planned:
                rows.append_entry()
            for row in rows:
                row.form.value.on_scale(scale.lower, scale.upper, scale.step)
                row.form.asked = False

    @property
    def stages(self) -> list[tuple[str, FieldList]]:
        """(stage, rows) of what was read."""
        return [("found", self.found), *([("left", self.left)] if self.adjusted.data else [])]

    @property
    def problems(self) -> list[tuple[str, str]]:
        """As every form's, with each reading's own by its place."""
        found = [(id, text) for id, text in super().problems if not id.startswith(("found", "left", "steps"))]
        words = {"found": _("As found"), "left": _("As left")}
        for stage, rows in self.stages:
            for no, row in enumerate(rows, 1):
                field = row.form.value
                found += [(field.id, f"{words[stage]}, {no}: {text}") for text in field.errors]
        return found

    def validate(self, extra_validators=None) -> bool:
        """The right plate, read as often as planned, and nothing that looks like coffee unasked."""
        super().validate(extra_validators)
        if not self.plate_typed.errors and not same_plate(self.plate_typed.data, self.wanted.name):
            self.plate_typed.errors = [
                _(
                    "This meter is checked on %(wanted)s, and here stands %(typed)s. Take that plate. If the meter has"
                    " a new one, a lead sets its value first.",
                    wanted=self.wanted.name, typed=self.plate_typed.data,
                )
            ]  # fmt: skip
        for _stage, rows in self.stages:
            for no, row in enumerate(rows, 1):
                self.check_row(row.form, no)
        return not self.problems

    def check_row(self, row: PlateReadingForm, no: int) -> None:
        """Messages go beside the reading."""
        value = row.value
        if value.errors:
            return
        if value.data is None:
            if no <= self.planned:
                value.errors = [_("Type what the meter shows.")]
        elif abs(value.data - self.wanted.assigned) > FAR_TOLERANCES * self.wanted.tolerance:
            row.asked = True
            if not row.sure.data:
                value.errors = [
                    _(
                        "The plate should read about %(value)s. Is this the plate, and not coffee? Tick the box, or"
                        " type it again.",
                        value=value.show(self.wanted.assigned),
                    )
                ]


def same_plate(typed: str, name: str) -> bool:
    """The same but for capitals and blanks."""
    return "".join(typed.split()).casefold() == "".join(name.split()).casefold()


class RuleForm(BaseForm):
    """When a meter is to be checked."""

    id = RecordIdField()
    due = RadioField(
        _l("When is it to be checked?"),
        choices=[
            SelectChoice("shift", _l("At the start of every shift")),
            SelectChoice("hours", _l("Every so many hours")),
            SelectChoice("samples", _l("Every so many samples")),
            SelectChoice("never", _l("Never: nobody is asked")),
        ],
        validators=[required(_l("Choose when."))],
    )
    shift_starts = LineField(_l("Shifts begin at"))
    every = WholeNumberField(_l("How many hours or samples"), least=1, most=10000)
    warm_up = WholeNumberField(_l("Warm-up before a check"), least=0, most=120)
    planned = WholeNumberField(_l("Readings of the plate"), message=_l("Say how many readings."), least=1, most=10)
    reason = LineField(_l("Why is it changed?"), message=_l("Say in a few words why."), most=200)

    def validate(self, extra_validators=None) -> bool:
        """Each way of being due with what it needs."""
        super().validate(extra_validators)
        if self.due.data == "shift" and not self.shift_starts.errors:
            starts = tidy_starts(self.shift_starts.data)
            if not starts or not all(map(CLOCK.fullmatch, starts)):
                self.shift_starts.errors = [_("Type the times at which shifts begin, as in 06:00 14:00 22:00.")]
        if self.due.data in ("hours", "samples") and self.every.data is None and not self.every.errors:
            self.every.errors = [_("Say how many.")]
        return not self.errors


def tidy_starts(text: str | None) -> list[str]:
    """Clock times as typed, in order: `6:00, 14.00` -> ["06:00", "14:00"]. What is none stays as it is."""
    found = []
    for part in (text or "").replace(",", " ").replace(";", " ").split():
        hours, mark, minutes = part.replace(".", ":").partition(":")
        found.append(f"{hours.zfill(2)}:{minutes}" if mark else f"{part.zfill(2)}:00")
    return sorted(set(found))
