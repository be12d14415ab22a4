"""Append-only facts, held by triggers. Made anew after every migration: a table rewrite drops them silently."""

from __future__ import annotations

from sqlite_utils import Database

# table -> columns that identify a row
APPEND_ONLY = {
    "scale": ("id",),
    "plate": ("id",),
    "grinder_setting": ("id",),
    "method_version": ("id",),
    "method_step": ("method_version_id", "no"),
    "target_version": ("id",),
    "target_band": ("target_version_id", "kind"),
    "batch": ("id",),
    "sample": ("id",),
    "reading": ("sample_id", "fill_no", "no"),
    "step_done": ("sample_id", "step_no"),
    "correction": ("id",),
    "decision": ("id",),
    "ledger": ("seq",),
}


def wanted() -> dict[str, str]:
    """Trigger name -> its SQL.

    The INSERT trigger is for `INSERT OR REPLACE`: from a connection without recursive_triggers its hidden
    delete would not fire the DELETE trigger.
    """
    triggers = {}
    for table, key in APPEND_ONLY.items():
        for verb in ("UPDATE", "DELETE"):
            name = f"{table}_no_{verb.lower()}"
            triggers[name] = (
                f"CREATE TRIGGER {name} BEFORE {verb} ON {table} BEGIN "
                f"SELECT RAISE(ABORT, '{table} is append-only'); END"
            )
        same = " AND ".join(f"{column} = NEW.{column}" for column in key)
        name = f"{table}_no_replace"
        triggers[name] = (
            f"CREATE TRIGGER {name} BEFORE INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE {same}) "
            f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
        )
    return triggers


def create_triggers(db: Database) -> None:
    """Drop and create every trigger, so that their text is always this version's."""
    for name, sql in wanted().items():
        db.conn.execute(f"DROP TRIGGER IF EXISTS {name}")
        db.conn.execute(sql)


def trigger_faults(db: Database) -> list[str]:
    """Names of triggers that are missing or whose text differs from what it should be."""
    there = {row["name"]: row["sql"] for row in db.query("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")}
    return [name for name, sql in wanted().items() if there.get(name) != sql]
