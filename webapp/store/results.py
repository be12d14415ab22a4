"""Results and verdicts: derived from the facts by webapp.measure, kept for speed, and rebuilt to prove it."""

from __future__ import annotations

import math
from dataclasses import asdict, fields, replace
from typing import TYPE_CHECKING

from sqlite_utils import Database

from webapp import measure

from . import (
    burrs,
    hands,
    judged_by,
    meter_state,
    result_changes,
    routine,
    samples,
    trend_states,
    waiting,
)
from .connect import one, write
from .part_results import BatchResult, PartResult
from .spreads import Totals

if TYPE_CHECKING:
    from .products import Target
    from .samples import Sample

KINDS = ("whole", "ground", "difference")


def band_of(target: Target | None, kind: str, scale_id: str, method_id: str | None) -> measure.Band | None:
    """The band to judge by, or None: no target, another scale, or another method than the target's."""
    if target is None or target.scale.id != scale_id or kind not in target.bands:
        return None
    wanted = {"whole": target.whole_method_id, "ground": target.ground_method_id}.get(kind)
    if wanted and method_id and wanted != method_id:
        return None
    band = target.bands[kind]
    units = [None if v is None else v / 100 for v in (band.lower, band.centre, band.upper)]
    return measure.Band(*units)


def series(taken: list[Sample]) -> list[Sample]:
    """Those that may be averaged with the newest: same method version, scale and grinder setting.

    The newest of those that are ground as their method says, if there is one.
    """
    newest = proper(taken)[-1]
    key = (newest.method_version_id, newest.scale_id, newest.grinder_setting_id)
    return [s for s in taken if (s.method_version_id, s.scale_id, s.grinder_setting_id) == key]


def proper(taken: list[Sample]) -> list[Sample]:
    """Without those that were ground at another setting than their method names; all, where there is no other."""
    return [s for s in taken if not s.off_setting] or taken


def _sample_part(
    db: Database, batch_id: str, kind: str, taken: list[Sample], target: Target | None
) -> tuple[PartResult, measure.Result]:
    chosen = series(taken)
    newest = chosen[-1]
    fills = [fill for sample in chosen for fill in sample.fills()]
    step = newest.step / 100
    u_meter = max(s.u_meter for s in chosen)
    result = measure.sample_result(fills, newest.sigmas, step, u_meter)
    judged: dict = {}
    band = None if newest.off_setting else band_of(target, kind, newest.scale_id, newest.method_id)
    if band:
        rule = measure.Rule(target.rule, target.confidence)
        found = measure.judge(result.value, result.u, band, rule, newest.lighter)
        judged = asdict(found)
        if found.verdict == "undecided":
            per_fill = max(1, round(result.readings / result.fills))
            judged["settle_fills"] = measure.fills_to_settle(
                result.value, result.fills, per_fill, newest.sigmas, step, u_meter, band, rule, newest.lighter
            )
    part = PartResult(
        batch_id, kind, result.value, result.u, *result.terms.values(), result.fills, result.readings, len(chosen),
        int(any(f.state == "disagree" for f in fills)), int(result.fills_disagree), len(taken) - len(chosen),
        newest.scale_id, target.id if target else None, newest.method_version_id, newest.sigma_r, newest.sigma_f,
        newest.sigma_source, newest.u_meter_source, **judged, apart_why="setting" if newest.off_setting else None,
        meter_state=meter_state.worst([meter_state.state_of(db, s) for s in chosen]),
    )  # fmt: skip
    return part, result


def _difference_part(
    batch_id: str, whole: tuple, ground: tuple, newest: dict[str, Sample], target: Target | None
) -> PartResult | None:
    part, step = ground[0], newest["ground"].step / 100
    if part.scale_id != whole[0].scale_id:
        return None
    same_meter = newest["whole"].meter_id == newest["ground"].meter_id
    result = measure.difference(ground[1], whole[1], step, step, same_meter)
    band = None if part.apart_why else band_of(target, "difference", part.scale_id, None)
    judged: dict = {}
    if band and None not in (whole[0].verdict or "x", part.verdict or "x"):
        judged = asdict(
            measure.judge(
                result.value,
                result.u,
                band,
                measure.Rule(target.rule, target.confidence),
                newest["ground"].lighter,
            )
        )
    sources = {whole[0].sigma_source, part.sigma_source}
    return PartResult(
        batch_id, "difference", result.value, result.u, *result.terms.values(), result.fills, result.readings,
        whole[0].samples + part.samples, 0, int(result.fills_disagree), 0, part.scale_id,
        target.id if target else None, None, None, None, "assumed" if "assumed" in sources else part.sigma_source,
        part.u_meter_source, **judged, apart_why=part.apart_why,
        meter_state=meter_state.worst([whole[0].meter_state, part.meter_state]),
    )  # fmt: skip


def work_out(db: Database, batch_id: str) -> tuple[list[PartResult], BatchResult | None]:
    """The batch's parts and verdict from its facts; ([], None) while nothing is measured."""
    return _from_samples(db, batch_id, samples.get_samples(db, batch_id))


