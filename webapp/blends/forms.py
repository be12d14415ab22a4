"""The forms of a blend: what there is to mix, the trial, and carrying it out."""

from __future__ import annotations

from collections.abc import Sequence

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import BooleanField, HiddenField, SelectField, StringField, TextAreaField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import Length

from webapp.store.blend_candidates import Candidate
from webapp.ui.fields import MassField
from webapp.ui.forms import BaseForm, printable, required
from webapp.ui.numbers import kilograms

# Steps in which a scale weighs, in grams.
STEPS = (10, 50, 100, 500, 1000)
USUAL_STEP = 100


class MixForm(BaseForm):
    """What there is of each batch. Its fields stand in the address, so that a plan can be looked at again.

    candidates: the batches that it has fields for.
    """

    candidates: Sequence[Candidate] = ()

    class Meta(BaseForm.Meta):
        """It only asks for a page."""

        csrf = False

    step = SelectField(_l("Weighed in steps of"), default=str(USUAL_STEP))

    @property
    def problems(self) -> list[tuple[str, str]]:
        """As every form's, each with the batch that it is about."""
        codes = {f"kg-{key_of(one.batch_id)}": one.code for one in self.candidates}
        return [
            (id, text if codes.get(id, text) in text else f"{codes[id]}: {text}") for id, text in super().problems
        ]


def key_of(batch_id: str) -> str:
    """What tells a batch from the others in an address that must not grow too long: 48 bits of its number."""
    return batch_id[:13]


def mix_form(candidates: Sequence[Candidate], given, asked: bool) -> MixForm:
    """The form with a tick and a mass for each candidate. given: what was typed; asked: False on the first look, where
    held batches are ticked and every mass is what should be there."""
    fields = {}
    for one in candidates:
        if one.lacks is None:
            ticked = one.group == "held" and not one.planned_in and one.left_g is not None
            fields[f"use-{key_of(one.batch_id)}"] = BooleanField(one.code, default=ticked)
            fields[f"kg-{key_of(one.batch_id)}"] = MassField(_("%(code)s, how much there is", code=one.code))
    form = type("MixFormOfThese", (MixForm,), fields)(
        formdata=given if asked else None,
        data={f"kg-{key_of(one.batch_id)}": one.left_g or None for one in candidates},
    )
    for one in candidates:
        mass = getattr(form, f"kg-{key_of(one.batch_id)}", None)
        # A batch that was not there yet when the address was made: as on the first look.
        if asked and mass is not None and mass.name not in given:
            mass.data = one.left_g or None
    form.candidates = candidates
    form.step.choices = [SelectChoice(str(step), f"{kilograms(step)} kg" if step >= 100 else f"{step} g")
                         for step in STEPS]  # fmt: skip
    return form


class TrialForm(BaseForm):
    """The trial that a lead stores. seen: what was on the page."""

    id = HiddenField(validators=[required(_l("The form has lost its number. Load the page again."))])
    batch = HiddenField(validators=[required(_l("The form has lost its number. Load the page again."))])
    seen = HiddenField()
    code = StringField(
        _l("Batch code of the blend"),
        validators=[required(_l("Give the blend a code.")), Length(max=40, message=_l("Use at most 40 characters."))]
        + [printable],
    )
    trial = MassField(_l("How much is mixed as a trial"))
    reason = TextAreaField(
        _l("Reason"),
        validators=[required(_l("Give the reason: it stays on the record.")),
                    Length(max=500, message=_l("Use at most 500 characters.")), printable],
    )  # fmt: skip


class CarryOutForm(BaseForm):
    """The blend-off: every part goes into it."""

    reason = TextAreaField(
        _l("Reason"),
        validators=[required(_l("Give the reason: it stays on the record.")),
                    Length(max=500, message=_l("Use at most 500 characters.")), printable],
    )  # fmt: skip
