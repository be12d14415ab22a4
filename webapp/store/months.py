"""A month of one product: what was roasted and measured, what became of it, who read it, and what the logs say."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from sqlite_utils import Database

from . import happenings, times, trends
from .connect import one
from .happenings import Happening
from .trends import READ_AS, Kind, Trend

NEWEST = 24
"""So many months are listed, the newest."""


@dataclass(frozen=True)
class Month:
    """name: `2026-05`; since, until: stored UTC text of its beginning and of the next one's, at the site."""

    name: str
    since: str
    until: str

    @property
    def first_day(self) -> date:
        """Its first day."""
        return date.fromisoformat(f"{self.name}-01")


@dataclass(frozen=True)
class MonthBatch:
    """A batch of the month. verdict: 'incomplete' without any reading; side: where its coffee is out, None if not, on
    both, or in the difference only; decision: the newest, or None. Masses in grams, None where not written down."""

    id: str
    code: str
    day: str
    roasted_at: str
    lot: str
    machine_name: str
    green_g: int | None
    roasted_g: int | None
    verdict: str
    side: str | None
    proven: bool
    decision: str | None


def month_of(name: str, zone: str) -> Month | None:
    """The month `2026-05` at a site in ``zone``; None if it is no month of the calendar."""
    try:
        first = date.fromisoformat(f"{name}-01")
        following = date(first.year + first.month // 12, first.month % 12 + 1, 1)
        bounds = [times.to_text(times.day_bounds(day.isoformat(), zone)[0]) for day in (first, following)]
    except (ValueError, OverflowError):
        return None
    return Month(name, *bounds) if first.isoformat()[:7] == name else None


def list_months(db: Database, product_id: str) -> list[tuple[str, int]]:
    """(month, batches) of a product, newest first: those of the two years up to its newest batch."""
    sql = "SELECT max(roasted_at) AS at FROM batch WHERE product_id = ? AND blend IS NULL"
    newest = one(db, sql, (product_id,))["at"]
    if newest is None:
        return []
    since = f"{int(newest[:4]) - NEWEST // 12:04}{newest[4:]}"
    rows = db.query(
        "SELECT substr(day, 1, 7) AS month, count(*) AS batches FROM batch WHERE product_id = ? AND roasted_at >= ?"
        " AND blend IS NULL"
        " GROUP BY month ORDER BY month DESC LIMIT ?",
        (product_id, since, NEWEST),
    )
    return [(row["month"], row["batches"]) for row in rows]


def neighbours(db: Database, product_id: str, month: Month) -> tuple[str, str]:
    """The nearest months before and after that have a batch of the product; "" where there is none."""
    found = []
    for then, order in (("roasted_at < ?", "DESC"), ("roasted_at >= ?", "ASC")):
        row = one(
            db,
            f"SELECT day FROM batch WHERE product_id = ? AND {then} AND blend IS NULL"
            f" ORDER BY roasted_at {order} LIMIT 1",
            (product_id, month.since if order == "DESC" else month.until),
        )  # fmt: skip
        found.append(row["day"][:7] if row else "")
    return found[0], found[1]


def get_batches(db: Database, product_id: str, month: Month) -> list[MonthBatch]:
    """Every batch of the month in order of roasting."""
    within = (product_id, month.since, month.until)
    sides: dict[str, set[str]] = {}
    for row in db.query(_SIDES, within):
        sides.setdefault(row["batch_id"], set()).add(row["side"])
    decided = {row["batch_id"]: row["what"] for row in db.query(_DECISIONS, within)}
    found = []
    for row in db.query(_BATCHES, within):
        state, out = row.pop("meter_state"), sides.get(row["id"], set())
        found.append(
            MonthBatch(
                **row, side=next(iter(out)) if len(out) == 1 else None, proven=state in trends.FINE,
                decision=decided.get(row["id"]),
            )
        )  # fmt: skip
    return found


def count_readers(db: Database, product_id: str, month: Month) -> list[tuple[str, int]]:
    """(name, samples) of who read the month's batches, most first."""
    rows = db.query(_READERS, (product_id, month.since, month.until))
    return [(row["name"], row["samples"]) for row in rows]


def count_parts(db: Database, product_id: str, kind: Kind, month: Month) -> int:
    """How many of the month's batches have a result of this kind, by whatever method and on whatever scale."""
    sql = (
        "SELECT count(*) AS parts FROM batch b CROSS JOIN part_result r ON r.batch_id = b.id AND r.kind = ?"
        " CROSS JOIN part_result m ON m.batch_id = b.id AND m.kind = ?"
        " WHERE b.product_id = ? AND b.roasted_at >= ? AND b.roasted_at < ? AND b.blend IS NULL"
    )
    asked = (kind, READ_AS[kind], product_id, month.since, month.until)
    return next(iter(db.query(sql, asked)))["parts"]


def list_happenings(db: Database, product_id: str, trend: Trend, month: Month) -> list[Happening]:
    """What the logs say of the whole month, for a run that has points in it: see happenings.list_happenings."""
    if not trend.points:
        return []
    # From the month's first moment to its last, and not only from batch to batch.
    ends = (trend.points[0]._replace(roasted_at=month.since), trend.points[-1]._replace(roasted_at=month.until))
    found = happenings.list_happenings(db, product_id, replace(trend, points=(ends[0], *trend.points, ends[1])))
    return [there for there in found if month.since <= there.at < month.until]


# A blend is no roast.
_WITHIN = "b.product_id = ? AND b.roasted_at >= ? AND b.roasted_at < ? AND b.blend IS NULL"

_BATCHES = f"""
SELECT b.id, b.code, b.day, b.roasted_at, b.lot, m.name AS machine_name, b.green_g, b.roasted_g,
       coalesce(r.verdict, 'incomplete') AS verdict, r.meter_state
FROM batch b CROSS JOIN machine m ON m.id = b.machine_id LEFT JOIN batch_result r ON r.batch_id = b.id
WHERE {_WITHIN} ORDER BY b.roasted_at, b.rowid
"""

_SIDES = f"""
SELECT r.batch_id, r.side FROM batch b CROSS JOIN part_result r ON r.batch_id = b.id
WHERE {_WITHIN} AND r.verdict = 'outside' AND r.kind <> 'difference'
"""

# Oldest first: in a dict by batch the last one stands.
_DECISIONS = f"""
SELECT d.batch_id, d.what FROM batch b CROSS JOIN decision d ON d.batch_id = b.id WHERE {_WITHIN} ORDER BY d.rowid
"""

_READERS = f"""
SELECT p.name, count(*) AS samples FROM batch b CROSS JOIN sample s ON s.batch_id = b.id
CROSS JOIN person p ON p.id = s.person_id WHERE {_WITHIN} GROUP BY p.id ORDER BY samples DESC, p.name
"""
