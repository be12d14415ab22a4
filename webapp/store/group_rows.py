"""What a group of roasteries compares: one row for each part of a batch, one for each meter check, month by month."""

from __future__ import annotations

from collections.abc import Iterator

from sqlite_utils import Database

from .export_sets import Column

BATCHES = (
    Column("day", "date"), Column("roasted_at", "time"), Column("batch_id", "text"), Column("code", "text"),
    Column("product", "text"), Column("machine", "text"), Column("kind", "text"), Column("scale", "text"),
    Column("lighter", "integer"), Column("value", "number"), Column("u", "number"), Column("lower", "number"),
    Column("centre", "number"), Column("upper", "number"), Column("position", "number"), Column("verdict", "text"),
    Column("chance", "number"), Column("batch_verdict", "text"), Column("meter_state", "text"),
    Column("decision", "text"), Column("blend", "yes_no"),
)  # fmt: skip
CHECKS = (
    Column("made_at", "time"), Column("check_id", "text"), Column("meter", "text"), Column("scale", "text"),
    Column("plate", "text"), Column("plate_value", "number"), Column("found", "number"), Column("left_off", "number"),
    Column("tolerance", "number"), Column("passed", "yes_no"), Column("adjusted", "yes_no"),
)  # fmt: skip
SETS = {"batches": BATCHES, "checks": CHECKS}

_BATCHES = """
SELECT b.day, b.roasted_at, b.id, b.code, p.name, m.name, r.kind, s.name, s.lighter, r.value, r.u, t.lower / 100.0,
  t.centre / 100.0, t.upper / 100.0, r.position, r.verdict, r.chance, w.verdict, r.meter_state, d.what,
  coalesce(b.blend, 0)
FROM batch b JOIN part_result r ON r.batch_id = b.id JOIN batch_result w ON w.batch_id = b.id
JOIN product p ON p.id = b.product_id JOIN machine m ON m.id = b.machine_id JOIN scale s ON s.id = r.scale_id
LEFT JOIN target_band t ON t.target_version_id = r.target_version_id AND t.kind = r.kind
LEFT JOIN decision d ON d.rowid = (SELECT max(x.rowid) FROM decision x WHERE x.batch_id = b.id)
WHERE b.day >= ? AND b.day < ? ORDER BY b.day, b.roasted_at, b.id, r.kind
"""
_CHECKS = """
SELECT r.made_at, r.check_id, m.name, s.name, p.name, p.assigned / 100.0, r.found, r.left_off, r.tolerance, r.passed,
  c.adjusted
FROM meter_check_result r JOIN meter_check c ON c.id = r.check_id JOIN meter m ON m.id = r.meter_id
JOIN scale s ON s.id = m.scale_id JOIN plate p ON p.id = c.plate_id
WHERE r.made_at >= ? AND r.made_at < ? ORDER BY r.made_at, r.check_id
"""


def months(db: Database, which: str) -> list[str]:
    """The months (`2026-05`) that have rows of a set, oldest first. Of batches the site's own, of checks in UTC."""
    column, table = {"batches": ("day", "batch"), "checks": ("made_at", "meter_check_result")}[which]
    rows = db.query(f"SELECT DISTINCT substr({column}, 1, 7) AS month FROM {table} ORDER BY 1")
    return [row["month"] for row in rows]


def rows(db: Database, which: str, month: str) -> Iterator[tuple]:
    """A month's rows of a set, in a fixed order; values and limits in scale units."""
    following = f"{int(month[:4]) + int(month[5:]) // 12:04d}-{int(month[5:]) % 12 + 1:02d}"
    # Text order is order of time: "2026-05" comes before every day and every moment in May, and "2026-06" after.
    sql = {"batches": _BATCHES, "checks": _CHECKS}[which]
    return iter(db.conn.execute(sql, (month, following)))
