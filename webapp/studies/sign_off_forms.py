"""The forms of a sign-off: its plan, its conclusion, and its renewal or withdrawal."""

from __future__ import annotations

from collections.abc import Iterable

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import RadioField, TextAreaField
from wtforms.fields.choices import SelectChoice

from webapp.store.gear import Meter
from webapp.store.methods import MethodVersion
from webapp.store.people import Person
from webapp.studies.forms import MOST_FILLS, MOST_READINGS, choose, coffee_fault, coffee_names, version_name
from webapp.ui.fields import HundredthsField, WholeNumberField
from webapp.ui.forms import BaseForm, required
from webapp.ui.record_fields import NOT_OFFERED, LineField, RecordIdField

# With fewer the 90 % interval of the mean difference is about as wide as a single difference: five give 0.95 of its
# standard deviation to either side, six 0.82, ten 0.58 (t(0.95; n - 1) / sqrt(n)). Our own choice.
LEAST_CUPS, USUAL_CUPS, MOST_CUPS = 6, 10, 20
# One fill shows nothing of how the fills of one coffee vary.
LEAST_FILLS = 2
VALID_MONTHS = (0, 6, 12, 24)


class SignOffPlanForm(BaseForm):
    """Who is to be signed off for what, against whom, on which coffees."""

    id = RecordIdField()
    trainee = choose(_l("Trainee"), _l("Choose the trainee."))
    reference = choose(_l("Against whom: a roaster or lead"), _l("Choose whose samples stand for the shop's."))
    method = choose(_l("Method, and with it whole bean or ground"), _l("Choose the method."))
    meter = choose(_l("Meter, the same for both"), _l("Choose the meter."))
    coffees = TextAreaField(
        _l("Coffees, one a line"), validators=[required(_l("Type the coffees, one a line."))], render_kw={"rows": 10}
    )
    fills = WholeNumberField(_l("Fills"), message=_l("Type how many fills."), least=LEAST_FILLS, most=MOST_FILLS)
    readings = WholeNumberField(
        _l("Readings of each fill"), message=_l("Type how many readings."), least=1, most=MOST_READINGS
    )
    bound = HundredthsField(_l("Matches up to"), least=1, most=100_000_00)

    def __init__(
        self, *args, people: Iterable[Person], methods: Iterable[MethodVersion], meters: Iterable[Meter], **kwargs
    ) -> None:
        super().__init__(*args, **kwargs)
        people = list(people)
        self.people = {person.id: person for person in people}
        self.methods = {version.id: version for version in methods}
        self.meters = {meter.id: meter for meter in meters}
        options = {
            "trainee": [(p.id, p.name) for p in people if p.role == "trainee"],
            "reference": [(p.id, p.name) for p in people if p.role != "trainee"],
            "method": [(v.id, version_name(v)) for v in self.methods.values()],
            "meter": [(m.id, f"{m.name} ({m.scale.name})") for m in self.meters.values()],
        }
        for name, found in options.items():
            self[name].choices = [SelectChoice("", _("Choose"))] + [SelectChoice(*option) for option in found]

    def names(self) -> list[str]:
        """The coffees, one a line."""
        return coffee_names(self.coffees.data)

    def validate(self, extra_validators=None) -> bool:
        """Enough coffees, each once."""
        super().validate(extra_validators)
        names = self.names()
        few = _(
            "At least %(least)d coffees. There are %(num)d so far. With fewer nobody could show that they match: chance"
            " alone would be as large as the difference looked for.",
            least=LEAST_CUPS, num=len(names),
        ) if len(names) < LEAST_CUPS else ""  # fmt: skip
        if not self.coffees.errors and (said := coffee_fault(names, MOST_CUPS, few)):
            self.coffees.errors = [said]
        return not self.errors


def months_field() -> RadioField:
    """For how long a sign-off holds."""
    words = {0: _l("Without an end"), 6: _l("6 months"), 12: _l("12 months"), 24: _l("24 months")}
    choices = [SelectChoice(str(months), words[months]) for months in VALID_MONTHS]
    return RadioField(_l("Valid for"), choices=choices, default="12", invalid_choice_message=NOT_OFFERED)


class ConclusionForm(BaseForm):
    """What a lead makes of it. A reason is asked for where it is not signed off."""

    id = RecordIdField()
    what = RadioField(_l("What follows"), validators=[required(_l("Choose what follows."))],
                      invalid_choice_message=NOT_OFFERED)  # fmt: skip
    months = months_field()
    reason = LineField(_l("In your words"), most=200)

    def validate(self, extra_validators=None) -> bool:
        """A "not yet" says why."""
        super().validate(extra_validators)
        if self.what.data == "not_yet" and not self.reason.data:
            self.reason.errors = [_("Say in a few words why not yet, and what to practise.")]
        return not self.errors


class RenewForm(BaseForm):
    """A sign-off goes on, for how long and why."""

    id = RecordIdField()
    months = months_field()
    reason = LineField(_l("Reason"), message=_l("Say in a few words why."), most=200)


class WithdrawForm(BaseForm):
    """A sign-off is taken back, and why."""

    id = RecordIdField()
    reason = LineField(_l("Reason"), message=_l("Say in a few words why."), most=200)
