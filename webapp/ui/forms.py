"""The base form and the fields that carry their own manners and words."""

from __future__ import annotations

from flask_babel import get_translations
from flask_babel import lazy_gettext as _l
from flask_wtf import FlaskForm
from wtforms import StringField, TextAreaField
from wtforms.validators import InputRequired, Length, StopValidation, ValidationError


class Translations:
    """The form library's own few messages, by way of our catalogue."""

    def gettext(self, text: str) -> str:
        """The text in the page's language; the library puts values in by itself."""
        return get_translations().ugettext(text)

    def ngettext(self, one: str, many: str, number: int) -> str:
        """The same for texts with a number."""
        return get_translations().ungettext(one, many, number)


TRANSLATIONS = Translations()


class BaseForm(FlaskForm):
    """Strips what was typed at both ends, keeps it on the screen, and validates on the server only."""

    class Meta(FlaskForm.Meta):
        """One validator, one wording: the browser's own `required` bubbles are off (forms are novalidate)."""

        def get_translations(self, form):
            """One catalogue for all texts, looked up once a request and not once a field."""
            return TRANSLATIONS

        def bind_field(self, form, unbound_field, options):
            filters = list(unbound_field.kwargs.get("filters", []))
            if issubclass(unbound_field.field_class, StringField | TextAreaField):
                filters.append(lambda text: text.strip() if isinstance(text, str) else text)
            return unbound_field.bind(form=form, filters=filters, **options)

    @property
    def problems(self) -> list[tuple[str, str]]:
        """(field id, message) for the summary at the top of the page, in the order of the fields."""
        found = []
        for field in self:
            for message in flat(field.errors):
                found.append((field.id, message))
        return found


def flat(errors: object) -> list[str]:
    """The messages of a field, its own and its sub-fields', in order."""
    if isinstance(errors, dict):
        return [m for inner in errors.values() for m in flat(inner)]
    if isinstance(errors, list | tuple):
        return [m for inner in errors for m in flat(inner)]
    return [str(errors)]


class Required(InputRequired):
    """Something was sent, and it is more than blanks; 0 is an answer."""

    def __call__(self, form, field) -> None:
        super().__call__(form, field)
        if isinstance(field.data, str) and not field.data.strip():
            field.errors = []
            raise StopValidation(self.message)


def required(message: str) -> Required:
    """Needed, with its own words."""
    return Required(message=message)


class NameField(StringField):
    """A name: 1 to `most` characters, nothing that is not printable."""

    def __init__(self, label=None, *, message, most: int = 60, **kwargs):
        validators = [
            required(message),
            Length(max=most, message=_l("Use at most %(max)d characters.")),
            printable,
            *kwargs.pop("validators", []),
        ]
        super().__init__(label, validators=validators, **kwargs)


def printable(_form, field) -> None:
    """Refuse control characters: they cannot be seen on a screen, and they break a table."""
    if field.data and any(ord(c) < 32 and c not in "\n\r\t" for c in field.data):
        raise ValidationError(_l("There is a character in this text that cannot be shown."))
