"""The form of a plan, of one coffee read on one side, and of the outcome."""

from __future__ import annotations

from collections.abc import Iterable

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import (
    BooleanField,
    FieldList,
    Form,
    FormField,
    HiddenField,
    RadioField,
    SelectField,
    SelectMultipleField,
    StringField,
    TextAreaField,
)
from wtforms.fields.choices import SelectChoice
from wtforms.validators import Length

from webapp.measure.compare import LEAST_COFFEES
from webapp.store.comparisons import NewSide
from webapp.store.gear import Grinder, Meter
from webapp.store.methods import MethodVersion
from webapp.ui.fields import HundredthsField, WholeNumberField
from webapp.ui.filters import method_text
from webapp.ui.forms import BaseForm, printable, required
from webapp.ui.record_fields import NOT_OFFERED, LineField, RecordIdField

MOST_COFFEES = 40
LONGEST_NAME = 80
MOST_FILLS, MOST_READINGS = 4, 10
# Fields of the plan that only some plans have. What is compared has two fields, what is the same on both sides one.
FIELDS = {
    "meters": ("method", "a_meter", "b_meter"),
    "grinders": ("method", "meter", "a_setting", "b_setting"),
    "methods": ("a_method", "b_method", "meter"),
}
OWN = {name for fields in FIELDS.values() for name in fields}

VOID_REASONS = [
    SelectChoice("", _l("counts")),
    SelectChoice("mistyped", _l("mistyped")),
    SelectChoice("moved", _l("meter moved")),
    SelectChoice("other", _l("failed")),
]


def choose(label, message) -> SelectField:
    """One of a list, none to begin with."""
    return SelectField(label, validators=[required(message)], invalid_choice_message=NOT_OFFERED)


def coffee_names(text: str | None) -> list[str]:
    """The coffees that were typed, one a line."""
    return [" ".join(line.split()) for line in (text or "").splitlines() if line.strip()]


def coffee_fault(names: list[str], most: int, few: str) -> str:
    """What is wrong with a list of coffees, or "". `few`: what to say if they are too few, "" if they are not."""
    folded = [name.casefold() for name in names]
    twice = next((name for name, low in zip(names, folded, strict=True) if folded.count(low) > 1), None)
    if twice is not None:
        return _("%(name)s stands there twice. Two coffees need two names.", name=twice[:LONGEST_NAME])
    if any(len(name) > LONGEST_NAME for name in names):
        return _("Use at most %(max)d characters for a coffee.", max=LONGEST_NAME)
    if any(not name.isprintable() for name in names):
        return _("There is a character in this text that cannot be shown.")
    return few or (_("Use at most %(max)d coffees.", max=most) if len(names) > most else "")


