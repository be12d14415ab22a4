"""The form of a method version, and rearranging its steps without storing anything."""

from __future__ import annotations

import re
from collections.abc import Iterable

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from werkzeug.datastructures import MultiDict
from wtforms import FieldList, FormField, HiddenField, RadioField, SelectField, TextAreaField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import Length, ValidationError

from webapp.gear.forms import NamedForm
from webapp.gear.pictures import picture_choices
from webapp.store.gear import Grinder
from webapp.store.methods import MethodVersion, Step
from webapp.ui.fields import DurationField, WholeNumberField
from webapp.ui.forms import BaseForm, flat, printable, required
from webapp.ui.record_fields import NOT_OFFERED, LineField, RecordIdField

MOST_STEPS = 30
BUTTONS = ("add", "remove", "up", "down")


def text_field(label, most: int = 600) -> TextAreaField:
    """Several lines of text, which may be empty."""
    too_long = Length(max=most, message=_l("Use at most %(max)d characters."))
    return TextAreaField(label, default="", validators=[too_long, printable], render_kw={"rows": 3})


class StepForm(BaseForm):
    """One step of a method."""

    class Meta(BaseForm.Meta):
        """Part of a form that has its own token."""

        csrf = False

    title = LineField(_l("What to do"), message=_l("Say in a few words what to do."), most=80)
    body = text_field(_l("How to do it"))
    why = text_field(_l("Why"))
    caution = text_field(_l("Caution"))
    picture = SelectField(_l("Picture"), default="", invalid_choice_message=NOT_OFFERED)
    done_label = LineField(_l("Button"), most=40)
    timer = DurationField(_l("Waiting time"))
    note_label = LineField(_l("Value to note"), most=40)
    note_unit = LineField(_l("Its unit"), most=12)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.picture.choices = [SelectChoice(name, words) for name, words in picture_choices()]
        if self.picture.data and self.picture.data not in dict(picture_choices()):
            # A drawing that is gone since: keep its name rather than lose it silently.
            self.picture.choices.append(SelectChoice(self.picture.data))

    def validate_note_unit(self, field) -> None:
        """A unit alone says nothing."""
        if field.data and not self.note_label.data:
            raise ValidationError(_("Say what the value is, or leave the unit empty."))

    def as_step(self, no: int) -> Step:
        """What the store keeps."""
        return Step(
            no, self.title.data, self.body.data, self.why.data, self.done_label.data, self.picture.data,
            self.caution.data, self.timer.data, self.note_label.data, self.note_unit.data,
        )  # fmt: skip


class VersionForm(BaseForm):
    """What one version of a method says. `base` is the version that the edit started from."""

    id = RecordIdField()
    base = HiddenField()
    dish = LineField(_l("Dish"))
    planned_readings = WholeNumberField(_l("Readings of each fill"), message=_l("Type how many."), least=1, most=10)
    planned_fills = WholeNumberField(_l("Fills"), message=_l("Type how many."), least=1, most=4)
    setting = SelectField(_l("Grinder setting"), default="", invalid_choice_message=NOT_OFFERED)
    steps = FieldList(FormField(StepForm), min_entries=1, max_entries=MOST_STEPS)
    reason = LineField(_l("Why is it changed?"), message=_l("Say in a few words why."), most=200)

    def offer_settings(self, grinders: Iterable[Grinder]) -> None:
        """The settings to choose from."""
        found = [SelectChoice(s.id, f"{grinder.name}: {s.name}") for grinder in grinders for s in grinder.settings]
        self.setting.choices = [SelectChoice("", _("No setting")), *found]

    @property
    def problems(self) -> list[tuple[str, str]]:
        """(field id, message) in the order of the fields; those of a step name the step."""
        found = []
        # A new method is asked first what it prepares, although that field is its own and not every version's.
        for field in sorted(self, key=lambda field: field.short_name != "kind"):
            if field is not self.steps:
                found += [(field.id, message) for message in flat(field.errors)]
                continue
            for no, entry in enumerate(field.entries, start=1):
                for inner in entry.form:
                    found += [
                        (inner.id, _("Step %(no)d: %(message)s", no=no, message=message)) for message in inner.errors
                    ]
        return found

    def version(self) -> dict:
        """The keyword arguments that both writing functions of the store share."""
        return {
            "dish": self.dish.data,
            "planned_readings": self.planned_readings.data,
            "planned_fills": self.planned_fills.data,
            "grinder_setting_id": (self.setting.data or None) if "setting" in self else None,
            "steps": [entry.form.as_step(no) for no, entry in enumerate(self.steps.entries, start=1)],
        }


class MethodForm(NamedForm, VersionForm):
    """A new method: its name, what it prepares, and its first version."""

    kind = RadioField(
        _l("What is prepared?"),
        choices=[SelectChoice("whole", _l("Whole bean")), SelectChoice("ground", _l("Ground"))],
        validators=[required(_l("Choose what this method prepares."))],
        invalid_choice_message=NOT_OFFERED,
    )
    reason = None

    def validate_setting(self, field) -> None:
        """Whole beans have not been through a grinder."""
        if field.data and self.kind.data == "whole":
            raise ValidationError(_("A grinder setting belongs to ground coffee only."))


def form_data(version: MethodVersion) -> dict:
    """A stored version as the form's data."""
    steps = [
        {name: getattr(step, name) for name in ("title", "body", "why", "caution", "picture", "done_label")}
        | {"timer": step.timer_s, "note_label": step.note_label, "note_unit": step.note_unit}
        for step in version.steps
    ]
    return {
        "base": version.id, "dish": version.dish, "planned_readings": version.planned_readings,
        "planned_fills": version.planned_fills, "setting": version.grinder_setting_id or "", "steps": steps,
    }  # fmt: skip


# Rearranging ---------------------------------------------------------------------------------------------------


def step_rows(sent: MultiDict) -> list[dict[str, str]]:
    """The typed fields of each step, in order."""
    rows: dict[int, dict[str, str]] = {}
    for name, value in sent.items():
        if match := re.fullmatch(r"steps-([0-9]{1,3})-([a-z_]+)", name):
            rows.setdefault(int(match[1]), {})[match[2]] = value
    return [rows[index] for index in sorted(rows)]


def rearranged(sent: MultiDict) -> MultiDict | None:
    """The form's typed text with a step added after, removed, or moved, as the pressed button says.

    None if none of these buttons was pressed, or one that names no step.
    """
    pressed = [(button, sent[button]) for button in BUTTONS if button in sent]
    if len(pressed) != 1 or not re.fullmatch(r"[0-9]{1,3}", pressed[0][1]):
        return None
    rows = step_rows(sent)
    move(rows, pressed[0][0], int(pressed[0][1]))
    kept = [(k, v) for k, v in sent.items(multi=True) if not k.startswith("steps-") and k not in BUTTONS]
    moved = [(f"steps-{no}-{name}", value) for no, row in enumerate(rows) for name, value in row.items()]
    return MultiDict(kept + moved)


def move(rows: list[dict[str, str]], button: str, no: int) -> None:
    """Do what the button of step `no` (from 1) says; what cannot be done is left as it is."""
    at = no - 1
    if button == "add" and len(rows) < MOST_STEPS:
        rows.insert(no, {"title": ""})
    elif button == "remove" and len(rows) > 1 and 0 <= at < len(rows):
        del rows[at]
    elif button == "up" and 0 < at < len(rows):
        rows[at - 1 : at + 1] = [rows[at], rows[at - 1]]
    elif button == "down" and 0 <= at < len(rows) - 1:
        rows[at : at + 2] = [rows[at + 1], rows[at]]
