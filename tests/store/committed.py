"""What stands in the committed schema."""

from __future__ import annotations

from sqlite_utils.utils import sqlite3

from tests.store.write_schema import FILE


def columns():
    """(table, column, type) of every column of every table of ours, from the committed schema."""
    found = []
    db = sqlite3.connect(":memory:")
    db.executescript(FILE.read_text())
    for (table,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"):
        for row in db.execute(f"PRAGMA table_info({table})"):
            found.append((table, row[1], row[2]))
    db.close()
    return found


def references():
    """(table, columns, parent) of every foreign key."""
    found = []
    db = sqlite3.connect(":memory:")
    db.executescript(FILE.read_text())
    for (table,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"):
        keys = {}
        for number, _seq, parent, column, *_rest in db.execute(f"PRAGMA foreign_key_list({table})"):
            keys.setdefault((number, parent), []).append(column)
        found += [(table, tuple(columns), parent) for (_number, parent), columns in keys.items()]
    db.close()
    return found
