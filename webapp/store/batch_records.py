"""What a batch's record on paper needs beyond its samples and decisions: what was corrected, mixed or taken in, the
plate that was in force, and the ledger's lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlite_utils import Database

from . import ledger
from .connect import one


@dataclass(frozen=True)
class Move:
    """A sample that belongs to another batch than it was read for. away: out of the batch that was asked about."""

    sample_id: str
    kind: str
    from_code: str
    to_code: str
    away: bool
    reason: str
    person_name: str
    received_at: str


@dataclass(frozen=True)
class FactChange:
    """A fact of a batch that was wrong. fact: the column's name; before, after: as stored, with the name in place of an
    id."""

    fact: str
    before: str | int | None
    after: str | int | None
    reason: str
    person_name: str
    received_at: str


@dataclass(frozen=True)
class PartChange:
    """What a correction did to one kind: values in scale units, None for none; step: their scale's, in hundredths."""

    kind: str
    value_before: float | None
    value_after: float | None
    step: int | None


@dataclass(frozen=True)
class ResultChange:
    """What a correction did to a batch's result. cause: 'correction', 'sample_move' or 'batch_correction'."""

    cause: str
    verdict_before: str | None
    verdict_after: str | None
    received_at: str
    parts: tuple[PartChange, ...]


@dataclass(frozen=True)
class BlendPart:
    """A batch in a blend, with its mass in grams."""

    batch_id: str
    code: str
    grams: int


@dataclass(frozen=True)
class Blend:
    """A batch mixed from others. expected: kind -> (value, u) in scale units."""

    reason: str
    person_name: str
    made_at: str
    parts: tuple[BlendPart, ...]
    expected: dict[str, tuple[float, float]]


@dataclass(frozen=True)
class TakenIn:
    """The file that a batch was taken from, and its row there."""

    file_name: str
    row: int | None
    person_name: str
    received_at: str


@dataclass(frozen=True)
class DecisionMore:
    """role: in which it was made (None in older ones); customer: of a concession; blend_code: of the blend it went
    into; superseded: whether a later one took its place."""

    role: str | None
    customer: str | None
    blend_code: str | None
    superseded: bool


@dataclass(frozen=True)
class Plate:
    """A reference plate's value when a sample was read, in hundredths."""

    name: str
    assigned: int
    tolerance: int


def list_moves(db: Database, batch_id: str) -> list[Move]:
    """Samples moved into a batch and out of it, in the order of storing."""
    return [Move(**row | {"away": bool(row["away"])}) for row in db.query(_MOVES, {"batch": batch_id})]


def list_fact_changes(db: Database, batch_id: str) -> list[FactChange]:
    """Every fact of a batch that was corrected, in the order of storing."""
    found = []
    for row in list(db.query(_FACTS, (batch_id,))):
        table = {"product_id": "product", "machine_id": "machine"}.get(row["fact"])
        if table:
            for side in ("before", "after"):
                named = one(db, f"SELECT name FROM {table} WHERE id = ?", (row[side],))
                row[side] = named["name"] if named else row[side]
        found.append(FactChange(**row))
    return found


def list_result_changes(db: Database, batch_id: str) -> list[ResultChange]:
    """What corrections did to a batch's result, in the order of storing."""
    rows = db.query("SELECT * FROM result_change WHERE batch_id = ? ORDER BY rowid", (batch_id,))
    return [
        ResultChange(
            row["cause"], row["verdict_before"], row["verdict_after"], row["received_at"],
            tuple(PartChange(**part) for part in db.query(_CHANGED_PARTS, (row["id"],))),
        )
        for row in list(rows)
    ]  # fmt: skip


def find_blend(db: Database, batch_id: str) -> Blend | None:
    """The blend that a batch is, or None."""
    row = one(
        db, "SELECT b.id, b.reason, p.name AS person_name, b.made_at FROM blend b JOIN person p ON p.id = b.person_id"
        " WHERE b.batch_id = ?", (batch_id,),
    )  # fmt: skip
    if row is None:
        return None
    parts = db.query(
        "SELECT p.batch_id, b.code, p.grams FROM blend_part p JOIN batch b ON b.id = p.batch_id WHERE p.blend_id = ?"
        " ORDER BY p.grams DESC, b.code", (row["id"],),
    )  # fmt: skip
    expected = db.query("SELECT kind, value, u FROM blend_expected WHERE blend_id = ?", (row["id"],))
    return Blend(
        row["reason"], row["person_name"], row["made_at"], tuple(BlendPart(**part) for part in parts),
        {one["kind"]: (one["value"], one["u"]) for one in expected},
    )  # fmt: skip


