"""Blends: a batch mixed from others as a trial, what was expected of it, and the blend-off that it stands for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlite_utils import Database

from . import batches, decisions, ledger, results
from .batches import NewBatch
from .connect import one, write
from .errors import AlreadyThere, NotFound, StoreError
from .records import insert, new_id
from .times import to_text
from .who import Who

MOST = 200
"""So many blends are listed, the newest."""


@dataclass(frozen=True)
class Known:
    """What was known of a kind: value and standard uncertainty, in scale units."""

    value: float
    u: float


@dataclass(frozen=True)
class Expected(Known):
    """What was expected of the blend; chance: of lying in the band."""

    chance: float


@dataclass(frozen=True)
class NewPart:
    """A batch of which `grams` go into the blend, with what was known of it by kind."""

    batch_id: str
    grams: int
    values: dict[str, Known]


@dataclass(frozen=True)
class NewBlend:
    """What a lead stores: the trial's own batch, its parts, what is expected of it by which target. trial_g: how much
    of it is mixed to be read, None if nobody said."""

    id: str
    batch: NewBatch
    target_version_id: str
    confidence: float
    trial_g: int | None
    reason: str
    parts: tuple[NewPart, ...]
    expected: dict[str, Expected]


@dataclass(frozen=True)
class Part(NewPart):
    """A stored part, with its batch's code and its mass, None where that was not written down."""

    code: str
    roasted_g: int | None
    machine_name: str
    roasted_at: str


@dataclass(frozen=True)
class Blend:
    """A stored blend with its parts in the order of their mass, and the names that its ids stand for.

    decision, decided_by, decided_at: what stands of the trial's batch; carried_out: when its parts were decided to go
    into it (stored UTC text), carried_out_by: by whom; None before.
    """

    id: str
    batch_id: str
    code: str
    product_id: str
    product_name: str
    target_version_id: str
    confidence: float
    trial_g: int | None
    reason: str
    person_name: str
    made_at: str
    received_at: str
    decision: str | None
    carried_out: str | None
    carried_out_by: str | None
    parts: tuple[Part, ...] = ()
    expected: dict[str, Expected] | None = None

    @property
    def total_g(self) -> int:
        """What all of it weighs."""
        return sum(part.grams for part in self.parts)

    def share(self, part: Part) -> float:
        """A part's share of the mass, 0 to 1."""
        return part.grams / self.total_g


class PartsChanged(StoreError):
    """Parts whose result or decision is another one than when the blend was planned: (code, 'result' or 'decision')."""

    def __init__(self, parts: Sequence[tuple[str, Literal["result", "decision"]]]) -> None:
        super().__init__(*parts)
        self.parts = tuple(parts)


class NotReady(StoreError):
    """The trial is not read, not in band, or not released."""


def add_blend(db: Database, new: NewBlend, who: Who, now: datetime) -> Blend:
    """Store the trial's batch and the blend with its parts, once; all of it or nothing.

    AlreadyThere: the id is taken by another blend. PartsChanged: a part reads otherwise now than `new` says.
    """
    with write(db):
        if one(db, "SELECT 1 FROM blend WHERE id = ?", (new.id,)):
            there = get_blend(db, new.id)
            if _content(there) != _content(new):
                raise AlreadyThere(new.id)
            return there
        changed = [(batches.get_batch(db, p.batch_id).code, "result") for p in new.parts if not _reads(db, p)]
        if changed:
            raise PartsChanged(changed)
        batches.add_batch(db, new.batch, who, now, blend=True)
        insert(db, "blend", {
            "id": new.id, "batch_id": new.batch.id, "target_version_id": new.target_version_id,
            "confidence": new.confidence, "trial_g": new.trial_g, "reason": new.reason, "person_id": who.person_id,
            "tablet_id": who.tablet_id, "made_at": new.batch.made_at, "received_at": to_text(now),
        })  # fmt: skip
        for part in new.parts:
            key = {"blend_id": new.id, "batch_id": part.batch_id}
            insert(db, "blend_part", key | {"grams": part.grams})
            for kind, known in part.values.items():
                insert(db, "blend_part_value", key | {"kind": kind, "value": known.value, "u": known.u})
        for kind, is_expected in new.expected.items():
            numbers = {"value": is_expected.value, "u": is_expected.u, "chance": is_expected.chance}
            insert(db, "blend_expected", {"blend_id": new.id, "kind": kind, **numbers})
        ledger.note(db, "trial blend planned", "blend", new.id, now, who.person_id, who.tablet_id)
        return get_blend(db, new.id)


def _content(blend: NewBlend | Blend) -> tuple:
    batch_id = blend.batch.id if isinstance(blend, NewBlend) else blend.batch_id
    masses = sorted((part.batch_id, part.grams) for part in blend.parts)
    return batch_id, blend.target_version_id, blend.trial_g, blend.reason, masses


def _reads(db: Database, part: NewPart) -> bool:
    """Whether a part's batch still reads as the blend was planned with."""
    there = results.get_parts(db, part.batch_id)
    return all(
        kind in there and results.same(there[kind].value, known.value) and results.same(there[kind].u, known.u)
        for kind, known in part.values.items()
    )


