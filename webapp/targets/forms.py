"""The forms of a product and of one version of its targets."""

from __future__ import annotations

from collections.abc import Iterable

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from werkzeug.datastructures import MultiDict
from werkzeug.exceptions import BadRequestKeyError
from wtforms import BooleanField, FormField, HiddenField, RadioField, SelectField
from wtforms.fields.choices import SelectChoice

from webapp.store.gear import Scale
from webapp.store.methods import MethodVersion
from webapp.store.products import BAND_KINDS, Product, Target, TargetBand
from webapp.ui.fields import ScaleNumberField, WholeNumberField
from webapp.ui.filters import method_text
from webapp.ui.forms import BaseForm, flat, required
from webapp.ui.record_fields import NOT_OFFERED, LineField, RecordIdField

# How sure an everyday product asks to be; a strict one asks for 95.
USUAL_PERCENT = 80


class BandForm(BaseForm):
    """One band: the target and at least one limit, or nothing at all."""

    class Meta(BaseForm.Meta):
        """Part of a form that has its own token."""

        csrf = False

    lower = ScaleNumberField(_l("From"))
    centre = ScaleNumberField(_l("Target"))
    upper = ScaleNumberField(_l("To"))

    @property
    def numbers(self) -> tuple[ScaleNumberField, ...]:
        """The three fields, in order."""
        return self.lower, self.centre, self.upper

    def validate(self, extra_validators=None) -> bool:
        """The target lies between its limits."""
        super().validate(extra_validators)
        lower, centre, upper = (field.data for field in self.numbers)
        if self.errors or (lower, centre, upper) == (None, None, None):
            return not self.errors
        if lower is not None and upper is not None and lower >= upper:
            self.upper.errors = [_("This must be a larger number than the one under From.")]
        elif centre is None:
            self.centre.errors = [_("Type the target, or leave all three empty.")]
        elif lower is None and upper is None:
            self.upper.errors = [_("Type at least one limit, From or To, or leave all three empty.")]
        elif (lower is not None and centre <= lower) or (upper is not None and centre >= upper):
            self.centre.errors = [_("The target must lie inside the limits, not on one.")]
        return not self.errors

    def band(self, kind: str) -> TargetBand | None:
        """What the store keeps; None if it is empty or was refused."""
        lower, centre, upper = (field.data for field in self.numbers)
        if self.errors or centre is None:
            return None
        return TargetBand(kind, lower, centre, upper)


class TargetForm(BaseForm):
    """One version of a product's targets. `base` is the version that the edit started from."""

    id = RecordIdField()
    base = HiddenField()
    scale = RadioField(
        _l("Scale"),
        validators=[required(_l("Choose the scale that this product is read on."))],
        invalid_choice_message=NOT_OFFERED,
    )
    whole = FormField(BandForm, label=_l("Whole bean"))
    whole_method = SelectField(_l("Prepared by"), invalid_choice_message=NOT_OFFERED)
    ground = FormField(BandForm, label=_l("Ground"))
    ground_method = SelectField(_l("Prepared by"), invalid_choice_message=NOT_OFFERED)
    difference = FormField(BandForm, label=_l("Difference, ground minus whole bean"))
    rule = RadioField(
        _l("How is a result judged?"),
        choices=[SelectChoice("guarded", _l("With allowance")), SelectChoice("simple", _l("Limit to limit"))],
        validators=[required(_l("Choose how a result is judged."))],
        invalid_choice_message=NOT_OFFERED,
    )
    confidence = WholeNumberField(
        _l("How sure it has to be"), message=_l("Type a percentage, for example 80."), least=51, most=99
    )
    reason = LineField(_l("Why is it changed?"), message=_l("Say in a few words why."), most=200)

    def __init__(self, *args, scales: Iterable[Scale], methods: Iterable[MethodVersion], **kwargs):
        super().__init__(*args, **kwargs)
        self.scales = {scale.id: scale for scale in scales}
        self.scale.choices = [SelectChoice(scale.id, scale.name) for scale in self.scales.values()]
        if len(self.scales) == 1 and not self.scale.data:
            self.scale.data = next(iter(self.scales))
        self.offer_methods(list(methods))
        self.use_scale(self.chosen_scale)

    @property
    def chosen_scale(self) -> Scale | None:
        """The scale that the numbers are on; None while none is chosen."""
        return self.scales.get(self.scale.data)

    def offer_methods(self, methods: list[MethodVersion]) -> None:
        """Those in use, and the one that is chosen although it is retired; one alone is chosen already."""
        for kind, field in (("whole", self.whole_method), ("ground", self.ground_method)):
            found = [m for m in methods if m.kind == kind and (m.active or m.method_id == field.data)]
            field.choices = [SelectChoice("", _("No method chosen"))] + [
                SelectChoice(m.method_id, method_text(m.name) if m.active else _("%(name)s (retired)", name=m.name))
                for m in found
            ]
            if field.data is None and len(found) == 1:
                field.data = found[0].method_id

    def use_scale(self, scale: Scale | None) -> None:
        """Tell every number field what it may be."""
        for kind in BAND_KINDS:
            for field in self[kind].form.numbers:
                if scale is None:
                    field.on_no_scale()
                elif kind == "difference":
                    field.on_scale(scale.lower - scale.upper, scale.upper - scale.lower, scale.step)
                else:
                    field.on_scale(scale.lower, scale.upper, scale.step)

    def validate(self, extra_validators=None) -> bool:
        """A band belongs to one way of preparing; the confidence counts for one rule only."""
        super().validate(extra_validators)
        kinds = {band.kind for band in self.bands()}
        for kind, field in (("whole", self.whole_method), ("ground", self.ground_method)):
            if not field.errors and not field.data and kinds & {kind, "difference"}:
                field.errors = [_("Choose how this sample is prepared: a band holds for one way of preparing only.")]
        if self.rule.data != "guarded" and self.confidence.errors:
            self.confidence.errors = []
        return not self.errors

    def bands(self) -> list[TargetBand]:
        """The bands that are filled in and not refused."""
        found = [self[kind].form.band(kind) for kind in BAND_KINDS]
        return [band for band in found if band]

    @property
    def problems(self) -> list[tuple[str, str]]:
        """(field id, message) in the order of the page; those of a band name it."""
        found = []
        for field in self:
            if not isinstance(field, FormField):
                found += [(field.id, message) for message in flat(field.errors)]
                continue
            for inner in field.form:
                where = {"kind": field.label.text, "field": inner.label.text}
                found += [(inner.id, _("%(kind)s, %(field)s: %(message)s", **where, message=m)) for m in inner.errors]
        return found

    def version(self) -> dict:
        """The keyword arguments that both writing functions of the store share."""
        percent = USUAL_PERCENT if self.confidence.data is None else self.confidence.data
        return {
            "scale_id": self.scale.data,
            "rule": self.rule.data,
            "confidence": percent / 100,
            "whole_method_id": self.whole_method.data or None,
            "ground_method_id": self.ground_method.data or None,
            "bands": self.bands(),
        }


