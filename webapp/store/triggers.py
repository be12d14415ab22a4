"""Append-only facts, held by triggers. Made anew after every migration: a table rewrite drops them silently."""

from __future__ import annotations

from sqlite_utils import Database

# table -> its unique keys, each a tuple of columns; the first one identifies a row
APPEND_ONLY = {
    "scale": (("id",),),
    "plate": (("id",),),
    "grinder_setting": (("id",), ("grinder_id", "name")),
    "method_version": (("id",), ("method_id", "no")),
    "method_step": (("method_version_id", "no"),),
    "target_version": (("id",), ("product_id", "no")),
    "target_band": (("target_version_id", "kind"),),
    "batch": (("id",),),
    "sample": (("id",),),
    "reading": (("sample_id", "fill_no", "no"),),
    "step_done": (("sample_id", "step_no"),),
    "correction": (("id",),),
    "decision": (("id",),),
    "person_claim": (("id",),),
    "claim_confirmed": (("id",),),
    "meter_rule": (("id",), ("meter_id", "no")),
    "meter_check": (("id",),),
    "meter_check_reading": (("check_id", "stage", "no"),),
    "meter_check_step": (("check_id", "step"),),
    "look_back_entry": (("id",),),
    "grinder_event": (("id",),),
    "grind_check": (("id",),),
    "comparison": (("id",),),
    "comparison_coffee": (("comparison_id", "no"), ("comparison_id", "code")),
    "comparison_sample": (("id",),),
    "comparison_reading": (("sample_id", "fill_no", "no"),),
    "comparison_outcome": (("id",), ("comparison_id",)),
    "comparison_target": (("outcome_id", "target_version_id"),),
    "precision_study": (("id",),),
    "precision_place": (("study_id", "no"), ("study_id", "preparer_id", "fill_no")),
    "precision_fill": (("id",),),
    "precision_reading": (("fill_id", "no"),),
    "precision_outcome": (("id",), ("study_id",)),
    "signoff": (("id",), ("comparison_id",)),
    "countersignature": (("id",),),
    "countersigned_sample": (("countersignature_id", "sample_id"),),
    "trend_baseline": (("id",),),
    "trend_rules": (("id",),),
    "signal_note": (("id",),),
    "ledger": (("seq",),),
}


def wanted() -> dict[str, str]:
    """Trigger name -> its SQL.

    The INSERT trigger is for `INSERT OR REPLACE`: from a connection without recursive_triggers its hidden
    delete, of every row that shares a unique key with the new one, would not fire the DELETE trigger.
    """
    triggers = {}
    for table, keys in APPEND_ONLY.items():
        for verb in ("UPDATE", "DELETE"):
            name = f"{table}_no_{verb.lower()}"
            triggers[name] = (
                f"CREATE TRIGGER {name} BEFORE {verb} ON {table} BEGIN "
                f"SELECT RAISE(ABORT, '{table} is append-only'); END"
            )
        same = " OR ".join(" AND ".join(f"{column} = NEW.{column}" for column in key) for key in keys)
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
    """Names of triggers that are missing, whose text differs from what it should be, or that are not ours."""
    there = {row["name"]: row["sql"] for row in db.query("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")}
    ours = wanted()
    return [name for name in sorted(ours.keys() | there.keys()) if there.get(name) != ours.get(name)]
