"""What corrections did to results: kept with what stood before, and said until somebody has decided anew."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from sqlite_utils import Database

from . import ledger
from .part_results import BatchResult, PartResult
from .records import insert, new_id
from .times import to_text
from .who import Who

CauseKind = Literal["correction", "sample_move", "batch_correction"]
KINDS = ("whole", "ground", "difference")


@dataclass(frozen=True)
class Cause:
    """The correction on whose account a batch is worked out again: its kind and id, by whom, when."""

    kind: CauseKind
    id: str
    who: Who
    now: datetime


@dataclass(frozen=True)
class PartChange:
    """One kind before and after: values in scale units, unrounded. A value is None where the kind was not measured, a
    verdict where it was not judged."""

    kind: str
    value_before: float | None
    value_after: float | None
    verdict_before: str | None
    verdict_after: str | None


@dataclass(frozen=True)
class ResultChange:
    """What a correction did to a batch's result. parts: the kinds that are otherwise, in the order of KINDS.

    verdict_before, verdict_after: of the batch, None while nothing is measured. reason, person_name, made_at: of the
    correction. away: for a sample that was moved, whether it left this batch.
    """

    id: str
    batch_id: str
    cause: CauseKind
    cause_id: str
    verdict_before: str | None
    verdict_after: str | None
    received_at: str
    reason: str
    person_name: str
    away: bool
    parts: tuple[PartChange, ...] = ()


Parts = Mapping[str, PartResult]


def note_change(
    db: Database, batch_id: str, cause: Cause, before: tuple[Parts, BatchResult | None],
    after: tuple[Parts, BatchResult | None],
) -> None:  # fmt: skip
    """Keep what a correction changed, inside the caller's transaction; nothing where no value and no verdict is
    another one. before, after: the parts by kind, and the batch's result."""
    parts = _differing(before[0], after[0])
    verdicts = [result.verdict if result else None for result in (before[1], after[1])]
    if not parts and verdicts[0] == verdicts[1]:
        return
    change_id = new_id()
    insert(db, "result_change", {
        "id": change_id, "batch_id": batch_id, "cause": cause.kind, "cause_id": cause.id,
        "verdict_before": verdicts[0], "verdict_after": verdicts[1], "received_at": to_text(cause.now),
    })  # fmt: skip
    for part in parts:
        insert(db, "result_change_part", {"change_id": change_id, **vars(part)})
    who = cause.who
    ledger.note(db, "result changed", "result_change", change_id, cause.now, who.person_id, who.tablet_id)


def _differing(before: Parts, after: Parts) -> list[PartChange]:
    found = []
    for kind in KINDS:
        was, now = before.get(kind), after.get(kind)
        change = PartChange(
            kind, was and was.value, now and now.value, was and was.verdict, now and now.verdict,
        )  # fmt: skip
        if change.verdict_before != change.verdict_after or not _close(change.value_before, change.value_after):
            found.append(change)
    return found


def _close(a: float | None, b: float | None) -> bool:
    """The same value, up to the last bits: the same readings in another order are no other result."""
    if a is None or b is None:
        return a is b
    return math.isclose(a, b, rel_tol=1e-12, abs_tol=1e-12)


# A correction names itself by its cause: who and why stand in its own table.
_CHANGES = """
SELECT x.id, x.batch_id, x.cause, x.cause_id, x.verdict_before, x.verdict_after, x.received_at,
  coalesce(c.reason, m.reason, f.reason) AS reason, w.name AS person_name,
  coalesce(m.from_batch_id = x.batch_id, 0) AS away
FROM result_change x
LEFT JOIN correction c ON x.cause = 'correction' AND c.id = x.cause_id
LEFT JOIN sample_move m ON x.cause = 'sample_move' AND m.id = x.cause_id
LEFT JOIN batch_correction f ON x.cause = 'batch_correction' AND f.id = x.cause_id
JOIN person w ON w.id = coalesce(c.person_id, m.person_id, f.person_id)
WHERE x.batch_id = ?
"""
# Until somebody has decided who could know it: made after the change, and stored after it.
_STANDS = """
AND NOT EXISTS (SELECT 1 FROM decision d WHERE d.batch_id = x.batch_id AND d.made_at >= x.received_at
  AND (SELECT max(l.seq) FROM ledger l WHERE l.kind = 'decision' AND l.record_id = d.id)
    > (SELECT max(l.seq) FROM ledger l WHERE l.kind = 'result_change' AND l.record_id = x.id))
"""


def list_changes(db: Database, batch_id: str) -> list[ResultChange]:
    """Everything that corrections did to a batch's result, oldest first."""
    return _load(db, f"{_CHANGES} ORDER BY x.rowid", batch_id)


def standing_changes(db: Database, batch_id: str) -> list[ResultChange]:
    """Those after which nobody has decided about the batch, oldest first."""
    return _load(db, f"{_CHANGES}{_STANDS} ORDER BY x.rowid", batch_id)


def _load(db: Database, sql: str, batch_id: str) -> list[ResultChange]:
    return [
        ResultChange(**row | {"away": bool(row["away"])}, parts=_parts(db, row["id"]))
        for row in list(db.query(sql, (batch_id,)))
    ]  # fmt: skip


def _parts(db: Database, change_id: str) -> tuple[PartChange, ...]:
    rows = db.query(
        "SELECT kind, value_before, value_after, verdict_before, verdict_after FROM result_change_part"
        " WHERE change_id = ?",
        (change_id,),
    )
    found = {row["kind"]: PartChange(**row) for row in rows}
    return tuple(found[kind] for kind in KINDS if kind in found)


def taken_together(changes: Iterable[ResultChange]) -> ResultChange | None:
    """Several changes in a row as one: what stood before the first and after the last, by the last one's words.

    None where they cancel each other out, or where there are none.
    """
    found = list(changes)
    if not found:
        return None
    parts: dict[str, PartChange] = {}
    for part in (part for change in found for part in change.parts):
        first = parts.get(part.kind, part)
        parts[part.kind] = replace(part, value_before=first.value_before, verdict_before=first.verdict_before)
    left = tuple(
        parts[kind] for kind in KINDS
        if kind in parts and not (
            _close(parts[kind].value_before, parts[kind].value_after)
            and parts[kind].verdict_before == parts[kind].verdict_after
        )
    )  # fmt: skip
    if not left and found[0].verdict_before == found[-1].verdict_after:
        return None
    return replace(found[-1], verdict_before=found[0].verdict_before, parts=left)
