"""What may go into a blend: batches of a product that wait or are held, and those in band that may help."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from sqlite_utils import Database

from webapp.measure.blend import Reading

from . import methods, results
from .part_results import PartResult
from .products import Target

Group = Literal["held", "waits", "left", "inside"]
GROUPS: tuple[Group, ...] = ("held", "waits", "left", "inside")
COFFEE = ("whole", "ground")

MOST_INSIDE = 10
"""So many batches in band are offered to help, the newest."""


LEAST_LEFT = 200
"""Grams below which what stayed of a batch is not offered again: it sticks to the bin. Our own, from no source."""


@dataclass(frozen=True)
class Candidate:
    """A batch that may go into a blend of its product. Masses in grams.

    group       'held'; 'waits': out of band or too close to call, and nobody has decided; 'left': some of it stayed
                when it went into a blend; 'inside': in band, released or not decided yet
    decision    the one that stands, or None; decision_id: its record's
    blended_g   what of it went into blends that were carried out
    planned_in  the code of a trial blend that it is part of and that is not carried out, or ""
    parts       its results by kind; meters: by kind, what it was read on
    lacks       why it cannot be mixed, and the kind: 'unread', 'otherwise' (by another method version or on another
                scale than the target asks for), 'apart' (not judged), 'unsigned' (waits for a countersignature); None
                if it can
    """

    batch_id: str
    code: str
    roasted_at: str
    roasted_g: int | None
    machine_id: str
    verdict: str
    meter_state: str | None
    group: Group
    decision: str | None
    decision_id: str | None
    blended_g: int
    planned_in: str
    parts: dict[str, PartResult]
    meters: dict[str, str]
    lacks: tuple[str, str] | None

    @property
    def left_g(self) -> int | None:
        """What there should still be of it; None where its mass was not written down."""
        return None if self.roasted_g is None else max(0, self.roasted_g - self.blended_g)

    def readings(self, kinds: Iterable[str]) -> dict[str, Reading]:
        """What it read of these kinds, as measure.blend wants it."""
        return {kind: reading_of(self.parts[kind], self.meters[kind]) for kind in kinds}


def reading_of(part: PartResult, meter: str) -> Reading:
    """A stored part as measure.blend wants it: the meter's term is what batches read on the same one share."""
    return Reading(part.value, part.u, min(part.u, math.sqrt(part.meter_term)), meter)


_ROW = """
SELECT b.id AS batch_id, b.code, b.roasted_at, b.roasted_g, b.machine_id, r.verdict, r.meter_state, r.hands_state,
  d.what AS decision, d.id AS decision_id
FROM {whence} CROSS JOIN batch_result r ON r.batch_id = b.id
LEFT JOIN decision d ON d.rowid = (SELECT max(x.rowid) FROM decision x WHERE x.batch_id = b.id)
WHERE b.product_id = :product AND b.blend IS NULL {more} ORDER BY b.roasted_at
"""
# What waits is found over all time, and it is few; the others only among the newest.
_WAITING = _ROW.format(
    whence="batch_waiting w CROSS JOIN batch b ON b.id = w.batch_id",
    more="AND (d.what = 'hold' OR r.verdict IN ('undecided', 'outside'))",
)
_OTHERS = _ROW.format(
    whence="batch b",
    more="AND b.roasted_at >= :since AND (d.what = 'blend' OR (r.verdict = 'inside' AND b.roasted_at >= :inside_since"
    " AND (d.what IS NULL OR d.what = 'release')))",
)


def count_by_product(db: Database) -> dict[str, dict[Group, int]]:
    """product id -> group -> batches, of those that are held and those that wait out of band or too close to call."""
    found: dict[str, dict[Group, int]] = {}
    rows = db.query(
        "SELECT b.product_id, d.what FROM batch_waiting w CROSS JOIN batch b ON b.id = w.batch_id"
        " CROSS JOIN batch_result r ON r.batch_id = b.id"
        " LEFT JOIN decision d ON d.rowid = (SELECT max(x.rowid) FROM decision x WHERE x.batch_id = b.id)"
        " WHERE b.blend IS NULL AND (d.what = 'hold' OR r.verdict IN ('undecided', 'outside'))"
    )
    for row in rows:
        counts = found.setdefault(row["product_id"], {"held": 0, "waits": 0})
        counts["held" if row["what"] == "hold" else "waits"] += 1
    return found