def check_names(form: BaseForm) -> None:
    """Neither name nor short name may be another product's."""
    for field, taken in (
        (form.name, {product.name.casefold() for product in form.others}),
        (form.short, {product.short.casefold() for product in form.others}),
    ):
        if not field.errors and field.data.casefold() in taken:
            field.errors = [_("Another product has this already. The two must be told apart.")]


def short_field() -> LineField:
    """The few letters that stand where a name has no room."""
    return LineField(_l("Short name"), message=_l("Give it one to four letters."), most=4)


class NewProductForm(TargetForm):
    """A product with its first targets."""

    name = LineField(_l("Name"), message=_l("Give it a name."))
    short = short_field()
    reason = None

    def __init__(self, *args, others: Iterable[Product], **kwargs):
        super().__init__(*args, **kwargs)
        self.others = [product for product in others if product.id != self.id.data]

    def validate(self, extra_validators=None) -> bool:
        """As for targets, and the names must be free."""
        super().validate(extra_validators)
        check_names(self)
        return not self.errors

    @property
    def problems(self) -> list[tuple[str, str]]:
        """The names stand first on the page."""
        return sorted(super().problems, key=lambda problem: problem[0] not in ("name", "short"))


class NameForm(BaseForm):
    """A product's names, and whether it is in use."""

    name = LineField(_l("Name"), message=_l("Give it a name."))
    short = short_field()
    active = BooleanField(_l("In use: offered for new batches"))

    def __init__(self, *args, others: Iterable[Product], **kwargs):
        super().__init__(*args, **kwargs)
        self.others = list(others)

    def validate(self, extra_validators=None) -> bool:
        """The names must be free."""
        super().validate(extra_validators)
        check_names(self)
        return not self.errors


def form_data(target: Target) -> dict:
    """A stored version as the form's data."""
    bands = {
        kind: {"lower": band.lower, "centre": band.centre, "upper": band.upper} for kind, band in target.bands.items()
    }
    return {
        "base": target.id, "scale": target.scale.id, "rule": target.rule,
        "confidence": round(target.confidence * 100), "whole_method": target.whole_method_id or "",
        "ground_method": target.ground_method_id or "", **bands,
    }  # fmt: skip


def filled_in(args: MultiDict, target: Target) -> dict:
    """A band and a reason out of the address, where another page proposes one: form data beside the stored ones.

    kind, and lower, centre and upper in hundredths. What is no band is left as it is stored; nothing is checked here
    that the form does not check when it is sent.
    """
    try:
        ends = {name: int(args[name]) for name in ("lower", "centre", "upper")}
    except (BadRequestKeyError, ValueError):
        return {}
    if args.get("kind") not in BAND_KINDS:
        return {}
    scale = target.scale
    most = max(abs(scale.lower), abs(scale.upper), scale.upper - scale.lower)
    if any(abs(end) > most for end in ends.values()):
        return {}
    return {args["kind"]: ends, "reason": args.get("reason", "")[:200]}
