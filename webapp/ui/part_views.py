"""A part of a batch's result as pages show it: with its words, its scale, its band and its gauge."""

from __future__ import annotations

from dataclasses import dataclass

from sqlite_utils import Database

from webapp.store import gear, products, results, samples
from webapp.store.gear import Scale
from webapp.store.products import Target
from webapp.store.results import PartResult
from webapp.store.samples import Sample
from webapp.ui import verdict_words
from webapp.ui.filters import shade
from webapp.ui.gauge import Gauge, make_gauge
from webapp.ui.numbers import decimal_mark
from webapp.ui.spread_words import sigma_source_words


@dataclass(frozen=True)
class PartView:
    """One part as the screens show it: its result, its words, its scale, its band and its gauge."""

    part: PartResult
    name: str
    word: str
    scale: Scale
    target: Target | None
    gauge: Gauge
    sigmas_from: str

    @property
    def step(self) -> float:
        """The scale's resolution, in scale units."""
        return self.scale.step / 100

    @property
    def band(self):
        """The band it was judged by, or None."""
        return self.target.bands.get(self.part.kind) if self.target and self.part.verdict else None

    @property
    def from_target(self) -> float | None:
        """Deviation from the target in scale units, or None."""
        return None if self.band is None else self.part.value - self.band.centre / 100


def part_views(db: Database, batch_id: str) -> dict[str, PartView]:
    """kind -> what to show, in the order whole, ground, difference."""
    parts = results.get_parts(db, batch_id)
    return {kind: part_view(db, parts[kind]) for kind in results.KINDS if kind in parts}


def part_view(db: Database, part: PartResult) -> PartView:
    """A stored part with everything around it."""
    target = products.get_target(db, part.target_version_id) if part.target_version_id else None
    return drawn(part, gear.get_scale(db, part.scale_id), target, sigmas_from(db, part))


def drawn(part: PartResult, scale: Scale, target: Target | None, sigmas_from: str = "") -> PartView:
    """A part on its scale, against its target. sigmas_from: where its sigmas are from, in words."""
    band = target.bands.get(part.kind) if target and part.verdict else None
    ends = (scale.lower / 100, scale.upper / 100)
    brown = "" if part.kind == "difference" else shade(part.value, *ends, scale.lighter)
    limits = (None if v is None else v / 100 for v in ((band.lower, band.centre, band.upper) if band else (None,) * 3))
    gauge = make_gauge(
        part.kind, part.value, part.U, *limits, step=scale.step / 100, lighter=scale.lighter, shade=brown,
        verdict=part.verdict or "", decimal_mark=decimal_mark(),
    )  # fmt: skip
    return PartView(
        part, verdict_words.kind_word(part.kind), verdict_words.part_word(part), scale, target, gauge,
        sigmas_from,
    )  # fmt: skip


def sigmas_from(db: Database, part: PartResult) -> str:
    """Where the sigmas of a part are from: those of its newest sample, as they were known when it was stored."""
    until = None
    if part.sigma_source == "study" and part.kind != "difference":
        taken = [s for s in samples.get_samples(db, part.batch_id) if s.kind == part.kind]
        until = results.series(taken)[-1].received_at
    return sigma_source_words(db, part.sigma_source, part.method_version_id, part.scale_id, until)


def apart_at(parts: dict[str, PartResult], taken: list[Sample]) -> tuple[str, str] | None:
    """(Setting, the method's setting) of the ground part, where it was ground at another one than its method's."""
    if "ground" not in parts or not parts["ground"].apart_why:
        return None
    return next(s.ground_at for s in reversed(taken) if s.ground_at)
