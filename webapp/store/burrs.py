"""Whether a grinder's burrs were changed, and nothing ground on it has been compared since."""

from __future__ import annotations

from sqlite_utils import Database

from .connect import one

# The last change of burrs of a setting's grinder, unless it has been compared since: a lead has settled a comparison of
# grinders or settings in which it took part, and nothing of the side that stands for the new burrs was ground before:
# side b (used from now on) where both are of this grinder, as when burrs are compared with the ones before them.
BURRS = """
SELECT e.made_at FROM grinder_setting s JOIN grinder_event e ON e.id = (
  SELECT id FROM grinder_event WHERE grinder_id = s.grinder_id AND what = 'burrs' AND made_at <= :at
  ORDER BY made_at DESC, rowid DESC LIMIT 1)
WHERE s.id = :setting AND NOT EXISTS (
  SELECT 1 FROM comparison_outcome o JOIN comparison c ON c.id = o.comparison_id
  WHERE o.made_at > e.made_at AND o.made_at <= :at AND o.outcome IN ('carry', 'move')
  AND c.what IN ('grinders', 'settings')
  AND EXISTS (SELECT 1 FROM grinder_setting t WHERE t.id IN (c.a_setting_id, c.b_setting_id)
    AND t.grinder_id = s.grinder_id)
  AND NOT EXISTS (SELECT 1 FROM comparison_sample x WHERE x.comparison_id = c.id AND x.made_at <= e.made_at
    AND x.side = iif(EXISTS (SELECT 1 FROM grinder_setting t WHERE t.id = c.b_setting_id
      AND t.grinder_id = s.grinder_id), 'b', 'a')))
"""


def burrs_changed(db: Database, setting_id: str, at: str) -> str | None:
    """When the burrs of the setting's grinder were last changed by `at`, while nothing has been compared since; else
    None. Times as stored UTC text."""
    row = one(db, BURRS, {"setting": setting_id, "at": at})
    return row["made_at"] if row else None
