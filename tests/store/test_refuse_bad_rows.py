"""What the database itself refuses, whoever asks: another type, a number out of range, a parent that is not there."""

import re
import shutil

import pytest
from sqlite_utils.utils import sqlite3

from tests.store.committed import columns, references
from webapp.store import connect

# Somebody else's tables (the library's list of migrations).
FOREIGN = {"_sqlite_migrations"}


@pytest.fixture(scope="module")
def opened(worked_template, tmp_path_factory):
    """The bench on which everything has happened once; a row in every table, no triggers (they have tests of
    their own, and would speak first)."""
    db = connect.connect(shutil.copy(worked_template[0], tmp_path_factory.mktemp("rows") / "rows.db"))
    for (trigger,) in db.conn.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        db.conn.execute(f"DROP TRIGGER {trigger}")
    db.conn.execute("INSERT INTO one_time_code VALUES ('h', 'enrol', NULL, 'a', 'b', NULL)")
    db.conn.execute("INSERT INTO pin_guard VALUES ('s', 1, 'a', NULL)")
    db.conn.execute(
        "INSERT INTO session SELECT 't', p.id, t.id, 'a', 'b', 'c', NULL, NULL FROM person p, tablet t LIMIT 1"
    )
    yield db
    db.close()


@pytest.fixture
def worked_db(opened):
    """The same, as it was before each test."""
    opened.conn.execute("BEGIN IMMEDIATE")
    yield opened
    opened.conn.execute("ROLLBACK")


def ours(db):
    """Names of our tables."""
    return sorted(set(db.table_names()) - FOREIGN)


def test_it_has_no_table_that_takes_any_type(worked_db):
    strict = {row[1] for row in worked_db.conn.execute("PRAGMA table_list") if row[5] == 1}
    assert set(ours(worked_db)) <= strict


def test_it_keeps_no_column_without_a_type_of_its_own(worked_db):
    # What a corrected fact was is of that fact's own type; a file that is looked at is its bytes.
    other = {"batch_correction_fact": {"ANY"}, "import_draft": {"BLOB"}}
    for table in ours(worked_db):
        kinds = {row[2] for row in worked_db.conn.execute(f"PRAGMA table_info({table})")}
        assert kinds <= {"TEXT", "INTEGER", "REAL"} | other.get(table, set()), table


# A value that no conversion without loss brings to the type (sqlite.org/stricttables.html).
WRONG = {"INTEGER": ("56.2", 56.2, "six", b"6"), "REAL": ("six", b"6"), "TEXT": (b"x",), "BLOB": ("six", 6),
         "ANY": ()}  # fmt: skip


def copied(db, table, change):
    """Insert a copy of a row with changed columns (an expression of other columns where it is SQL text)."""
    names = [row[1] for row in db.conn.execute(f"PRAGMA table_info({table})")]
    row = db.conn.execute(f"SELECT {', '.join(names)} FROM {table} LIMIT 1").fetchone()
    values = dict(zip(names, row, strict=True)) | change
    db.conn.execute(f"INSERT INTO {table} VALUES ({', '.join('?' for _ in names)})", list(values.values()))


@pytest.mark.parametrize("table", sorted({table for table, _name, _type in columns()}))
def test_it_refuses_another_type_in_every_column(worked_db, table):
    """The message is asked for: a row refused for another reason would prove nothing."""
    tried = 0
    for of_table, column, kind in columns():
        for value in WRONG[kind] if of_table == table else ():
            with pytest.raises(sqlite3.Error, match=r"cannot store|datatype mismatch") as refusal:
                copied(worked_db, table, {"seq": 10**6} | {column: value} if table == "ledger" else {column: value})
            # An INTEGER PRIMARY KEY is refused as such, without the column's name.
            assert f"{table}.{column}" in str(refusal.value) or "datatype mismatch" in str(refusal.value)
            tried += 1
    assert tried


