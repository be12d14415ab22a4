"""Number fields: typed as people write, kept exactly, refused in plain words.

All are text inputs. Comma and point are both taken, blanks around the number too; nothing is rounded, and what
was typed is shown again as it was. `data` is an int (None: empty or refused) and is there after `validate()`.
"""

from __future__ import annotations

import re
from decimal import Decimal

from flask import Flask
from flask_babel import gettext as _
from wtforms import Field
from wtforms.validators import StopValidation
from wtforms.widgets import TextInput

from webapp.measure import ReadingProblem, parse_decimal, parse_mass, parse_reading
from webapp.ui import numbers
from webapp.ui.numbers import celsius, kilograms, minutes, scale_number, shortest

# Far beyond the end of any scale, in hundredths.
FARTHEST = 1_000_000_00


class NumberField(Field):
    """The manners all number fields share.

    message  what to say when nothing was typed; None: the field may stay empty
    least, most  the smallest and the largest number taken, in the unit of `data`; None: no bound
    """

    widget = TextInput()
    example = 61

    def __init__(self, label=None, *, message=None, least: int | None = None, most: int | None = None, **kwargs):
        super().__init__(label, **kwargs)
        self.message, self.least, self.most = message, least, most
        self.suggestion: int | None = None

    def parse(self, text: str) -> int:
        """The typed text as `data`; ReadingProblem if it is none."""
        raise NotImplementedError

    def show(self, number: int) -> str:
        """A number as one would type it here."""
        raise NotImplementedError

    def too_fine(self) -> str:
        """What to say to a number that is finer than this field keeps."""
        raise NotImplementedError

    def _value(self) -> str:
        """What the input shows: what was typed, else the number there is."""
        if self.raw_data:
            return self.raw_data[0]
        return "" if self.data is None else self.show(self.data)

    def process_formdata(self, valuelist) -> None:
        """Nothing yet: the bounds may only be known once other fields are."""
        self.data = None

    def pre_validate(self, form) -> None:
        """Parse; raise StopValidation with the words to show."""
        text = self.raw_data[0] if self.raw_data else ""
        try:
            number = self.parse(text)
            if not self._within(number):
                raise ReadingProblem("off_scale")
        except ReadingProblem as problem:
            if problem.code == "empty" and self.message is None:
                raise StopValidation() from None
            self.suggestion = problem.suggestion_hundredths
            raise StopValidation(self.words(problem.code, text.strip())) from None
        self.data = number

    def _within(self, number: int) -> bool:
        return (self.least is None or number >= self.least) and (self.most is None or number <= self.most)

    def words(self, code: str, typed: str) -> str:
        """The message for a problem's code."""
        match code:
            case "empty":
                return str(self.message)
            case "not_a_number":
                return _("This is not a number. Type it like %(example)s.", example=self.show(self.example))
            case "two_marks":
                return _(
                    "There is more than one mark in this number. Use one point or comma, like %(example)s.",
                    example=self.show(self.example),
                )
            case "digits":
                return _("Type this number with the digits 0 to 9.")
            case "which":
                return _("There is more than one number in this. Type the one that is meant.")
            case "off_scale":
                return self.out_of_bounds(typed)
            case _:
                return self.too_fine()

    def out_of_bounds(self, typed: str) -> str:
        """The message for a number that is too small or too large here."""
        if self.most is None and self.least is not None:
            return _("Type at least %(least)s.", least=self.show(self.least))
        if self.least is None and self.most is not None:
            return _("Type at most %(most)s.", most=self.show(self.most))
        if self.least is None:
            return _("This number is too long.")
        return _("Type a number from %(least)s to %(most)s.", least=self.show(self.least), most=self.show(self.most))


class WholeNumberField(NumberField):
    """A count."""

    example = 3

    def parse(self, text: str) -> int:
        """See NumberField."""
        return parse_decimal(text, 0)

    def show(self, number: int) -> str:
        """See NumberField."""
        return shortest(number, 0)

    def too_fine(self) -> str:
        """See NumberField."""
        return _("Type a whole number.")


class HundredthsField(NumberField):
    """A number with at most two decimals that belongs to no scale yet; `data` in hundredths."""

    example = 6140

    def parse(self, text: str) -> int:
        """See NumberField."""
        return parse_decimal(text, 2)

    def show(self, number: int) -> str:
        """See NumberField."""
        return shortest(number, 2)

    def too_fine(self) -> str:
        """See NumberField."""
        return _("Use at most two decimals.")