def list_candidates(db: Database, target: Target, since: str, inside_since: str) -> list[Candidate]:
    """The batches of the target's product that may be mixed, by group, held ones first, the oldest first.

    since: from when (stored UTC text) a batch was roasted of which something stayed; inside_since: one that may help.
    """
    asked = {"product": target.product_id}
    rows = [row | {"group": "held" if row["decision"] == "hold" else "waits"} for row in db.query(_WAITING, asked)]
    others = list(db.query(_OTHERS, asked | {"since": since, "inside_since": inside_since}))
    rows += [row | {"group": "left"} for row in others if row["decision"] == "blend"]
    known = {row["batch_id"] for row in rows}
    inside = [row | {"group": "inside"} for row in others if row["verdict"] == "inside" and row["decision"] != "blend"]
    rows += [row for row in inside if row["batch_id"] not in known][-MOST_INSIDE:]
    ids = [row["batch_id"] for row in rows]
    meters, blended, planned = meters_of(db, ids), _blended(db, ids), _planned(db, ids)
    parts = {batch_id: results.get_parts(db, batch_id) for batch_id in ids}
    by_time = [parts[row["batch_id"]] for row in sorted(rows, key=lambda row: row["roasted_at"])]
    versions = _versions(db, target, by_time)
    found = []
    for row in rows:
        batch_id, waits = row["batch_id"], row.pop("hands_state") == "waiting"
        lacks = ("unsigned", "") if waits else what_it_lacks(parts[batch_id], target, versions)
        one = Candidate(
            **row, blended_g=blended.get(batch_id, 0), planned_in=planned.get(batch_id, ""), parts=parts[batch_id],
            meters=meters.get(batch_id, {}), lacks=lacks,
        )  # fmt: skip
        if one.group != "left" or (one.left_g or 0) >= LEAST_LEFT:
            found.append(one)
    return sorted(found, key=lambda one: GROUPS.index(one.group))


def _versions(db: Database, target: Target, parts: Sequence[dict[str, PartResult]]) -> dict[str, str | None]:
    """kind of coffee -> the method version by which the parts of a blend, and then its trial, are read."""
    found = {}
    for kind in COFFEE:
        method_id = target.method_id(kind)
        version = methods.version_in_force(db, method_id) if method_id else None
        newest = next((of[kind].method_version_id for of in reversed(parts) if kind in of), None)
        found[kind] = version.id if version else newest
    return found


def what_it_lacks(
    parts: dict[str, PartResult], target: Target, versions: dict[str, str | None]
) -> tuple[str, str] | None:
    """See Candidate.lacks. What was read by two versions of a method cannot be mixed on paper: see DEVELOPERS.md."""
    wanted = list(target.bands)
    if "difference" in wanted:
        wanted = [*COFFEE, "difference"]
    for kind in wanted:
        part = parts.get(kind)
        if part is None:
            return "unread", kind
        if part.apart_why:
            return "apart", kind
        if part.scale_id != target.scale.id or (kind in COFFEE and part.method_version_id != versions[kind]):
            return "otherwise", kind
    return None


def meters_of(db: Database, batch_ids: Sequence[str]) -> dict[str, dict[str, str]]:
    """batch id -> kind -> the meters that it was read on, in one text: equal texts share the meter's error."""
    read: dict[str, dict[str, set[str]]] = {}
    for row in _of(db, "SELECT batch_id, kind, meter_id FROM sample WHERE batch_id IN ({marks})", batch_ids):
        read.setdefault(row["batch_id"], {}).setdefault(row["kind"], set()).add(row["meter_id"])
    found = {}
    for batch_id, of in read.items():
        found[batch_id] = {kind: " ".join(sorted(meters)) for kind, meters in of.items()}
        found[batch_id]["difference"] = "/".join(found[batch_id].get(kind, "") for kind in COFFEE)
    return found


def _blended(db: Database, batch_ids: Sequence[str]) -> dict[str, int]:
    """batch id -> grams of it in blends that were carried out."""
    sql = (
        "SELECT p.batch_id, sum(p.grams) AS grams FROM blend_part p WHERE p.batch_id IN ({marks}) AND EXISTS"
        " (SELECT 1 FROM decision d WHERE d.batch_id = p.batch_id AND d.blend_id = p.blend_id) GROUP BY p.batch_id"
    )
    return {row["batch_id"]: row["grams"] for row in _of(db, sql, batch_ids)}


def _planned(db: Database, batch_ids: Sequence[str]) -> dict[str, str]:
    """batch id -> the code of the newest trial blend that it is part of, is not carried out and was not rejected."""
    sql = (
        "SELECT p.batch_id, t.code FROM blend_part p JOIN blend n ON n.id = p.blend_id JOIN batch t"
        " ON t.id = n.batch_id WHERE p.batch_id IN ({marks}) AND NOT EXISTS"
        " (SELECT 1 FROM decision d WHERE d.batch_id = p.batch_id AND d.blend_id = p.blend_id)"
        " AND (SELECT d.what FROM decision d WHERE d.batch_id = t.id ORDER BY d.rowid DESC LIMIT 1) IS NOT 'reject'"
        " ORDER BY n.rowid"
    )
    return {row["batch_id"]: row["code"] for row in _of(db, sql, batch_ids)}


def _of(db: Database, sql: str, batch_ids: Sequence[str]) -> Iterable[dict]:
    return db.query(sql.format(marks=", ".join("?" * len(batch_ids))), list(batch_ids)) if batch_ids else ()