def _from_samples(
    db: Database, batch_id: str, stored: list[Sample], known: dict[str, Target] | None = None
) -> tuple[list[PartResult], BatchResult | None]:
    read = _with_readings(db, batch_id, stored)
    if not read:
        return [], None
    taken = {kind: [s for s in read if s.kind == kind] for kind in dict.fromkeys(s.kind for s in read)}
    latest_kind = proper(read)[-1].kind
    newest = {kind: series(of_kind)[-1] for kind, of_kind in taken.items()}
    targets = judged_by.targets_of(db, batch_id, newest, known)
    done = {kind: _sample_part(db, batch_id, kind, taken[kind], targets[kind]) for kind in taken}
    latest = targets[latest_kind]
    parts = [part for part, _result in done.values()]
    if len(done) == 2:
        parts.append(_difference_part(batch_id, done["whole"], done["ground"], newest, latest))
    ground = _grinder_state(db, series(taken["ground"])) if "ground" in taken else None
    parts = [replace(part, grinder_state=ground if part.kind != "whole" else None) for part in parts if part]
    by_kind = {part.kind: part for part in parts}
    judged = [
        measure.Part(kind, latest is not None and kind in latest.bands, _judgement(by_kind.get(kind)))
        if latest is not None and kind in latest.bands
        else measure.Part(kind, False)
        for kind in KINDS
    ]
    verdict = measure.batch_verdict(judged)
    state = meter_state.worst([part.meter_state for part in parts])
    by = hands.hands_state(db, [s for of_kind in taken.values() for s in series(of_kind)])
    return parts, BatchResult(batch_id, verdict.verdict, verdict.chance, verdict.missing, state, ground, by)


def counting(db: Database, batch_id: str, stored: list[Sample]) -> list[Sample]:
    """The samples of a batch that count into its result, in the order of storing."""
    read = _with_readings(db, batch_id, stored)
    kinds = dict.fromkeys(sample.kind for sample in read)
    return [sample for kind in kinds for sample in series([s for s in read if s.kind == kind])]


def _with_readings(db: Database, batch_id: str, stored: list[Sample]) -> list[Sample]:
    """Without those that have been read again, and those of which no reading counts."""
    # Only a second sample of a kind can have taken the place of a first one.
    replaced = read_again(db, batch_id) if len(stored) > len({s.kind for s in stored}) else set()
    return [s for s in stored if s.id not in replaced and any(r.counts is not None for r in s.readings)]


def read_again(db: Database, batch_id: str) -> set[str]:
    """The samples of a batch that were in doubt and have been read again: they stay on record, and do not count."""
    # The one that took its place may have been moved to another batch since: then it did not.
    rows = db.query(
        "SELECT e.sample_id FROM look_back_entry e JOIN sample s ON s.id = e.sample_id"
        " JOIN sample n ON n.id = e.new_sample_id AND n.batch_id = s.batch_id"
        " WHERE s.batch_id = ? AND e.what = 'reread'",
        (batch_id,),
    )
    return {row["sample_id"] for row in rows}


def _grinder_state(db: Database, chosen: list[Sample]) -> str | None:
    """'burrs' if one of these was ground on burrs that nobody has compared with the old ones."""
    read = {(s.grinder_setting_id, s.made_at) for s in chosen if s.grinder_setting_id}
    return "burrs" if any(burrs.burrs_changed(db, *at) for at in read) else None


def _judgement(part: PartResult | None) -> measure.Judgement | None:
    if part is None or part.verdict is None:
        return None
    return measure.Judgement(part.verdict, part.side, part.chance, part.position, part.beyond)


PART_FIELDS = tuple(field.name for field in fields(PartResult))


def recompute(
    db: Database, batch_id: str, taken: list[Sample] | None = None, cause: result_changes.Cause | None = None
) -> None:
    """Work the batch out again and store it, inside the caller's transaction; and with it whether it waits, and how its
    product stands, as far as its result is another one. taken: the batch's samples, if they were just read. cause: the
    correction that asks for it, whose change of the result is kept."""
    with write(db):
        before, stood = get_parts(db, batch_id), get_batch_result(db, batch_id) if cause else None
        parts, verdict = _from_samples(db, batch_id, samples.get_samples(db, batch_id) if taken is None else taken)
        _store(db, batch_id, parts, verdict)
        waiting.refresh(db, batch_id)
        after = {part.kind: part for part in parts}
        if cause:
            result_changes.note_change(db, batch_id, cause, (before, stood), (after, verdict))
        if kinds := _moved(before, after):
            batch = one(db, "SELECT product_id, roasted_at, blend FROM batch WHERE id = ?", (batch_id,))
            if batch["blend"] is None:
                trend_states.refresh(db, batch["product_id"], kinds, batch["roasted_at"])


