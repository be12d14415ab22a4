"""Where a batch stands, as a tablet gets it back with a stored record: the server's numbers are those that count."""

from __future__ import annotations

from flask import url_for
from sqlite_utils import Database

from webapp.store import decisions, gear, results, samples
from webapp.store.results import PartResult
from webapp.ui import verdict_words
from webapp.ui.part_views import apart_at

NUMBERS = (
    "value", "u", "fills", "readings", "samples", "apart", "sigma_source", "u_meter_source", "scale_id",
    "target_version_id", "method_version_id", "verdict", "side", "chance", "position", "beyond", "settle_fills",
    "grinder_state", "apart_why",
)  # fmt: skip


def standing(db: Database, batch_id: str) -> dict:
    """Verdict, words, parts and decision of a batch. Numbers in scale units, unrounded; chances from 0 to 1."""
    parts = results.get_parts(db, batch_id)
    stands = results.get_batch_result(db, batch_id)
    steps = {kind: gear.get_scale(db, part.scale_id).step / 100 for kind, part in parts.items()}
    apart = any(part.apart_why for part in parts.values())
    ground_at = apart_at(parts, samples.get_samples(db, batch_id)) if apart else None
    words = verdict_words.batch_words(stands, parts, steps, ground_at)
    made = decisions.get_decisions(db, batch_id)
    decision = {name: getattr(made[-1], name) for name in ("what", "reason", "person_name")} if made else None
    return {
        "batch_id": batch_id,
        "verdict": words.verdict,
        "side": words.side,
        "title": words.title,
        "reason": words.reason,
        "next": words.next,
        "chance": stands.chance if stands else None,
        "missing": list(stands.missing) if stands else [],
        "parts": {kind: part_content(parts[kind], steps[kind]) for kind in results.KINDS if kind in parts},
        "waits": words.waits,
        "decision": decision,
        "url": url_for("bench.result", batch_id=batch_id),
    }


def part_content(part: PartResult, step: float) -> dict:
    """One part: its numbers, and its words as the result screen says them."""
    return {name: getattr(part, name) for name in NUMBERS} | {
        "give_or_take": part.U,
        "readings_disagree": bool(part.readings_disagree),
        "fills_disagree": bool(part.fills_disagree),
        "step": step,
        "name": verdict_words.kind_word(part.kind),
        "word": verdict_words.part_word(part),
    }
