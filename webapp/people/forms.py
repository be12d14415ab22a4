"""The forms of people, tablets and the site."""

from __future__ import annotations

import re

from flask_babel import lazy_gettext as _l
from wtforms import BooleanField, PasswordField, RadioField, SelectChoice, StringField
from wtforms.validators import ValidationError

from webapp.people.pins import pin_fault
from webapp.people.zones import find_zone
from webapp.ui.forms import BaseForm, NameField, printable, required

ROLE_CHOICES = [
    SelectChoice("trainee", _l("Trainee: measures, walking every step")),
    SelectChoice("roaster", _l("Roaster: measures, and releases what is in band")),
    SelectChoice("lead", _l("Lead: everything, also targets, methods, gear and people")),
]


def zone_is_known(_form, field) -> None:
    """Refuse a time zone that is in no list; keep the right spelling of one that is."""
    zone = find_zone(field.data or "")
    if zone is None:
        raise ValidationError(_l("There is no time zone of this name. Choose one from the list."))
    field.data = zone


def zone_field() -> StringField:
    """A time zone by name, with a list to choose from."""
    validators = [required(_l("Say which time zone the roastery is in.")), printable, zone_is_known]
    return StringField(_l("Time zone"), validators=validators, render_kw={"list": "zones"})


def pin_is_fit(_form, field) -> None:
    """Six digits, and not a first guess."""
    if fault := pin_fault(field.data or ""):
        raise ValidationError(fault)


def pin_is_same(form, field) -> None:
    """The PIN again, as a check of what was typed blind."""
    if not form.pin.errors and field.data != form.pin.data:
        raise ValidationError(_l("The two PINs differ. Type the same six digits twice."))


def new_pin_field(label) -> PasswordField:
    """A PIN to be set."""
    return PasswordField(label, validators=[required(_l("Choose a PIN of six digits.")), pin_is_fit])


def again_field() -> PasswordField:
    """The same PIN once more."""
    return PasswordField(_l("The same PIN again"), validators=[required(_l("Type the PIN twice.")), pin_is_same])


def role_field() -> RadioField:
    """One of the three roles."""
    unknown = _l("Choose a role.")
    return RadioField(_l("Role"), choices=ROLE_CHOICES, validators=[required(unknown)], invalid_choice_message=unknown)


class WholeNumberField(StringField):
    """A whole number between two limits, typed as text so that what was typed is shown again."""

    def __init__(self, label=None, *, least: int, most: int, message, **kwargs):
        self.least, self.most, self.message = least, most, message
        super().__init__(label, **kwargs)

    @property
    def number(self) -> int | None:
        """What was typed, or None if it is no such number."""
        if not re.fullmatch("[0-9]{1,4}", self.data or ""):
            return None
        return int(self.data) if self.least <= int(self.data) <= self.most else None

    def pre_validate(self, form) -> None:
        """Refuse anything else, in the field's own words."""
        if self.number is None:
            raise ValidationError(self.message)


def name_field(label, message) -> NameField:
    """A name of 1 to 60 characters; blanks alone are no name."""

    def not_blank(_form, field) -> None:
        if not field.data:
            raise ValidationError(message)

    return NameField(label, message=message, validators=[not_blank])


def tablet_name_field() -> NameField:
    """Where a tablet stands."""
    return name_field(_l("A name for this tablet"), _l("Give this tablet a name, such as Bench left."))


class CodeForm(BaseForm):
    """A one-time code, and a name for the tablet it is typed on."""

    code = StringField(_l("Code"), validators=[required(_l("Type the code.")), printable])
    tablet_name = tablet_name_field()


class SetupForm(CodeForm):
    """Everything an empty bench needs: the site, its first lead, this tablet."""

    site_name = name_field(_l("Name of the roastery"), _l("Say what the roastery is called."))
    time_zone = zone_field()
    name = name_field(_l("Your name"), _l("Type your name."))
    pin = new_pin_field(_l("Your PIN"))
    pin_again = again_field()
    # Again here: the summary of problems follows the order of the fields on the page.
    tablet_name = tablet_name_field()


class PersonForm(BaseForm):
    """Name and role of somebody who is there."""

    name = name_field(_l("Name"), _l("Type a name."))
    role = role_field()
    active = BooleanField(_l("Works here, and is shown at sign-in"))


class NewPersonForm(BaseForm):
    """Somebody new, with a first PIN."""

    name = name_field(_l("Name"), _l("Type a name."))
    role = role_field()
    pin = new_pin_field(_l("PIN"))
    pin_again = again_field()


class NewPinForm(BaseForm):
    """A new PIN for somebody, set by a lead."""

    pin = new_pin_field(_l("New PIN"))
    pin_again = again_field()


class OwnPinForm(BaseForm):
    """A new PIN of one's own: the old one is asked for."""

    pin_now = PasswordField(_l("Your PIN now"), validators=[required(_l("Type the PIN you have now."))])
    pin = new_pin_field(_l("New PIN"))
    pin_again = again_field()


class HabitsForm(BaseForm):
    """A person's own choices at the bench."""

    auto_point = BooleanField(_l("Set the point by itself: I type 562 and mean 56.2"))
    short_checklist = BooleanField(_l("Start with the short checklist: all steps on one screen"))


class SiteForm(BaseForm):
    """The site's facts."""

    site_name = name_field(_l("Name of the roastery"), _l("Say what the roastery is called."))
    time_zone = zone_field()
    idle_minutes = WholeNumberField(
        _l("Lock an idle tablet after"), least=1, most=120, message=_l("A whole number of minutes, 1 to 120.")
    )
    shift_hours = WholeNumberField(
        _l("Sign everybody out after"), least=1, most=24, message=_l("A whole number of hours, 1 to 24.")
    )
