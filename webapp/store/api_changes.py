"""Which batches have changed since a line of the ledger: for a program that asks for what is new."""

from __future__ import annotations

from sqlite_utils import Database

from .connect import one

# Lines about a batch itself, about what was read of it, and what was said of either. A sample that was moved is about
# every batch that it ever stood in.
_OWN = """
SELECT l.record_id AS batch_id FROM line l WHERE l.kind = 'batch'
UNION SELECT s.batch_id FROM line l JOIN sample s ON s.id = l.record_id WHERE l.kind = 'sample'
UNION SELECT m.from_batch_id FROM line l JOIN sample_move m ON m.sample_id = l.record_id WHERE l.kind = 'sample'
UNION SELECT s.batch_id FROM line l JOIN correction c ON c.id = l.record_id JOIN sample s ON s.id = c.sample_id
  WHERE l.kind = 'correction'
UNION SELECT s.batch_id FROM line l JOIN look_back_entry e ON e.id = l.record_id JOIN sample s ON s.id = e.sample_id
  WHERE l.kind = 'look_back_entry'
UNION SELECT d.batch_id FROM line l JOIN decision d ON d.id = l.record_id WHERE l.kind = 'decision'
UNION SELECT c.batch_id FROM line l JOIN countersignature c ON c.id = l.record_id WHERE l.kind = 'countersignature'
UNION SELECT m.from_batch_id FROM line l JOIN sample_move m ON m.id = l.record_id WHERE l.kind = 'sample_move'
UNION SELECT m.to_batch_id FROM line l JOIN sample_move m ON m.id = l.record_id WHERE l.kind = 'sample_move'
UNION SELECT c.batch_id FROM line l JOIN batch_correction c ON c.id = l.record_id WHERE l.kind = 'batch_correction'
UNION SELECT c.batch_id FROM line l JOIN result_change c ON c.id = l.record_id WHERE l.kind = 'result_change'
UNION SELECT b.batch_id FROM line l JOIN blend b ON b.id = l.record_id WHERE l.kind = 'blend'
UNION SELECT b.batch_id FROM line l JOIN blend_part b ON b.blend_id = l.record_id WHERE l.kind = 'blend'
"""
# Lines about what results rest on, by which the marks of batches that were there already may change: as the store
# works them out again (meter_state.touched_by_check and touched_by_sample, grinder_log.py, signoffs.py), or a few more.
_RESTING = """
UNION SELECT s.batch_id FROM line l JOIN meter_check_result c ON c.check_id = l.record_id
  JOIN sample s ON s.meter_id = c.meter_id AND s.made_at >= coalesce(
    CASE WHEN c.passed = 1 AND NOT EXISTS
      (SELECT 1 FROM meter_check_result y WHERE y.meter_id = c.meter_id AND y.made_at > c.made_at) THEN c.made_at END,
    (SELECT max(y.made_at) FROM meter_check_result y
      WHERE y.meter_id = c.meter_id AND y.made_at < c.made_at AND y.proven = 1), '')
  AND s.made_at <= coalesce(
    (SELECT min(y.made_at) FROM meter_check_result y WHERE y.meter_id = c.meter_id AND y.made_at > c.made_at), '9999')
  WHERE l.kind = 'meter_check'
UNION SELECT s.batch_id FROM line l JOIN sample late ON late.id = l.record_id
  JOIN meter_rule r ON r.meter_id = late.meter_id AND r.due = 'samples'
  JOIN sample s ON s.meter_id = late.meter_id AND s.made_at > late.made_at AND s.made_at <= coalesce(
    (SELECT min(y.made_at) FROM meter_check_result y WHERE y.meter_id = late.meter_id AND y.made_at > late.made_at),
    '9999')
  WHERE l.kind = 'sample'
UNION SELECT s.batch_id FROM line l JOIN grinder_event e ON e.id = l.record_id AND e.what = 'burrs'
  JOIN grinder_setting g ON g.grinder_id = e.grinder_id
  JOIN sample s ON s.grinder_setting_id = g.id AND s.made_at >= e.made_at
  WHERE l.kind = 'grinder_event'
UNION SELECT s.batch_id FROM line l JOIN signoff o ON o.id = l.record_id
  JOIN sample s ON s.person_id = o.person_id AND s.kind = o.kind AND s.made_at >= o.made_at
  WHERE l.kind = 'signoff'
"""
# For a SELECT over `batch x`; :changed and :seq are the first line that is known and the last one that counts.
CHANGED = (
    "x.id IN (WITH line AS MATERIALIZED (SELECT kind, record_id FROM ledger WHERE seq > :changed AND seq <= :seq)"
    f" {_OWN} {_RESTING})"
)


def everything_changed(db: Database, since: int, until: int) -> bool:
    """Whether results were rebuilt between two lines: then nobody can say which."""
    line = one(
        db, "SELECT 1 FROM ledger WHERE seq > ? AND seq <= ? AND action = 'results rebuilt' LIMIT 1", (since, until)
    )
    return since == 0 or line is not None
