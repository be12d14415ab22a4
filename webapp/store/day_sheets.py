"""What a day's sheet tells beside its batches: checks, what changed on the gear, who worked, what waits from before."""

from __future__ import annotations

from dataclasses import dataclass

from sqlite_utils import Database

from .happenings import Happening


@dataclass(frozen=True)
class DayCheck:
    """A meter's check. found, left_off: mean deviation from the plate's value as found and as left (None: not
    adjusted), with the tolerance, all in scale units; step: the scale's, in hundredths; made_at: stored UTC text."""

    made_at: str
    meter_name: str
    plate_name: str
    person_name: str
    found: float
    left_off: float | None
    tolerance: float
    step: int
    passed: bool
    proven: bool
    note: str


@dataclass(frozen=True)
class Logged(Happening):
    """Something in a log, with who wrote it ("" where nobody is named) and what they said."""

    person_name: str
    note: str


@dataclass(frozen=True)
class Worker:
    """Who did what on a day's batches: started, samples read, decided or countersigned; and checks of meters."""

    name: str
    role: str
    started: int
    read: int
    decided: int
    checked: int


@dataclass(frozen=True)
class Older:
    """A batch of an earlier day that waits. why: as in batch_waiting."""

    id: str
    code: str
    day: str
    product_name: str
    why: str


def list_checks(db: Database, since: str, until: str) -> list[DayCheck]:
    """Every meter's checks from one moment until another (stored UTC text), oldest first."""
    flags = ("passed", "proven")
    return [DayCheck(**row | {name: bool(row[name]) for name in flags}) for row in db.query(_CHECKS, (since, until))]


def list_logged(db: Database, since: str, until: str) -> list[Logged]:
    """What changed on the bench from one moment until another: grinders, plates, methods, targets. Oldest first."""
    return [Logged(**row) for row in db.query(_LOGGED, {"since": since, "until": until})]


def list_workers(db: Database, day: str, since: str, until: str) -> list[Worker]:
    """Who worked on the batches of a day (`2026-05-14`), or checked a meter from `since` until `until`; by name."""
    return [Worker(**row) for row in db.query(_WORKERS, {"day": day, "since": since, "until": until})]


def reasons(db: Database, day: str) -> dict[str, str]:
    """Batch id -> what was said with its newest decision, where something was."""
    rows = db.query(
        "SELECT d.batch_id, d.reason FROM batch b JOIN decision d ON d.batch_id = b.id WHERE b.day = ?"
        " ORDER BY d.rowid", (day,),
    )  # fmt: skip
    newest = {row["batch_id"]: row["reason"] for row in rows}
    return {batch_id: reason for batch_id, reason in newest.items() if reason}


def list_older(db: Database, day: str, most: int) -> tuple[list[Older], int]:
    """(The batches roasted before a day that wait now, oldest first, `most` of them; how many there are)."""
    rows = list(
        db.query(
            "SELECT b.id, b.code, b.day, p.name AS product_name, w.why, count(*) OVER () AS there FROM batch_waiting w"
            " JOIN batch b ON b.id = w.batch_id JOIN product p ON p.id = b.product_id WHERE b.day < ?"
            " ORDER BY b.roasted_at LIMIT ?",
            (day, most),
        )
    )
    there = rows[0]["there"] if rows else 0
    return [Older(**{name: value for name, value in row.items() if name != "there"}) for row in rows], there


_CHECKS = """
SELECT r.made_at, m.name AS meter_name, p.name AS plate_name, w.name AS person_name, r.found, r.left_off, r.tolerance,
  s.step, r.passed, r.proven, c.note
FROM meter m JOIN meter_check_result r ON r.meter_id = m.id AND r.made_at >= ? AND r.made_at < ?
JOIN meter_check c ON c.id = r.check_id JOIN plate p ON p.id = c.plate_id JOIN person w ON w.id = c.person_id
JOIN scale s ON s.id = m.scale_id ORDER BY r.made_at, r.rowid
"""

_LOGGED = """
SELECT e.what, e.made_at AS at, g.name || coalesce(': ' || s.name, '') AS name, w.name AS person_name, e.note
FROM grinder g JOIN grinder_event e ON e.grinder_id = g.id AND e.made_at >= :since AND e.made_at < :until
JOIN person w ON w.id = e.person_id LEFT JOIN grinder_setting s ON s.id = e.setting_id
UNION ALL SELECT CASE p.what WHEN 'damaged' THEN 'plate_damaged' WHEN 'reassigned' THEN 'plate_value' ELSE 'plate' END,
  p.made_at, m.name || ': ' || p.name, coalesce(w.name, ''), p.reason
FROM meter m JOIN plate p ON p.meter_id = m.id AND p.made_at >= :since AND p.made_at < :until
LEFT JOIN person w ON w.id = p.person_id
UNION ALL SELECT 'version', v.made_at, d.name || ' ' || v.no, coalesce(w.name, ''), v.reason
FROM method_version v JOIN method d ON d.id = v.method_id LEFT JOIN person w ON w.id = v.person_id
WHERE v.made_at >= :since AND v.made_at < :until
UNION ALL SELECT 'targets', t.made_at, t.no || ', ' || r.name, coalesce(w.name, ''), t.reason
FROM target_version t JOIN product r ON r.id = t.product_id LEFT JOIN person w ON w.id = t.person_id
WHERE t.made_at >= :since AND t.made_at < :until ORDER BY 2, 1
"""

_WORKERS = """
WITH done(person_id, started, read, decided, checked) AS (
  SELECT person_id, 1, 0, 0, 0 FROM batch WHERE day = :day
  UNION ALL SELECT s.person_id, 0, 1, 0, 0 FROM batch b CROSS JOIN sample s ON s.batch_id = b.id WHERE b.day = :day
  UNION ALL SELECT d.person_id, 0, 0, 1, 0 FROM batch b CROSS JOIN decision d ON d.batch_id = b.id WHERE b.day = :day
  UNION ALL SELECT c.person_id, 0, 0, 1, 0 FROM batch b CROSS JOIN countersignature c ON c.batch_id = b.id
    WHERE b.day = :day
  UNION ALL SELECT k.person_id, 0, 0, 0, 1 FROM meter m CROSS JOIN meter_check k ON k.meter_id = m.id
    AND k.made_at >= :since AND k.made_at < :until
)
SELECT p.name, p.role, sum(started) AS started, sum(read) AS read, sum(decided) AS decided, sum(checked) AS checked
FROM done JOIN person p ON p.id = done.person_id GROUP BY p.id ORDER BY p.name, p.id
"""