# table, changed columns: each breaks one rule of the schema.
OUT_OF_RANGE = [
    ("site", {"id": 2}),
    ("site", {"id": 1, "idle_minutes": 0}),
    ("site", {"id": 1, "idle_minutes": 121}),
    ("site", {"id": 1, "shift_hours": 0}),
    ("site", {"id": 1, "shift_hours": 25}),
    ("person", {"id": "new", "name": ""}),
    ("person", {"id": "new", "name": "x" * 61}),
    ("person", {"id": "new", "role": "admin"}),
    ("person", {"id": "new", "active": 2}),
    ("person", {"id": "new", "auto_point": -1}),
    ("person", {"id": "new", "short_checklist": 2}),
    ("tablet", {"id": "new", "secret_hash": "new", "name": ""}),
    ("api_token", {"id": "new", "token_hash": "new", "name": ""}),
    ("api_token", {"id": "new", "token_hash": "new", "name": "x" * 61}),
    ("scale", {"id": "new", "step": 0}),
    ("scale", {"id": "new", "step": -10}),
    ("scale", {"id": "new", "lighter": 0}),
    ("scale", {"id": "new", "lighter": 2}),
    ("scale", {"id": "new", "lower": 15000}),
    ("scale", {"id": "new", "lower": 15001}),
    ("machine", {"id": "new", "name": ""}),
    ("machine", {"id": "new", "active": 2}),
    ("meter", {"id": "new", "active": 7}),
    ("meter", {"id": "new", "name": ""}),
    ("plate", {"id": "new", "tolerance": 0}),
    ("plate", {"id": "new", "tolerance": -1}),
    ("grinder", {"id": "new", "active": 2}),
    ("grinder_setting", {"id": "new", "name": ""}),
    ("method", {"id": "new", "kind": "difference"}),
    ("method", {"id": "new", "kind": "Whole"}),
    ("method_version", {"id": "new", "no": 0}),
    ("method_version", {"id": "new", "no": 9, "planned_readings": 0}),
    ("method_version", {"id": "new", "no": 9, "planned_readings": 11}),
    ("method_version", {"id": "new", "no": 9, "planned_fills": 0}),
    ("method_version", {"id": "new", "no": 9, "planned_fills": 5}),
    ("method_step", {"no": 0}),
    ("method_step", {"no": 99, "title": ""}),
    ("method_step", {"no": 99, "timer_s": 0}),
    ("method_step", {"no": 99, "timer_s": 7201}),
    ("product", {"id": "new", "short": ""}),
    ("product", {"id": "new", "short": "LANTE"}),
    ("target_version", {"id": "new", "no": 9, "rule": "strict"}),
    ("target_version", {"id": "new", "no": 9, "confidence": 0.5}),
    ("target_version", {"id": "new", "no": 9, "confidence": 1.0}),
    ("target_band", {"kind": "roast"}),
    ("batch", {"id": "new", "code": ""}),
    ("batch", {"id": "new", "code": "x" * 41}),
    ("batch", {"id": "new", "green_g": 0}),
    ("batch", {"id": "new", "roasted_g": -1}),
    ("batch", {"id": "new", "green_g": 12000, "roasted_g": 12001}),
    ("batch", {"id": "new", "total_s": 0}),
    ("batch", {"id": "new", "development_s": -1}),
    ("import_run", {"id": "new", "rows": -1}),
    ("import_run", {"id": "new", "taken": -1}),
    ("import_run", {"id": "new", "known": -1}),
    ("import_run", {"id": "new", "refused": -1}),
    ("sample", {"id": "new", "kind": "difference"}),
    ("sample", {"id": "new", "checklist": "skipped"}),
    ("sample", {"id": "new", "sigma_r": -0.1}),
    ("sample", {"id": "new", "sigma_f": -0.1}),
    ("sample", {"id": "new", "sigma_source": "guessed"}),
    ("sample", {"id": "new", "u_meter": -0.1}),
    ("sample", {"id": "new", "u_meter_source": "guessed"}),
    ("reading", {"no": 9, "fill_no": 0}),
    ("reading", {"no": 9, "fill_no": 5}),
    ("reading", {"no": 0}),
    ("reading", {"no": 9, "confirmed": 2}),
    ("correction", {"id": "new", "reason": ""}),
    ("decision", {"id": "new", "what": "approve"}),
    ("decision", {"id": "new", "what": "concession", "reason": ""}),
    ("decision", {"id": "new", "role": "trainee"}),
    ("decision", {"id": "new", "what": "blend", "reason": "Mixed."}),
    ("decision", {"id": "new", "what": "remeasure", "reason": ""}),
    ("decision", {"id": "new", "customer": "Shop"}),
    ("sample_move", {"id": "new", "reason": ""}),
    ("batch_correction", {"id": "new", "reason": ""}),
    ("batch_correction_fact", {"fact": "person_id"}),
    ("batch_correction_fact", {"fact": "note", "before": "Lot 2", "after": "Lot 2"}),
    ("result_change", {"id": "new", "cause": "decision"}),
    ("result_change_part", {"kind": "total"}),
    ("batch", {"id": "new", "blend": 2}),
    ("decision", {"id": "new", "what": "blend", "reason": "Mixed."}),  # into which?
    ("batch", {"id": "new", "blend": 0}),
    ("blend", {"id": "new", "batch_id": "new", "trial_g": 0}),
    ("blend", {"id": "new", "batch_id": "new", "reason": ""}),
    ("blend_part", {"batch_id": "new", "grams": 0}),
    ("blend_part_value", {"batch_id": "new", "u": -0.1}),
    ("blend_part_value", {"batch_id": "new", "kind": "roast"}),
    ("blend_expected", {"blend_id": "new", "u": -0.1}),
    ("blend_expected", {"blend_id": "new", "kind": "roast"}),
    ("part_result", {"kind": "total"}),
    ("part_result", {"batch_id": "new", "verdict": "passed"}),
    ("part_result", {"batch_id": "new", "side": "higher"}),
    ("batch_result", {"batch_id": "new", "verdict": "passed"}),
]


