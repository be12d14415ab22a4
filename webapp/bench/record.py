"""What the result page and the batch page show, gathered from the store."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass

from flask import g, url_for
from sqlite_utils import Database

from webapp.bench import hands, service
from webapp.bench.advice import advice_on
from webapp.bench.forms import DecisionForm
from webapp.store import (
    batches,
    burrs,
    claims,
    decisions,
    gear,
    imports,
    ledger,
    look_backs,
    meter_state,
    methods,
    products,
    results,
    samples,
)
from webapp.store.batches import Batch
from webapp.store.gear import Scale
from webapp.store.products import Target
from webapp.store.results import BatchResult, PartResult
from webapp.store.samples import Sample
from webapp.ui import verdict_words
from webapp.ui.filters import day_of, shade
from webapp.ui.gauge import Gauge, make_gauge
from webapp.ui.meter_words import not_proven_text
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


def next_step(db: Database, batch_id: str, wanted: str | None, after: str | None = None) -> str:
    """Where to go when something was stored: the kind asked for, else the next kind with a target, else the result."""
    if wanted in ("whole", "ground"):
        return url_for("bench.capture", batch_id=batch_id, kind=wanted)
    if wanted in ("result", "strip"):
        return url_for("strip.today") if wanted == "strip" else url_for("bench.result", batch_id=batch_id)
    kind = next_kind(db, batches.get_batch(db, batch_id), after)
    if kind:
        return url_for("bench.capture", batch_id=batch_id, kind=kind)
    return url_for("bench.result", batch_id=batch_id)


def next_kind(db: Database, batch: Batch, after: str | None = None) -> str | None:
    """The next kind that is to be read and is not, apart from the one just read; None if there is none."""
    target = products.target_in_force(db, batch.product_id)
    done = {sample.kind for sample in samples.get_samples(db, batch.id)} | {after}
    return next((kind for kind in ("whole", "ground") if kind not in done and wants(target, kind)), None)


def wants(target: Target | None, kind: str) -> bool:
    """Whether a product is to be read in this kind: it has a band for it or for the difference, or no target at all."""
    return target is None or not target.bands or kind in target.bands or "difference" in target.bands


def first_kinds(db: Database, product_ids: Iterable[str]) -> dict[str, str | None]:
    """Product -> the kind that is read first of a new batch of it, or None where nothing is."""
    targets = {product_id: products.target_in_force(db, product_id) for product_id in product_ids}
    return {p: next((kind for kind in ("whole", "ground") if wants(t, kind)), None) for p, t in targets.items()}


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
        verdict=part.verdict or "",
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


def result_page(db: Database, batch_id: str) -> dict:
    """Everything for the result screen."""
    batch = batches.get_batch(db, batch_id)
    views = part_views(db, batch_id)
    stands = results.get_batch_result(db, batch_id)
    taken = samples.get_samples(db, batch_id)
    made = decisions.get_decisions(db, batch_id)
    parts, steps = ({kind: getattr(view, name) for kind, view in views.items()} for name in ("part", "step"))
    ground_at = apart_at(parts, taken)
    words = verdict_words.batch_words(stands, parts, steps, ground_at)
    target = products.target_in_force(db, batch.product_id)
    allowed = service.may_decide(g.session.role, stands)
    decision = made[-1] if made else None
    return {
        "batch": batch,
        "views": views,
        "words": words,
        "advice": advice_on(db, batch_id, words.verdict),
        "doubted_by": doubted_by(db, taken) if stands and stands.meter_state == "doubted" else None,
        "apart_says": verdict_words.settings_text(ground_at) if ground_at else "",
        "burrs_say": burrs_say(db, stands, taken),
        "samples": taken,
        "decision": decision,
        "hands": hands.hands_of(db, batch_id, decision),
        "allowed": allowed,
        "missing": [k for k in ("whole", "ground") if k not in views and wants(target, k)],
        "form": DecisionForm(formdata=None, id=str(uuid.uuid4()), what="release"),
    }


def doubted_by(db: Database, taken: list[Sample]) -> str | None:
    """The failed check whose look-back a sample of the batch stands in: the newest such sample's."""
    found = (meter_state.failed_after(db, s.meter_id, s.made_at) for s in reversed(taken))
    return next((check_id for check_id in found if check_id), None)


@dataclass(frozen=True)
class MeterSays:
    """What a sample's meter was worth: in words ("" if it was proven), the failed check, and what became of it."""

    text: str
    check_id: str | None
    entry: look_backs.Entry | None


def meter_says(db: Database, sample: Sample) -> MeterSays:
    """See MeterSays."""
    state = meter_state.sample_state(db, sample.id, sample.meter_id, sample.made_at)
    check_id = meter_state.failed_after(db, sample.meter_id, sample.made_at)
    entry = look_backs.entry_of(db, sample.id) if check_id else None
    return MeterSays(not_proven_text(state), check_id, entry)


def apart_at(parts: dict[str, PartResult], taken: list[Sample]) -> tuple[str, str] | None:
    """(Setting, the method's setting) of the ground part, where it was ground at another one than its method's."""
    if "ground" not in parts or not parts["ground"].apart_why:
        return None
    return next(s.ground_at for s in reversed(taken) if s.ground_at)


def burrs_say(db: Database, stands: BatchResult | None, taken: list[Sample]) -> str:
    """What a result says that was ground after a change of burrs which nobody has compared; else nothing."""
    if stands is None or stands.grinder_state != "burrs":
        return ""
    ground = [s for s in taken if s.kind == "ground" and s.grinder_setting_id]
    found = (burrs.burrs_changed(db, s.grinder_setting_id, s.made_at) for s in reversed(ground))
    changed = next((at for at in found if at), None)
    return verdict_words.burrs_text(day_of(changed)) if changed else ""


def batch_page(db: Database, batch_id: str) -> dict:
    """Everything recorded about one batch."""
    page = result_page(db, batch_id)
    versions = {s.method_version_id: methods.get_version(db, s.method_version_id) for s in page["samples"]}
    made = decisions.get_decisions(db, batch_id)
    records = (page["batch"], *page["samples"], *made, *page["hands"].signed)
    under = claims.get_claims(db, [record.claim_id for record in records])
    return page | {
        "versions": versions,
        "meters": {sample.id: meter_says(db, sample) for sample in page["samples"]},
        "settings_text": verdict_words.settings_text,
        "decisions": made,
        "runs": {s.import_id: imports.find_run(db, s.import_id) for s in page["samples"] if s.import_id},
        "claims": under,
        "steps": {version_id: {step.no: step for step in v.steps} for version_id, v in versions.items()},
        "lines": ledger.lines_about(db, batch_id, [s.id for s in page["samples"]], list(under)),
    }
