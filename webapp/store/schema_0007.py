"""The seventh migration's SQL, frozen: what whoever looks after the server wants to know.

upkeep: when each of the chores was last done, and how it went. tablet_outbox: what a tablet said, when it was last
heard, of what waits on it. Neither is a record of the bench: only the newest word counts.
"""

SQL = """
CREATE TABLE upkeep (
  what TEXT PRIMARY KEY CHECK (what IN ('backup','trial','check')), at TEXT NOT NULL,
  well INTEGER NOT NULL CHECK (well IN (0,1)), lines INTEGER, said TEXT NOT NULL DEFAULT ''
) STRICT;

CREATE TABLE tablet_outbox (
  tablet_id TEXT PRIMARY KEY REFERENCES tablet(id), heard_at TEXT NOT NULL,
  waiting INTEGER NOT NULL CHECK (waiting >= 0), stuck INTEGER NOT NULL CHECK (stuck >= 0), oldest_at TEXT
) STRICT
"""
