"""One day at a glance: everything the day strip shows, in a fixed number of queries however long the history is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlite_utils import Database

from .connect import one
from .meter_state import FINE
from .waiting import REREAD, Stands, Why, why_waiting

COFFEE = ("whole", "ground")
KINDS = (*COFFEE, "difference")


@dataclass(frozen=True)
class StripPart:
    """A measured part of a batch. Numbers in scale units, unrounded; `position`: +1 is the light limit.

    verdict, side and position are None where there was no target to judge by. samples: how many count into it;
    apart: how many are kept beside it. readers: (name, role then) of who took the samples, in order.
    """

    kind: str
    value: float
    u: float
    step: float
    lighter: int
    scale_lower: float
    scale_upper: float
    verdict: str | None
    side: str | None
    chance: float | None
    position: float | None
    beyond: float | None
    settle_fills: int | None
    fills: int
    samples: int
    apart: int
    disagree: bool
    readers: tuple[tuple[str, str], ...] = ()

    @property
    def U(self) -> float:
        """Give or take: expanded uncertainty, k = 2 (JCGM 100)."""
        return 2 * self.u


@dataclass(frozen=True)
class StripBatch:
    """A batch of the day. missing: kinds (whole, ground) that its target asks for and that are not measured.

    verdict is 'incomplete' for a batch without any reading. decision: what was decided last, or None; decided_on:
    the verdict that stood then; reread: it asked for another reading, and there is one since. meter_state,
    grinder_state, hands_state: as in results.BatchResult. imported: taken in from a file of older batches. blend_of: of
    a blend, the codes of its parts.
    """

    id: str
    code: str
    roasted_at: str
    product_name: str
    product_short: str
    machine_name: str
    verdict: str
    chance: float | None
    missing: tuple[str, ...]
    parts: dict[str, StripPart]
    decision: str | None = None
    decided_on: str | None = None
    decided_by: str | None = None
    meter_state: str | None = None
    grinder_state: str | None = None
    hands_state: str | None = None
    reread: bool = False
    imported: bool = False
    blend_of: tuple[str, ...] = ()

    @property
    def proven(self) -> bool:
        """Whether a check stands behind its meter, or nobody asks for one."""
        return self.meter_state in FINE

    @property
    def side(self) -> str | None:
        """The one side on which its coffee is out; None if it is not out, out on both, or only in the difference.

        A difference that is out says that inside and outside differ, not that the roast is too light or too dark.
        """
        sides = {p.side for p in self.parts.values() if p.verdict == "outside" and p.kind != "difference"}
        return next(iter(sides)) if len(sides) == 1 else None

    @property
    def stands(self) -> Stands:
        """What the rule of what waits looks at."""
        return Stands(
            self.verdict, self.meter_state, self.hands_state, self.decision, self.decided_on, self.reread, self.imported
        )

    @property
    def to_countersign(self) -> bool:
        """Whether a trainee read it before the sign-off, and nobody has countersigned or decided."""
        return self.stands.to_countersign

    @property
    def why(self) -> Why | None:
        """Why it waits for somebody, by the one rule; None if it does not."""
        return why_waiting(self.stands)

    @property
    def waits(self) -> bool:
        """Whether it waits for somebody."""
        return self.why is not None


@dataclass(frozen=True)
class StripDay:
    """The day's batches in the order they were roasted, and the nearest days before and after that have any."""

    day: str
    batches: tuple[StripBatch, ...]
    before: str | None
    after: str | None


def get_day(db: Database, day: str) -> StripDay:
    """The strip of one day of the site's calendar (`2026-05-14`)."""
    rows = list(db.query(BATCHES, (day,)))
    parts = parts_of(db, day)
    decisions = {row["batch_id"]: row for row in db.query(DECISIONS, (day,))}
    wanted = wanted_kinds(db, {row["product_id"] for row in rows if row["verdict"] is None})
    mixed = blends_of(db, day) if any(row["blend"] for row in rows) else {}
    batches = []
    for row in rows:
        del row["blend"]
        batch_id, product_id, missing = row["id"], row.pop("product_id"), row.pop("missing")
        if row["verdict"] is None:
            row["verdict"], asked = "incomplete", wanted.get(product_id, ())
        else:
            asked = missing.split()
        decision = decisions.get(batch_id, {})
        row["imported"] = bool(row["imported"])
        batches.append(
            StripBatch(
                **row,
                missing=still_missing(asked, parts.get(batch_id, {})),
                parts=parts.get(batch_id, {}),
                decision=decision.get("what"),
                decided_on=decision.get("verdict"),
                decided_by=decision.get("name"),
                reread=bool(decision.get("reread")),
                blend_of=mixed.get(batch_id, ()),
            )
        )
    return StripDay(day, tuple(batches), *neighbours(db, day))