@pytest.mark.parametrize(("table", "change"), OUT_OF_RANGE, ids=lambda v: v if isinstance(v, str) else str(v)[:50])
def test_it_refuses_a_value_out_of_range(worked_db, table, change):
    with pytest.raises(sqlite3.IntegrityError, match="CHECK constraint failed"):
        copied(worked_db, table, change)


@pytest.mark.parametrize("limits", [(None, 5600, None), (5600, 5600, 5700), (5500, 5600, 5600), (5700, 5600, 5800)])
def test_it_refuses_a_band_without_limits_or_with_its_centre_outside(worked_db, limits):
    version = worked_db.conn.execute("SELECT target_version_id FROM target_band").fetchone()[0]
    copy = (
        "INSERT INTO target_version SELECT 'new', product_id, 9, scale_id, rule, confidence, whole_method_id,"
        " ground_method_id, reason, person_id, made_at FROM target_version WHERE id = ?"
    )
    worked_db.conn.execute(copy, (version,))
    with pytest.raises(sqlite3.IntegrityError, match="CHECK constraint failed"):
        worked_db.conn.execute("INSERT INTO target_band VALUES ('new', 'whole', ?, ?, ?)", limits)
    worked_db.conn.execute("INSERT INTO target_band VALUES ('new', 'whole', 5500, 5600, NULL)")


