"""The form of a precision study's plan, and of one fill of it."""

from __future__ import annotations

from collections.abc import Iterable

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import BooleanField, FieldList, FormField, HiddenField, SelectField, SelectMultipleField, TextAreaField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import Length

from webapp.measure import nested
from webapp.store.gear import Meter
from webapp.store.methods import MethodVersion
from webapp.store.people import Person
from webapp.studies.forms import LONGEST_NAME, ReadingForm, version_name
from webapp.ui.fields import HundredthsField, WholeNumberField
from webapp.ui.forms import BaseForm, printable, required
from webapp.ui.record_fields import NOT_OFFERED, LineField, RecordIdField

MOST_FILLS, MOST_READINGS = 20, 10


def choose(label, message) -> SelectField:
    """One of a list, none to begin with."""
    return SelectField(label, validators=[required(message)], invalid_choice_message=NOT_OFFERED)


class StudyForm(BaseForm):
    """Which coffee, prepared and read by whom, how often; `seen`: what it takes, as it was shown before storing."""

    id = RecordIdField()
    seen = HiddenField()
    name = LineField(_l("Name"), message=_l("Give it a name."), most=LONGEST_NAME)
    coffee = LineField(_l("Coffee"), message=_l("Say which coffee."), most=LONGEST_NAME)
    method = choose(_l("Method"), _l("Choose the method."))
    meter = choose(_l("Meter"), _l("Choose the meter."))
    persons = SelectMultipleField(
        _l("Who takes part"), validators=[required(_l("Choose who takes part."))],
        validate_choice=False,
    )  # fmt: skip
    fills = WholeNumberField(
        _l("Fills of each person"), message=_l("Type how many fills."), least=2, most=MOST_FILLS
    )
    readings = WholeNumberField(
        _l("Readings of each fill"), message=_l("Type how many readings."), least=2, most=MOST_READINGS
    )
    minutes = HundredthsField(
        _l("Minutes for each fill, besides the timers"), message=_l("Type how many minutes."), least=0, most=60_00
    )
    grams = WholeNumberField(_l("Coffee for each fill"), least=1, most=1000)

    def __init__(
        self, *args, meters: Iterable[Meter], methods: Iterable[MethodVersion], people: Iterable[Person], **kwargs
    ) -> None:
        super().__init__(*args, **kwargs)
        self.meters = {meter.id: meter for meter in meters}
        self.methods = {method.id: method for method in methods}
        self.people = {person.id: person for person in people}
        nothing = SelectChoice("", _("Choose"))
        by_meter = [SelectChoice(m.id, f"{m.name} ({m.scale.name})") for m in self.meters.values()]
        by_method = [SelectChoice(v.id, version_name(v)) for v in self.methods.values()]
        self.meter.choices, self.method.choices = [nothing, *by_meter], [nothing, *by_method]
        self.persons.choices = [SelectChoice(person.id, person.name) for person in self.people.values()]

    @property
    def version(self) -> MethodVersion | None:
        """The method version; None while none is chosen."""
        return self.methods.get(self.method.data)

    def validate(self, extra_validators=None) -> bool:
        """Everybody is still here, and there is enough to say anything."""
        super().validate(extra_validators)
        if not self.persons.errors and not set(self.persons.data) <= set(self.people):
            self.persons.data = [id for id in self.persons.data if id in self.people]
            self.persons.errors = [_("Somebody of these does not work here any more. Choose again.")]
        if not (self.persons.errors or self.fills.errors or self.readings.errors):
            self.check_size()
        return not self.errors

    def check_size(self) -> None:
        """From the least size on, the numbers say something (nested.LEAST)."""
        size = (len(set(self.persons.data)), self.fills.data, self.readings.data)
        if any(all(have >= least for have, least in zip(size, wanted, strict=True)) for wanted in nested.LEAST):
            return
        (persons, fills, _readings), (_one, alone, readings) = nested.LEAST
        self.fills.errors = [
            _(
                "This is too little to say anything. It takes at least %(persons)d persons with %(fills)d fills each,"
                " or one person with %(alone)d fills, and %(readings)d readings of each fill.",
                persons=persons, fills=fills, alone=alone, readings=readings,
            )
        ]  # fmt: skip


class StudyFillForm(BaseForm):
    """One fill of a study, read by its own person."""

    id = RecordIdField()
    made_at = HiddenField()
    study = HiddenField()
    place = HiddenField()
    readings = FieldList(FormField(ReadingForm), max_entries=MOST_READINGS + 6)
    as_is = BooleanField(_l("Store it as it is: no further reading can be taken"))
    note = TextAreaField(_l("Note"), validators=[Length(max=2000), printable])

    @property
    def problems(self) -> list[tuple[str, str]]:
        """As every form's, with each reading's own by its number."""
        found = [(id, text) for id, text in super().problems if not id.startswith("readings")]
        for no, entry in enumerate(self.readings, 1):
            row, where = entry.form, _("Reading %(no)d", no=no)
            found += [(row.value.id, f"{where}: {text}") for text in [*row.value.errors, *row.void.errors]]
        return found