def still_missing(asked: Iterable[str], parts: dict[str, StripPart]) -> tuple[str, ...]:
    """What has still to be read: the kinds asked for, and for a difference both."""
    return tuple(kind for kind in COFFEE if kind in asked or ("difference" in asked and kind not in parts))


def parts_of(db: Database, day: str) -> dict[str, dict[str, StripPart]]:
    """batch id -> kind -> part (in the order of KINDS), for every batch of the day that has readings."""
    readers: dict[tuple[str, str], dict[str, str]] = {}
    for row in db.query(READERS, (day,)):
        readers.setdefault((row["batch_id"], row["kind"]), {}).setdefault(row["name"], row["role"])
    found: dict[str, dict[str, StripPart]] = {}
    for row in db.query(PARTS, (day,)):
        batch_id, kind = row.pop("batch_id"), row["kind"]
        row["disagree"] = bool(row["disagree"])
        people = readers.get((batch_id, kind), {})
        found.setdefault(batch_id, {})[kind] = StripPart(**row, readers=tuple(people.items()))
    return {batch_id: {kind: parts[kind] for kind in KINDS if kind in parts} for batch_id, parts in found.items()}


def blends_of(db: Database, day: str) -> dict[str, tuple[str, ...]]:
    """batch id -> the codes of what it was mixed from, for the day's blends."""
    found: dict[str, tuple[str, ...]] = {}
    for row in db.query(MIXED, (day,)):
        found[row["batch_id"]] = (*found.get(row["batch_id"], ()), row["code"])
    return found


def wanted_kinds(db: Database, product_ids: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """product id -> the kinds its newest target asks for: what a batch without any reading still needs."""
    ids = sorted(product_ids)
    found: dict[str, tuple[str, ...]] = {}
    if ids:
        for row in db.query(WANTED.format(marks=", ".join("?" * len(ids))), ids):
            found[row["product_id"]] = (*found.get(row["product_id"], ()), row["kind"])
    return found


def neighbours(db: Database, day: str) -> tuple[str | None, str | None]:
    """The nearest days before and after that have a batch."""
    row = one(
        db,
        "SELECT (SELECT max(day) FROM batch WHERE day < :day) AS before,"
        " (SELECT min(day) FROM batch WHERE day > :day) AS after",
        {"day": day},
    )
    return row["before"], row["after"]


def version(db: Database) -> int:
    """A number that grows with every fact or master record written: the ledger's newest line.

    Unchanged: no day can look different. It also grows when something on another day is written; a strip is
    then drawn once more for nothing, which costs less than asking every batch of the day each time.
    """
    row = one(db, "SELECT max(seq) AS seq FROM ledger")
    return row["seq"] or 0


BATCHES = """
SELECT b.id, b.code, b.roasted_at, b.product_id, p.name AS product_name, p.short AS product_short,
       m.name AS machine_name, r.verdict, r.chance, r.missing, r.meter_state, r.grinder_state, r.hands_state,
       b.import_id IS NOT NULL AS imported, b.blend
FROM batch b JOIN product p ON p.id = b.product_id JOIN machine m ON m.id = b.machine_id
LEFT JOIN batch_result r ON r.batch_id = b.id
WHERE b.day = ? ORDER BY b.roasted_at, b.rowid
"""

PARTS = """
SELECT r.batch_id, r.kind, r.value, r.u, s.step / 100.0 AS step, s.lighter, s.lower / 100.0 AS scale_lower,
       s.upper / 100.0 AS scale_upper, r.verdict, r.side, r.chance, r.position, r.beyond, r.settle_fills, r.fills,
       r.samples, r.apart, r.readings_disagree OR r.fills_disagree AS disagree
FROM batch b JOIN part_result r ON r.batch_id = b.id JOIN scale s ON s.id = r.scale_id
WHERE b.day = ?
"""

READERS = """
SELECT s.batch_id, s.kind, s.role, p.name
FROM batch b JOIN sample s ON s.batch_id = b.id JOIN person p ON p.id = s.person_id
WHERE b.day = ? ORDER BY s.rowid
"""

# Oldest first: in a dict by batch the last one stands.
DECISIONS = f"""
SELECT d.batch_id, d.what, d.verdict, p.name, {REREAD} AS reread
FROM batch b JOIN decision d ON d.batch_id = b.id JOIN person p ON p.id = d.person_id
WHERE b.day = ? ORDER BY d.rowid
"""

MIXED = """
SELECT n.batch_id, q.code
FROM batch b JOIN blend n ON n.batch_id = b.id JOIN blend_part p ON p.blend_id = n.id JOIN batch q ON q.id = p.batch_id
WHERE b.day = ? AND b.blend = 1 ORDER BY p.grams DESC, q.code
"""

WANTED = """
SELECT v.product_id, t.kind
FROM target_version v JOIN target_band t ON t.target_version_id = v.id
WHERE v.product_id IN ({marks})
  AND v.no = (SELECT max(no) FROM target_version w WHERE w.product_id = v.product_id)
"""
