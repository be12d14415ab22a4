"""Planning a blend: what may be mixed, and the largest mix that is in band."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.blends.forms import MixForm, key_of, mix_form
from webapp.blends.gauges import gauge_of
from webapp.measure.blend import Held, Infeasible, Mix, Nearest, largest, predict
from webapp.measure.conformity import Band
from webapp.store import blend_candidates, products, times
from webapp.store.blend_candidates import Candidate
from webapp.store.products import Product, Target
from webapp.ui.gauge import Gauge
from webapp.ui.numbers import kilograms

# How long ago a batch was roasted that may help, and one of which something stayed.
HELPS, STAYS = timedelta(days=14), timedelta(days=60)


@dataclass(frozen=True)
class Row:
    """A batch on the page with its fields; both None where it cannot be mixed."""

    one: Candidate
    use: object
    mass: object


@dataclass(frozen=True)
class Shown:
    """What a mix is expected to read of one kind, on its gauge."""

    kind: str
    chance: float
    gauge: Gauge


@dataclass(frozen=True)
class MixPart:
    """A batch in a mix. Masses in grams; left: of what was said to be there; trial_g: in a kilogram of the mix."""

    one: Candidate
    share: float
    grams: int
    left: int
    trial_g: int


@dataclass(frozen=True)
class Page:
    """Everything for the page of one product. rows: by group. found: the mix, or why there is none, or None while fewer
    than two batches are ticked or something typed is wrong; parts and shown: of the mix, or of the nearest."""

    product: Product
    target: Target
    form: MixForm
    rows: dict[str, list[Row]]
    found: Mix | Infeasible | None
    parts: tuple[MixPart, ...]
    shown: tuple[Shown, ...]

    @property
    def mix(self) -> Mix | None:
        """The mix, where there is one of two batches or more."""
        return self.found if isinstance(self.found, Mix) and len(self.parts) > 1 else None

    @property
    def total_g(self) -> int:
        """What all of the mix weighs."""
        return sum(part.grams for part in self.parts)

    @property
    def ticked(self) -> int:
        """How many batches are ticked."""
        return sum(bool(row.use and row.use.data) for of in self.rows.values() for row in of)

    @property
    def uses_inside(self) -> bool:
        """Whether something stands among the batches in band that has to be in view."""
        return any(row.use and (row.use.data or row.mass.errors) for row in self.rows.get("inside", ()))

    @property
    def seen(self) -> str:
        """A mark of the mix and all that it rests on: another one is another mix."""
        told = [(p.one.batch_id, p.grams, p.one.decision_id, {k: (x.value, x.u) for k, x in p.one.parts.items()})
                for p in self.parts]  # fmt: skip
        return hashlib.sha256(repr((self.target.id, told)).encode()).hexdigest()[:20]


def gather(db: Database, product: Product, given, now: datetime) -> Page | None:
    """The page as it is asked for; None for a product without a target, which no mix can be in. given: the address or
    the posted form."""
    target = products.target_in_force(db, product.id)
    if target is None or not target.bands:
        return None
    since, inside_since = (times.to_text(now - span) for span in (STAYS, HELPS))
    candidates = blend_candidates.list_candidates(db, target, since, inside_since)
    asked = "step" in given
    form = mix_form(candidates, given, asked)
    rows: dict[str, list[Row]] = {}
    for one in candidates:
        fields = (None, None) if one.lacks else (form[f"{name}-{key_of(one.batch_id)}"] for name in ("use", "kg"))
        rows.setdefault(one.group, []).append(Row(one, *fields))
    ticked = [row for of in rows.values() for row in of if row.use is not None and row.use.data]
    fine = check(form, ticked) if asked else True
    if not fine or len(ticked) < 2:
        return Page(product, target, form, rows, None, (), ())
    return mixed(product, target, form, rows, ticked)


def check(form: MixForm, ticked: Sequence[Row]) -> bool:
    """Whether what was typed can be mixed; what is wrong stands beside its field."""
    fine = form.validate()
    for row in ticked:
        if row.mass.errors:
            continue
        if row.mass.data is None:
            row.mass.errors = [_("Type how much of %(code)s there is.", code=row.one.code)]
        elif row.one.left_g is not None and row.mass.data > row.one.left_g:
            most = kilograms(row.one.left_g)
            row.mass.errors = [_("There can be no more of %(code)s than %(most)s kg.", code=row.one.code, most=most)]
        fine = fine and not row.mass.errors
    return fine


def bands_of(target: Target) -> dict[str, Band]:
    """kind -> what the product should read, in scale units."""
    return {kind: band.in_units() for kind, band in target.bands.items()}


def held_of(target: Target, ticked: Sequence[tuple[Candidate, int]]) -> list[Held]:
    """Batches and what there is of them (grams), as measure.blend wants them."""
    return [Held(mass, one.readings(target.bands)) for one, mass in ticked]


def mixed(
    product: Product, target: Target, form: MixForm, rows: dict[str, list[Row]], ticked: Sequence[Row]
) -> Page:
    """The page with its mix."""
    taken = [(row.one, row.mass.data) for row in ticked]
    held, bands = held_of(target, taken), bands_of(target)
    found = largest(held, bands, target.as_rule(), int(form.step.data))
    mix: Mix | Nearest = found if isinstance(found, Mix) else found.nearest
    parts = []
    for (one, mass), share, grams in zip(taken, mix.shares, getattr(mix, "masses", mix.shares), strict=True):
        whole = round(grams) if isinstance(mix, Mix) else 0
        if share > 1e-4:
            parts.append(MixPart(one, share, whole, mass - whole, round(1000 * share)))
    parts.sort(key=lambda part: -part.share)
    predicted = predict(held, [round(mass) for mass in mix.masses], bands) if isinstance(mix, Mix) else mix.predicted
    shown = tuple(
        Shown(kind, is_there.chance, gauge_of(target, kind, is_there.value, is_there.u))
        for kind, is_there in predicted.items()
    )
    return Page(product, target, form, rows, found, tuple(parts), shown)