def first_result(db: Database, batch_id: str, stored: list[Sample], known: dict[str, Target]) -> list[str]:
    """Work out what a batch that was just stored comes to from its samples, handed over, and store it, inside the
    caller's transaction. How its product stands is left to the caller: returns the kinds that have a result now.

    known: id -> target version, for those that were read already."""
    parts, verdict = _from_samples(db, batch_id, stored, known)
    _store(db, batch_id, parts, verdict)
    return [part.kind for part in parts]


# What of a part a run is made of: what else changes (the meter's state, say) leaves the run as it is.
OF_A_RUN = ("value", "scale_id", "method_version_id", "target_version_id", "verdict", "apart_why")


def _moved(before: dict[str, PartResult], after: dict[str, PartResult]) -> list[str]:
    """The kinds whose run is another one: a difference goes with its ground coffee's method, too."""

    def run_of(part: PartResult | None) -> tuple | None:
        return part and tuple(getattr(part, name) for name in OF_A_RUN)

    moved = {kind for kind in KINDS if run_of(before.get(kind)) != run_of(after.get(kind))}
    if "ground" in moved and ("difference" in before or "difference" in after):
        moved.add("difference")
    return [kind for kind in KINDS if kind in moved]


def _store(db: Database, batch_id: str, parts: list[PartResult], verdict: BatchResult | None) -> None:
    db.conn.execute("DELETE FROM part_result WHERE batch_id = ?", (batch_id,))
    db.conn.execute("DELETE FROM batch_result WHERE batch_id = ?", (batch_id,))
    marks = ", ".join("?" for _name in PART_FIELDS)
    db.conn.executemany(
        f"INSERT INTO part_result ({', '.join(PART_FIELDS)}) VALUES ({marks})",
        [tuple(getattr(part, name) for name in PART_FIELDS) for part in parts],
    )
    if verdict:
        db.conn.execute(
            "INSERT INTO batch_result (batch_id, verdict, chance, missing, meter_state, grinder_state, hands_state)"
            " VALUES (?, ?, ?, ?, ?, ?, ?)",
            (
                batch_id, verdict.verdict, verdict.chance, " ".join(verdict.missing), verdict.meter_state,
                verdict.grinder_state, verdict.hands_state,
            ),
        )


def get_parts(db: Database, batch_id: str) -> dict[str, PartResult]:
    """kind -> stored part, for the kinds that are measured."""
    return {
        row["kind"]: PartResult(**row)
        for row in db.query(f"SELECT {', '.join(PART_FIELDS)} FROM part_result WHERE batch_id = ?", (batch_id,))
    }


def get_batch_result(db: Database, batch_id: str) -> BatchResult | None:
    """The stored verdict; None while nothing is measured."""
    row = one(db, "SELECT * FROM batch_result WHERE batch_id = ?", (batch_id,))
    if row is None:
        return None
    missing = tuple(row["missing"].split())
    states = row["meter_state"], row["grinder_state"], row["hands_state"]
    return BatchResult(row["batch_id"], row["verdict"], row["chance"], missing, *states)


def same(a: object, b: object) -> bool:
    """Equal, numbers up to the last bits (another machine's mathematics library may differ in them)."""
    if isinstance(a, float) and isinstance(b, float):
        return math.isclose(a, b, rel_tol=1e-12, abs_tol=1e-12)
    return a == b


def rebuild(db: Database, *, store: bool = False) -> list[str]:
    """What differs from what the facts give, as "the result of batch ID", "the spread of method version ID"
    (routine.py's by month and person), "the trend of product ID, whole" or "the wait of batch ID"; mends it if
    `store`."""
    changed, spread, by_month = [], Totals(), routine.Totals(db)
    with write(db):
        # Trends and waits are those of the right results: these are mended in any case, and put back if nothing may
        # change.
        db.conn.execute("SAVEPOINT rebuilding")
        trends, waits = trend_states.all_states(db), waiting.all_waiting(db)
        for row in list(db.query("SELECT id FROM batch ORDER BY id")):
            batch_id = row["id"]
            stored = samples.get_samples(db, batch_id)
            spread.add(stored)
            by_month.add(stored)
            parts, verdict = _from_samples(db, batch_id, stored)
            there = get_parts(db, batch_id)
            equal = _equal(verdict, get_batch_result(db, batch_id)) and set(there) == {p.kind for p in parts}
            if not (equal and all(_equal(p, there[p.kind]) for p in parts)):
                changed.append(f"the result of batch {batch_id}")
                _store(db, batch_id, parts, verdict)
        changed += trend_states.rebuild(db, store, trends) + waiting.rebuild(db, store, waits)
        if not store:
            db.conn.execute("ROLLBACK TO rebuilding")
        db.conn.execute("RELEASE rebuilding")
        changed += spread.rebuild(db, store) + by_month.rebuild(db, store)
    return changed


def _equal(a: PartResult | BatchResult | None, b: PartResult | BatchResult | None) -> bool:
    if a is None or b is None:
        return a is b
    return all(same(getattr(a, f.name), getattr(b, f.name)) for f in fields(a))
