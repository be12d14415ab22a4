"""What the result page and the batch page show, gathered from the store."""

from __future__ import annotations

from collections.abc import Iterable

from flask import g, url_for
from sqlite_utils import Database

from webapp.bench import hands
from webapp.bench.advice import advice_on
from webapp.bench.corrected import changed_notice, corrections_of
from webapp.store import (
    batches,
    blends,
    burrs,
    claims,
    decisions,
    imports,
    ledger,
    meter_state,
    methods,
    products,
    results,
    samples,
)
from webapp.store.batches import Batch
from webapp.store.products import Target
from webapp.store.results import BatchResult
from webapp.store.samples import Sample
from webapp.store.who_decides import may_decide, needs_reason
from webapp.ui import verdict_words
from webapp.ui.decision_form import blank_form
from webapp.ui.filters import day_of
from webapp.ui.meter_says import meter_says
from webapp.ui.part_views import apart_at, part_views


def next_step(db: Database, batch: Batch, wanted: str | None, target: Target | None, after: str | None = None) -> str:
    """Where to go when something was stored: the kind asked for, else the next kind with a target, else the result.
    target: in force for its product."""
    if wanted in ("whole", "ground"):
        return url_for("bench.capture", batch_id=batch.id, kind=wanted)
    if wanted in ("result", "strip"):
        return url_for("strip.today") if wanted == "strip" else url_for("bench.result", batch_id=batch.id)
    kind = next_kind(db, batch, target, after)
    if kind:
        return url_for("bench.capture", batch_id=batch.id, kind=kind)
    return url_for("bench.result", batch_id=batch.id)


def next_kind(db: Database, batch: Batch, target: Target | None, after: str | None = None) -> str | None:
    """The next kind that is to be read and is not, apart from the one just read; None if there is none."""
    done = samples.kinds_read(db, batch.id) | {after}
    return next((kind for kind in ("whole", "ground") if kind not in done and wants(target, kind)), None)


def wants(target: Target | None, kind: str) -> bool:
    """Whether a product is to be read in this kind: it has a band for it or for the difference, or no target at all."""
    return target is None or not target.bands or kind in target.bands or "difference" in target.bands


def first_kinds(db: Database, product_ids: Iterable[str]) -> dict[str, str | None]:
    """Product -> the kind that is read first of a new batch of it, or None where nothing is."""
    targets = {product_id: products.target_in_force(db, product_id) for product_id in product_ids}
    return {p: next((kind for kind in ("whole", "ground") if wants(t, kind)), None) for p, t in targets.items()}


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
    last = made[-1] if made else None
    # Which asked for another reading says nothing more once there is one.
    decision = last if last and not last.reread else None
    return {
        "batch": batch,
        "blend": blends.find_by_batch(db, batch_id) if batch.blend else None,
        "views": views,
        "words": words,
        "advice": advice_on(db, batch_id, words.verdict),
        "doubted_by": doubted_by(db, taken) if stands and stands.meter_state == "doubted" else None,
        "apart_says": verdict_words.settings_text(ground_at) if ground_at else "",
        "burrs_say": burrs_say(db, stands, taken),
        "samples": taken,
        "changed": changed_notice(db, batch_id, parts, taken),
        "decision": decision,
        "decisions": made,
        "hands": hands.hands_of(db, batch_id, decision),
        "allowed": may_decide(g.session.role, stands, last),
        "needs_reason": needs_reason("release", last),
        "missing": [k for k in ("whole", "ground") if k not in views and wants(target, k)],
        "form": blank_form("release", last),
    }


def doubted_by(db: Database, taken: list[Sample]) -> str | None:
    """The failed check whose look-back a sample of the batch stands in: the newest such sample's."""
    found = (meter_state.failed_after(db, s.meter_id, s.made_at) for s in reversed(taken) if not s.import_id)
    return next((check_id for check_id in found if check_id), None)


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
    parts = {kind: view.part for kind, view in page["views"].items()}
    corrected = corrections_of(db, page["batch"], parts, page["samples"])
    records = (page["batch"], *page["samples"], *corrected.left, *page["decisions"], *page["hands"].signed)
    under = claims.get_claims(db, [record.claim_id for record in records])
    return page | {
        "versions": versions,
        "meters": {sample.id: meter_says(db, sample) for sample in page["samples"]},
        "part_of": blends.part_of(db, batch_id),
        "settings_text": verdict_words.settings_text,
        "corrections": corrected,
        "runs": {s.import_id: imports.find_run(db, s.import_id) for s in page["samples"] if s.import_id},
        "claims": under,
        "steps": {version_id: {step.no: step for step in v.steps} for version_id, v in versions.items()},
        "lines": ledger.lines_about(db, batch_id, [s.id for s in page["samples"]], list(under)),
    }