def find_taken_in(db: Database, import_id: str, row_no: int | None) -> TakenIn:
    """The file that a batch was taken from."""
    row = one(
        db, "SELECT i.file_name, p.name AS person_name, i.received_at FROM import_run i JOIN person p"
        " ON p.id = i.person_id WHERE i.id = ?", (import_id,),
    )  # fmt: skip
    return TakenIn(row["file_name"], row_no, row["person_name"], row["received_at"])


def decisions_more(db: Database, batch_id: str) -> dict[str, DecisionMore]:
    """Decision id -> what else is known of it."""
    return {
        row.pop("id"): DecisionMore(**row | {"superseded": bool(row["superseded"])})
        for row in db.query(_DECISIONS, (batch_id,))
    }


def find_plate(db: Database, plate_id: str | None) -> Plate | None:
    """A plate's row, or None without one."""
    row = one(db, "SELECT name, assigned, tolerance FROM plate WHERE id = ?", (plate_id,)) if plate_id else None
    return Plate(**row) if row else None


def newest_line(
    db: Database, batch_id: str, sample_ids: Sequence[str], claim_ids: Sequence[str]
) -> tuple[dict, int]:  # fmt: skip
    """(The newest ledger line about a batch: seq, at, hash; how many there are). As ledger.lines_about, with the lines
    of its corrections and of its blend."""
    about = {line["seq"]: line for line in ledger.lines_about(db, batch_id, list(sample_ids), list(claim_ids))}
    about |= {line["seq"]: line for line in db.query(_LINES, {"batch": batch_id})}
    return about[max(about)], len(about)


_MOVES = """
SELECT m.sample_id, s.kind, f.code AS from_code, t.code AS to_code, m.from_batch_id = :batch AS away, m.reason,
  p.name AS person_name, m.received_at
FROM sample_move m JOIN sample s ON s.id = m.sample_id JOIN batch f ON f.id = m.from_batch_id
JOIN batch t ON t.id = m.to_batch_id JOIN person p ON p.id = m.person_id
WHERE m.from_batch_id = :batch OR m.to_batch_id = :batch
ORDER BY m.rowid
"""

_FACTS = """
SELECT f.fact, f.before, f.after, c.reason, p.name AS person_name, c.received_at
FROM batch_correction c JOIN batch_correction_fact f ON f.correction_id = c.id JOIN person p ON p.id = c.person_id
WHERE c.batch_id = ? ORDER BY c.rowid, f.rowid
"""

_CHANGED_PARTS = """
SELECT c.kind, c.value_before, c.value_after, s.step
FROM result_change_part c JOIN result_change r ON r.id = c.change_id
LEFT JOIN part_result p ON p.batch_id = r.batch_id AND p.kind = c.kind LEFT JOIN scale s ON s.id = p.scale_id
WHERE c.change_id = ? ORDER BY c.kind = 'difference', c.kind = 'ground'
"""

_DECISIONS = """
SELECT d.id, d.role, d.customer, b.code AS blend_code,
  EXISTS (SELECT 1 FROM decision x WHERE x.batch_id = d.batch_id AND x.rowid > d.rowid) AS superseded
FROM decision d LEFT JOIN blend l ON l.id = d.blend_id LEFT JOIN batch b ON b.id = l.batch_id
WHERE d.batch_id = ?
"""

_LINES = """
SELECT seq, at, hash FROM ledger WHERE kind = 'sample_move' AND record_id IN (SELECT id FROM sample_move
  WHERE :batch IN (from_batch_id, to_batch_id))
UNION SELECT seq, at, hash FROM ledger WHERE kind = 'batch_correction' AND record_id IN
  (SELECT id FROM batch_correction WHERE batch_id = :batch)
UNION SELECT seq, at, hash FROM ledger WHERE kind = 'result_change' AND record_id IN
  (SELECT id FROM result_change WHERE batch_id = :batch)
UNION SELECT seq, at, hash FROM ledger WHERE kind = 'blend' AND record_id IN
  (SELECT id FROM blend WHERE batch_id = :batch)
"""
