"""A meter's checks in order of time, with as much of each as a chart needs."""

from __future__ import annotations

from dataclasses import dataclass

from sqlite_utils import Database


@dataclass(frozen=True)
class PastCheck:
    """One check. found, left_off: mean deviation from the plate's value in scale units, as found and as left (None:
    not adjusted); tolerance in scale units, assigned in hundredths; made_at as stored (UTC text)."""

    id: str
    made_at: str
    person_name: str
    plate_id: str
    plate_name: str
    assigned: int
    found: float
    left_off: float | None
    tolerance: float
    passed: bool
    proven: bool
    adjusted: bool


def history(db: Database, meter_id: str, most: int = 500) -> list[PastCheck]:
    """The newest `most` checks of a meter, oldest first."""
    rows = db.query(
        "SELECT r.check_id AS id, r.made_at, w.name AS person_name, c.plate_id, p.name AS plate_name, p.assigned,"
        " r.found, r.left_off, r.tolerance, r.passed, r.proven, c.adjusted FROM meter_check_result r"
        " JOIN meter_check c ON c.id = r.check_id JOIN plate p ON p.id = c.plate_id JOIN person w ON w.id = c.person_id"
        " WHERE r.meter_id = ? ORDER BY r.made_at DESC, r.rowid DESC LIMIT ?",
        (meter_id, most),
    )
    flags = ("passed", "proven", "adjusted")
    return [PastCheck(**row | {name: bool(row[name]) for name in flags}) for row in rows][::-1]


def segments(checks: list[PastCheck]) -> list[list[PastCheck]]:
    """Checks in order of time, cut where what they can be compared with changes: after an adjustment, and at a new
    plate value. The last one goes on with the next check; it is empty where that will be the first of its own."""
    found: list[list[PastCheck]] = [[]]
    for check in checks:
        if found[-1] and found[-1][-1].plate_id != check.plate_id:
            found.append([])
        found[-1].append(check)
        if check.adjusted:
            found.append([])
    return found
