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
    "sample_move": (("id",),),
    "batch_correction": (("id",),),
    "batch_correction_fact": (("correction_id", "fact"),),
    "result_change": (("id",), ("cause_id", "batch_id")),
    "result_change_part": (("change_id", "kind"),),
    "blend": (("id",), ("batch_id",)),
    "blend_part": (("blend_id", "batch_id"),),
    "blend_part_value": (("blend_id", "batch_id", "kind"),),
    "blend_expected": (("blend_id", "kind"),),
    "import_run": (("id",),),
    "ledger": (("seq",),),
}

# What a later word may change in place: column -> the newest word on it about NEW's row. Everything else stays.
_WORD_ON_SAMPLE = "SELECT m.to_batch_id FROM sample_move m WHERE m.sample_id = NEW.id ORDER BY m.rowid DESC LIMIT 1"
_WORD_ON_BATCH = (
    "SELECT f.after FROM batch_correction c JOIN batch_correction_fact f ON f.correction_id = c.id"
    " WHERE c.batch_id = NEW.id AND f.fact = '{fact}' ORDER BY c.rowid DESC LIMIT 1"
)
BATCH_FACTS = (
    "code", "product_id", "machine_id", "lot", "green_g", "roasted_g", "drop_decicelsius", "total_s", "development_s",
    "note", "day", "roasted_at",
)  # fmt: skip
FOLLOWS = {
    "sample": {"batch_id": _WORD_ON_SAMPLE},
    "batch": {fact: _WORD_ON_BATCH.format(fact=fact) for fact in BATCH_FACTS},
}
# The other columns of these tables, none of which ever changes.
FIXED = {
    "sample": (
        "id", "kind", "method_version_id", "target_version_id", "meter_id", "plate_id", "grinder_setting_id",
        "checklist", "sigma_r", "sigma_f", "sigma_source", "u_meter", "u_meter_source", "note", "person_id", "role",
        "tablet_id", "made_at", "received_at", "sent_by", "claim_id", "tablet_clock", "tablet_seq", "import_id",
    ),
    "batch": (
        "id", "person_id", "tablet_id", "made_at", "received_at", "sent_by", "claim_id", "tablet_clock", "tablet_seq",
        "blend", "import_id", "import_row",
    ),
}  # fmt: skip


def _update_trigger(table: str) -> str:
    """The trigger against changes: all of them, or all but those that the newest word on the row asks for."""
    refused = f"SELECT RAISE(ABORT, '{table} is append-only')"
    head = f"CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table}"
    if table not in FOLLOWS:
        return f"{head} BEGIN {refused}; END"
    words = FOLLOWS[table].items()
    wrong = [" AND ".join(f"NEW.{name} IS OLD.{name}" for name, _word in words)]
    wrong += [f"NEW.{column} IS NOT OLD.{column}" for column in FIXED[table]]
    wrong += [f"(NEW.{name} IS NOT OLD.{name} AND NEW.{name} IS NOT ({word}))" for name, word in words]
    return f"{head} WHEN {' OR '.join(wrong)} BEGIN {refused}; END"


def wanted() -> dict[str, str]:
    """Trigger name -> its SQL.

    The INSERT trigger is for `INSERT OR REPLACE`: from a connection without recursive_triggers its hidden
    delete, of every row that shares a unique key with the new one, would not fire the DELETE trigger.
    """
    triggers = {}
    for table, keys in APPEND_ONLY.items():
        triggers[f"{table}_no_update"] = _update_trigger(table)
        name = f"{table}_no_delete"
        triggers[name] = (
            f"CREATE TRIGGER {name} BEFORE DELETE ON {table} BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
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
