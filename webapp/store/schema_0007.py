"""The seventh migration's SQL, frozen: what whoever looks after the server wants to know.

upkeep: when each of the chores was last done, and how it went. No record of the bench: only the newest word counts.
"""

SQL = """
CREATE TABLE upkeep (
  what TEXT PRIMARY KEY CHECK (what IN ('backup','trial','check')), at TEXT NOT NULL,
  well INTEGER NOT NULL CHECK (well IN (0,1)), lines INTEGER, said TEXT NOT NULL DEFAULT ''
) STRICT
"""