def changed_parts(db: Database, blend: Blend) -> list[tuple[str, Literal["result", "decision"]]]:
    """The parts whose result or decision changed since the blend was stored: see PartsChanged."""
    found = []
    for part in blend.parts:
        if not _reads(db, part):
            found.append((part.code, "result"))
        elif one(db, _DECIDED_SINCE, {"batch": part.batch_id, "blend": blend.id}):
            found.append((part.code, "decision"))
    return found


# In the order of the ledger: two records of one moment are told apart.
_DECIDED_SINCE = """
SELECT 1 FROM decision d CROSS JOIN ledger l ON l.kind = 'decision' AND l.record_id = d.id
WHERE d.batch_id = :batch AND l.seq > (SELECT min(seq) FROM ledger WHERE kind = 'blend' AND record_id = :blend) LIMIT 1
"""


def ready(db: Database, blend: Blend) -> bool:
    """Whether the trial was read, is in band and released, so that the blend-off may be carried out."""
    stands = results.get_batch_result(db, blend.batch_id)
    return stands is not None and stands.verdict == "inside" and blend.decision in ("release", "concession")


def carry_out(db: Database, blend_id: str, reason: str, who: Who, now: datetime) -> None:
    """Decide of every part that it goes into the blend, all of them or none. Done once: again does nothing.

    NotFound; NotReady; PartsChanged: nothing is stored then.
    """
    with write(db):
        blend = get_blend(db, blend_id)
        if blend.carried_out:
            return
        if not ready(db, blend):
            raise NotReady(blend_id)
        if changed := changed_parts(db, blend):
            raise PartsChanged(changed)
        for part in blend.parts:
            decisions.add_decision(
                db, new_id(), part.batch_id, "blend", reason, who, now, blend_id=blend.id
            )  # fmt: skip


_BLEND = """
SELECT n.id, n.batch_id, b.code, b.product_id, p.name AS product_name, n.target_version_id, n.confidence, n.trial_g,
  n.reason, w.name AS person_name, n.made_at, n.received_at,
  (SELECT d.what FROM decision d WHERE d.batch_id = b.id ORDER BY d.rowid DESC LIMIT 1) AS decision,
  c.received_at AS carried_out, cw.name AS carried_out_by
FROM blend n JOIN batch b ON b.id = n.batch_id JOIN product p ON p.id = b.product_id JOIN person w ON w.id = n.person_id
LEFT JOIN decision c ON c.rowid = (SELECT min(d.rowid) FROM blend_part q CROSS JOIN decision d
  ON d.batch_id = q.batch_id AND d.blend_id = n.id WHERE q.blend_id = n.id)
LEFT JOIN person cw ON cw.id = c.person_id
"""
_PARTS = """
SELECT q.batch_id, q.grams, b.code, b.roasted_g, m.name AS machine_name, b.roasted_at
FROM blend_part q JOIN batch b ON b.id = q.batch_id JOIN machine m ON m.id = b.machine_id
WHERE q.blend_id = ? ORDER BY q.grams DESC, b.code
"""


def get_blend(db: Database, blend_id: str) -> Blend:
    """One blend; NotFound if there is none."""
    row = one(db, f"{_BLEND} WHERE n.id = ?", (blend_id,))
    if row is None:
        raise NotFound(blend_id)
    return _filled(db, row)


def find_by_batch(db: Database, batch_id: str) -> Blend | None:
    """The blend that a batch is; None for one that was roasted."""
    row = one(db, f"{_BLEND} WHERE n.batch_id = ?", (batch_id,))
    return _filled(db, row) if row else None


def list_blends(db: Database) -> list[Blend]:
    """The newest MOST blends, newest first."""
    return [_filled(db, row) for row in list(db.query(f"{_BLEND} ORDER BY n.rowid DESC LIMIT {MOST}"))]


def _filled(db: Database, row: dict) -> Blend:
    values: dict[str, dict[str, Known]] = {}
    for known in db.query("SELECT batch_id, kind, value, u FROM blend_part_value WHERE blend_id = ?", (row["id"],)):
        values.setdefault(known["batch_id"], {})[known["kind"]] = Known(known["value"], known["u"])
    parts = tuple(Part(**part, values=values.get(part["batch_id"], {})) for part in db.query(_PARTS, (row["id"],)))
    rows = db.query("SELECT kind, value, u, chance FROM blend_expected WHERE blend_id = ?", (row["id"],))
    there = {found["kind"]: Expected(found["value"], found["u"], found["chance"]) for found in rows}
    return Blend(**row, parts=parts, expected={kind: there[kind] for kind in results.KINDS if kind in there})


@dataclass(frozen=True)
class PartOf:
    """A blend that a batch is part of; carried_out: whether it was decided to go into it."""

    blend_id: str
    code: str
    grams: int
    carried_out: bool


def part_of(db: Database, batch_id: str) -> list[PartOf]:
    """The blends that a batch is part of, oldest first."""
    rows = db.query(
        "SELECT q.blend_id, b.code, q.grams, EXISTS (SELECT 1 FROM decision d WHERE d.batch_id = q.batch_id"
        " AND d.blend_id = q.blend_id) AS carried_out FROM blend_part q JOIN blend n ON n.id = q.blend_id"
        " JOIN batch b ON b.id = n.batch_id WHERE q.batch_id = ? ORDER BY n.rowid",
        (batch_id,),
    )
    return [PartOf(**row | {"carried_out": bool(row["carried_out"])}) for row in rows]