class PlanForm(BaseForm):
    """What is compared, on which coffees, how closely. Side a is what the targets were made with."""

    id = RecordIdField()
    name = LineField(_l("Name"), message=_l("Give it a name."), most=LONGEST_NAME)
    method = choose(_l("Method, the same on both sides"), _l("Choose the method."))
    meter = choose(_l("Meter, the same on both sides"), _l("Choose the meter."))
    a_meter = choose(_l("Meter that the targets were made with"), _l("Choose the meter."))
    b_meter = choose(_l("Meter to be used from now on"), _l("Choose the meter."))
    a_setting = choose(_l("Setting that the targets were made with"), _l("Choose the setting."))
    b_setting = choose(_l("Setting to be used from now on"), _l("Choose the setting."))
    a_method = choose(_l("Method version that the targets were made with"), _l("Choose the method version."))
    b_method = choose(_l("Method version to be used from now on"), _l("Choose the method version."))
    coffees = TextAreaField(_l("Coffees, one a line"), validators=[required(_l("Type the coffees, one a line."))])
    fills = WholeNumberField(_l("Fills"), message=_l("Type how many fills."), least=1, most=MOST_FILLS)
    readings = WholeNumberField(
        _l("Readings of each fill"), message=_l("Type how many readings."), least=1, most=MOST_READINGS
    )
    bound = HundredthsField(_l("Still the same"), least=1, most=100_000_00)
    blind = BooleanField(_l("Blind: whoever reads sees a code instead of the coffee's name"))

    in_turn = BooleanField(_l("All coffees at the first setting, then all at the second: burrs are changed in between"))

    def __init__(
        self, *args, what: str, meters: Iterable[Meter], methods: Iterable[MethodVersion], grinders: Iterable[Grinder],
        **kwargs,
    ) -> None:  # fmt: skip
        super().__init__(*args, **kwargs)
        self.what = what
        self.meters = {meter.id: meter for meter in meters}
        self.methods = {method.id: method for method in methods}
        grinders = list(grinders)
        self.grinder_of = {setting.id: grinder.id for grinder in grinders for setting in grinder.settings}
        by_meter = [(m.id, f"{m.name} ({m.scale.name})") for m in self.meters.values()]
        by_method = [(v.id, version_name(v)) for v in self.methods.values() if what != "grinders" or v.kind == "ground"]
        by_setting = [(s.id, f"{grinder.name}, {s.name}") for grinder in grinders for s in grinder.settings]
        for name in OWN - set(FIELDS[what]):
            del self[name]
        for name in FIELDS[what]:
            options = by_meter if "meter" in name else by_setting if "setting" in name else by_method
            self[name].choices = [SelectChoice("", _("Choose"))] + [SelectChoice(*option) for option in options]

    @property
    def version(self) -> MethodVersion | None:
        """The method version of side a; None while none is chosen."""
        return self.methods.get(self["a_method" if self.what == "methods" else "method"].data)

    @property
    def chosen_meter(self) -> Meter | None:
        """The meter of side a; None while none is chosen."""
        return self.meters.get(self["a_meter" if self.what == "meters" else "meter"].data)

    def sides(self) -> tuple[NewSide, NewSide]:
        """Both sides of a form whose fields are filled in."""
        found = []
        for side in ("a", "b"):
            method = self.methods[self[f"{side}_method" if self.what == "methods" else "method"].data]
            meter = self[f"{side}_meter" if self.what == "meters" else "meter"].data
            setting = self[f"{side}_setting"].data if self.what == "grinders" else method.grinder_setting_id
            found.append(NewSide(meter, method.id, setting))
        return found[0], found[1]

    def names(self) -> list[str]:
        """The coffees, one a line."""
        return coffee_names(self.coffees.data)

    def validate(self, extra_validators=None) -> bool:
        """The sides differ and can be compared; there are enough coffees, each once."""
        super().validate(extra_validators)
        if not self.coffees.errors:
            self.check_coffees()
        if not any(self[name].errors for name in FIELDS[self.what]):
            self.check_sides()
        return not self.errors

    def check_coffees(self) -> None:
        """Enough of them, each once, each short enough."""
        names = self.names()
        few = _(
            "A comparison needs at least %(least)d coffees. There are %(num)d so far.",
            least=LEAST_COFFEES, num=len(names),
        ) if len(names) < LEAST_COFFEES else ""  # fmt: skip
        if said := coffee_fault(names, MOST_COFFEES, few):
            self.coffees.errors = [said]

    def check_sides(self) -> None:
        """Two different things that can be compared; messages go beside side b."""
        a, b = self.sides()
        last = self[FIELDS[self.what][-1] if self.what != "methods" else "b_method"]
        if a == b:
            last.errors = [_("Both sides are the same. Choose another one here.")]
        elif self.meters[a.meter_id].scale.id != self.meters[b.meter_id].scale.id:
            last.errors = [_("These two meters show different scales, so their numbers cannot be laid side by side.")]
        elif self.methods[a.method_version_id].kind != self.methods[b.method_version_id].kind:
            last.errors = [_("One of these is for whole bean, the other for ground. Choose two of one kind.")]


def version_name(version: MethodVersion) -> str:
    """A method's version in a list."""
    return _("%(name)s, version %(no)d", name=method_text(version.name), no=version.no)


class ReadingForm(Form):
    """One reading: the number, whether it counts, and the answer to "is that right?"."""

    value = StringField(_l("Reading"), validators=[Length(max=40, message=_l("Use at most 40 characters."))])
    void = SelectField(_l("Does it count?"), choices=VOID_REASONS, default="", invalid_choice_message=NOT_OFFERED)
    sure = BooleanField(_l("Yes, it is as I typed it"))


class FillForm(Form):
    """The readings of one fill."""

    readings = FieldList(FormField(ReadingForm), max_entries=MOST_READINGS + 6)


class SampleForm(BaseForm):
    """One coffee of a comparison, read on one side."""

    id = RecordIdField()
    made_at = HiddenField()
    comparison = HiddenField()
    coffee = HiddenField()
    side = HiddenField()
    fills = FieldList(FormField(FillForm), max_entries=MOST_FILLS)
    as_is = BooleanField(_l("Store it as it is: no further reading can be taken"))
    note = TextAreaField(_l("Note"), validators=[Length(max=2000), printable])

    @property
    def problems(self) -> list[tuple[str, str]]:
        """As every form's, with each reading's own by its fill and number."""
        found = [(id, text) for id, text in super().problems if not id.startswith("fills")]
        for fill_no, fill in enumerate(self.fills, 1):
            for no, entry in enumerate(fill.form.readings, 1):
                row, where = entry.form, _("Fill %(fill)d, reading %(no)d", fill=fill_no, no=no)
                found += [(row.value.id, f"{where}: {text}") for text in [*row.value.errors, *row.void.errors]]
        return found


class OutcomeForm(BaseForm):
    """What a lead concludes, why, and which products' targets move."""

    id = RecordIdField()
    outcome = RadioField(
        _l("Outcome"), validators=[required(_l("Choose the outcome."))], invalid_choice_message=NOT_OFFERED
    )
    reason = LineField(_l("Reason"), message=_l("Say in a few words why."), most=200)
    move = SelectMultipleField(_l("Move the targets of"))