class ScaleNumberField(NumberField):
    """A number on a meter's scale; `data` in hundredths. Call `on_scale` or `on_no_scale` before validating.

    After validation `suggestion` may hold what was probably meant (hundredths), to be offered, never taken.
    """

    step = 1
    example = 6140
    from_meter = False

    def on_no_scale(self) -> None:
        """Take any number: which scale it is on is not chosen yet, and that is what the form will say."""
        self.least, self.most = -FARTHEST, FARTHEST

    def on_scale(self, lower: int, upper: int, step: int) -> None:
        """Say which numbers there are: from `lower` to `upper` by `step`, all in hundredths."""
        self.least, self.most, self.step = lower, upper, step
        self.example = lower + (upper - lower) * 3 // 8 // step * step

    def parse(self, text: str) -> int:
        """See NumberField."""
        if self.least is None or self.most is None:
            raise RuntimeError(f"{self.name} does not know its scale")
        scale = (Decimal(n) / 100 for n in (self.least, self.most, self.step))
        return parse_reading(text, *scale, line=self.from_meter)

    def show(self, number: int) -> str:
        """See NumberField."""
        return scale_number(number, self.step)

    def out_of_bounds(self, typed: str) -> str:
        """See NumberField: with the number that was probably meant."""
        if self.suggestion is None:
            return super().out_of_bounds(typed)
        return _(
            "%(typed)s is off the scale, which ends at %(most)s. Did you mean %(suggestion)s?",
            typed=typed, most=self.show(self.most), suggestion=self.show(self.suggestion),
        )  # fmt: skip

    def too_fine(self) -> str:
        """See NumberField."""
        return _("This scale goes in steps of %(step)s. Type the number to that step.", step=self.show(self.step))


class MeterReadingField(ScaleNumberField):
    """What a meter shows: also the line that it sends, if it writes like a keyboard."""

    from_meter = True


class MassField(NumberField):
    """Typed in kilograms, kept in grams; also the line that a weighing scale sends, in its own unit."""

    example = 12350

    def __init__(self, label=None, *, least: int = 1, most: int = 2_000_000, **kwargs):
        super().__init__(label, least=least, most=most, **kwargs)

    def parse(self, text: str) -> int:
        """See NumberField."""
        return parse_mass(text)

    def show(self, number: int) -> str:
        """See NumberField."""
        return kilograms(number) if number >= 100 else shortest(number, 3)

    def out_of_bounds(self, typed: str) -> str:
        """See NumberField."""
        return _(
            "Type the mass in kilograms, from %(least)s to %(most)s.",
            least=self.show(self.least), most=self.show(self.most),
        )  # fmt: skip

    def too_fine(self) -> str:
        """See NumberField."""
        return _("A mass is kept to the gram: use at most three decimals.")


class TemperatureField(NumberField):
    """Typed in degrees Celsius, kept in tenths."""

    example = 2045

    def __init__(self, label=None, *, least: int = -200, most: int = 4000, **kwargs):
        super().__init__(label, least=least, most=most, **kwargs)

    def parse(self, text: str) -> int:
        """See NumberField."""
        return parse_decimal(text, 1)

    def show(self, number: int) -> str:
        """See NumberField."""
        return celsius(number)

    def out_of_bounds(self, typed: str) -> str:
        """See NumberField."""
        return _(
            "Type the temperature in degrees Celsius, from %(least)s to %(most)s.",
            least=self.show(self.least), most=self.show(self.most),
        )  # fmt: skip

    def too_fine(self) -> str:
        """See NumberField."""
        return _("A temperature is kept to a tenth of a degree: use one decimal.")


class DurationField(NumberField):
    """Typed as minutes and seconds with a colon, or as whole minutes; kept in seconds.

    '11.5' is refused: it is read as 11:30 by some and as 11:05 or 11:50 by others. So is '11:5'.
    """

    example = 690

    def __init__(self, label=None, *, least: int = 1, most: int = 7200, **kwargs):
        super().__init__(label, least=least, most=most, **kwargs)

    def parse(self, text: str) -> int:
        """See NumberField."""
        shape = re.fullmatch(r"([0-9]{1,4}):([0-5][0-9])", text.strip())
        if shape:
            return int(shape[1]) * 60 + int(shape[2])
        if re.search(r"[.,:]", text):
            raise ReadingProblem("too_fine")
        return parse_decimal(text, 0) * 60

    def show(self, number: int) -> str:
        """See NumberField."""
        return minutes(number)

    def words(self, code: str, typed: str) -> str:
        """See NumberField."""
        if code in ("not_a_number", "two_marks"):
            return self.too_fine()
        return super().words(code, typed)

    def out_of_bounds(self, typed: str) -> str:
        """See NumberField."""
        return _(
            "Type minutes and seconds, from %(least)s to %(most)s.",
            least=self.show(self.least), most=self.show(self.most),
        )  # fmt: skip

    def too_fine(self) -> str:
        """See NumberField."""
        return _("Type minutes and seconds with a colon, like 11:30. A number alone is whole minutes.")


def init_app(app: Flask) -> None:
    """Let templates show such numbers."""
    numbers.init_app(app)
