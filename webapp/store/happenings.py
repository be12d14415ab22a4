"""What the logs say of the time of a run: burrs, meters, plates, versions of a method, targets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sqlite_utils import Database

from .trends import Trend


@dataclass(frozen=True)
class Happening:
    """Something in the log. at: stored UTC text; name: of the grinder, its setting, the meter, its
    plate, or the version; of a version of a method its name and number, parted by a space."""

    what: Literal[
        "burrs", "setting", "aligned", "cleaned", "adjusted", "failed", "plate", "plate_value", "plate_damaged",
        "version", "targets",
    ]  # fmt: skip
    at: str
    name: str


def list_happenings(db: Database, product_id: str, trend: Trend) -> list[Happening]:
    """What the logs say of the time of a run, oldest first: its grinder, its meters, its product's targets.

    Only what can have touched it: the grinder of its method version, meters that it was read on and their plates, new
    versions of its method. Checks of a meter only where it failed or was adjusted.
    """
    if not trend.points:
        return []
    within = (trend.points[0].roasted_at, trend.points[-1].roasted_at)
    meters = sorted({point.meter_id for point in trend.points})
    rows = [*db.query(_GRINDER, (trend.method_version_id, *within)), *db.query(_TARGETS, (product_id, *within))]
    rows += db.query(_VERSIONS, (trend.method_version_id, *within))
    rows += db.query(_PLATES.format(marks=", ".join("?" * len(meters))), (*meters, *within))
    rows += db.query(_CHECKS.format(marks=", ".join("?" * len(meters))), (*meters, *within))
    return sorted((Happening(**row) for row in rows), key=lambda one: (one.at, one.what))


_GRINDER = """
SELECT e.what, e.made_at AS at, g.name || coalesce(': ' || s.name, '') AS name
FROM method_version v JOIN grinder_setting o ON o.id = v.grinder_setting_id
JOIN grinder_event e ON e.grinder_id = o.grinder_id JOIN grinder g ON g.id = e.grinder_id
LEFT JOIN grinder_setting s ON s.id = e.setting_id
WHERE v.id = ? AND e.made_at BETWEEN ? AND ?
"""

_TARGETS = """
SELECT 'targets' AS what, made_at AS at, CAST(no AS TEXT) AS name FROM target_version
WHERE product_id = ? AND made_at BETWEEN ? AND ?
"""

_VERSIONS = """
SELECT 'version' AS what, v.made_at AS at, d.name || ' ' || v.no AS name
FROM method_version v JOIN method d ON d.id = v.method_id
WHERE v.method_id = (SELECT method_id FROM method_version WHERE id = ?) AND v.made_at BETWEEN ? AND ?
"""

_PLATES = """
SELECT CASE p.what WHEN 'damaged' THEN 'plate_damaged' WHEN 'reassigned' THEN 'plate_value' ELSE 'plate' END AS what,
  p.made_at AS at, t.name || ': ' || p.name AS name FROM plate p JOIN meter t ON t.id = p.meter_id
WHERE p.meter_id IN ({marks}) AND p.made_at BETWEEN ? AND ?
"""

_CHECKS = """
SELECT CASE WHEN r.passed THEN 'adjusted' ELSE 'failed' END AS what, r.made_at AS at, t.name
FROM meter_check_result r JOIN meter t ON t.id = r.meter_id
WHERE r.meter_id IN ({marks}) AND r.made_at BETWEEN ? AND ? AND (r.passed = 0 OR r.left_off IS NOT NULL)
"""