# Columns that may be empty, with the reason. Every other one has to be filled.
HOW_IT_CAME = {"sent_by", "claim_id", "tablet_clock", "tablet_seq"}  # typed into a page
MAY_BE_EMPTY = {
    "tablet": {"enrolled_by", "revoked_at"},  # from the command line; still in use
    "one_time_code": {"made_by", "used_at"},  # from the command line; not used yet
    "session": {"confirmed_at", "ended_at"},
    "pin_guard": {"locked_until"},
    "plate": {"person_id", "what"},  # made while the bench was set up; its first
    "method_version": {"grinder_setting_id", "person_id"},
    "method_step": {"timer_s"},
    "target_version": {"whole_method_id", "ground_method_id", "person_id"},
    "target_band": {"lower", "upper"},  # a band may be open on one side
    "batch": {"green_g", "roasted_g", "drop_decicelsius", "total_s", "development_s"} | HOW_IT_CAME
    | {"blend", "import_id", "import_row"},  # roasted here, not taken in
    "sample": {"target_version_id", "plate_id", "grinder_setting_id", "import_id"} | HOW_IT_CAME,
    "comparison": {"a_setting_id", "b_setting_id", "a_person_id", "b_person_id"},  # whole bean; not of two people
    "comparison_sample": HOW_IT_CAME,
    "decision": {"role", "customer", "supersedes", "blend_id"} | HOW_IT_CAME,
    "batch_correction_fact": {"before", "after"},
    "result_change": {"verdict_before", "verdict_after"},  # nothing was measured
    "result_change_part": {"value_before", "value_after", "verdict_before", "verdict_after"},
    "blend": {"trial_g"},  # nobody said
    "blend_expected": {"chance"},
    "api_token": {"revoked_at", "revoked_by"},  # in use
    "upkeep": {"lines"},
    "person_claim": {"tablet_clock", "tablet_seq"},
    "correction": {"value"},  # void
    "part_result": {
        "target_version_id", "method_version_id", "sigma_r", "sigma_f", "verdict", "side", "chance", "position",
        "beyond", "settle_fills", "meter_state", "grinder_state", "apart_why",
    },
    "batch_result": {"chance", "meter_state", "grinder_state", "hands_state"},
    "precision_fill": HOW_IT_CAME,
    "precision_outcome": {"sigma_r", "df_r", "sigma_f", "df_f", "sigma_p"},  # set aside
    "signoff": {
        "comparison_id", "coffees", "bias", "bias_low", "bias_high", "bound", "spread", "spread_limit", "spread_df",
        "valid_until",
    },  # renewed or withdrawn; without an end
    "countersignature": HOW_IT_CAME,
    "trend_baseline": {"first_batch_id", "last_batch_id", "batches", "centre", "sigma"},  # given up
    "trend_state": {"baseline_id", "rule", "point_batch_id", "since_batch_id", "side", "sigma", "lean", "cp", "cpk"},
    "meter_rule": {"every", "person_id"},
    "meter_check": HOW_IT_CAME,
    "meter_check_result": {"found_sd", "left_off"},  # one reading; not adjusted
    "look_back_entry": {"new_sample_id"} | HOW_IT_CAME,
    "grinder_event": {"setting_id"} | HOW_IT_CAME,
    "grind_check": HOW_IT_CAME,
    "ledger": {"person_id", "tablet_id"},  # the software itself
}  # fmt: skip


def test_it_has_only_the_listed_columns_that_may_be_empty(worked_db):
    found = {}
    for table in ours(worked_db):
        for _no, name, _type, not_null, _default, key in worked_db.conn.execute(f"PRAGMA table_info({table})"):
            if not not_null and not key:
                found.setdefault(table, set()).add(name)
    assert found == MAY_BE_EMPTY


def test_it_points_from_every_id_to_a_parent():
    """Every column that is called after a record is a foreign key; the ledger outlives its records and is not, and a
    change of a result has one of three kinds of records as its cause."""
    pointing = {(table, column) for table, names, _parent in references() for column in names}
    named = {
        (table, column)
        for table, column, _type in columns()
        if re.search(r"_(id|by)$", column) and table not in FOREIGN | {"ledger"}
    }
    assert named - pointing == {("result_change", "cause_id")}


@pytest.mark.parametrize(("table", "names", "parent"), references(), ids=lambda v: str(v))
def test_it_refuses_a_row_whose_parent_is_not_there(worked_db, table, names, parent):
    numbers = ("fill_no", "reading_no", "coffee_no", "place_no")
    lost = ", ".join(f"{name} = {'99' if name in numbers else repr('nowhere')}" for name in names)
    filled = " AND ".join(f"{name} IS NOT NULL" for name in names)
    row = worked_db.conn.execute(
        f"SELECT coalesce(max(iif({filled}, rowid, NULL)), max(rowid)) FROM {table}"
    ).fetchone()[0]
    with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY constraint failed"):
        worked_db.conn.execute(f"UPDATE {table} SET {lost} WHERE rowid = ?", (row,))
    assert parent in ours(worked_db)


def test_it_refuses_to_lose_a_parent(worked_db):
    for table in ("person", "tablet", "machine", "product", "method", "meter", "grinder"):
        with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY constraint failed"):
            worked_db.conn.execute(f"DELETE FROM {table} WHERE id IN (SELECT id FROM {table})")
