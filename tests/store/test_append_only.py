"""Facts are append-only: what somebody with a plain sqlite3 connection tries is refused, or named by `flask check`.

The limits, honestly: who can write the file can also drop the triggers, and put them back. That is found by the
hash of every record in the ledger. Who then also rewrites the ledger from that line on, or cuts off its tail
together with the records in it, is found only by comparing the newest hash with a copy kept elsewhere
(test_check.py). Tampering is made evident, not impossible.
"""

import re
from datetime import UTC, datetime

import pytest

from tests.store import plain
from tests.store.committed import columns as every_column
from webapp import create_app
from webapp.config import Config
from webapp.store import batch_corrections, connect, ledger, migrations
from webapp.store.errors import WrongSchema
from webapp.store.triggers import APPEND_ONLY, FIXED, FOLLOWS, wanted
from webapp.store.who import Who

TABLES = sorted(APPEND_ONLY)
# The record that the ledger knows, for tables whose rows are parts of one: (kind, column with its id).
PART_OF = {
    table: (kind, column)
    for kind, tree in ledger.TREES.items()
    for table, column in tree.items()
    if table in APPEND_ONLY
}


def look(path, sql):
    """Rows, read with our own engine (in this process no other one opens the file)."""
    db = connect.connect(path)
    rows = db.conn.execute(sql).fetchall()
    db.close()
    return rows


def columns(path, table):
    """Names of a table's columns."""
    return [row[1] for row in look(path, f"PRAGMA table_info({table})")]


def content(path, table):
    """All rows of a table."""
    narrow = len(look(path, f"PRAGMA table_info({table})")) < 3
    return look(path, f"SELECT * FROM {table} ORDER BY {'1, 2' if narrow else '1, 2, 3'}")


def faults(path):
    """What `flask check` says."""
    db = connect.connect(path)
    found = list(ledger.faults(db))
    db.close()
    return found


def records(path, table):
    """(kind, id) of every record that has rows in this table."""
    kind, column = PART_OF[table]
    return {(kind, row[0]) for row in look(path, f"SELECT DISTINCT {column} FROM {table}")}


def test_it_holds_every_fact():
    """A table that is not here may be changed: because the change is the fact (and has its line), or it is derived."""
    changeable = {
        "site", "person", "tablet", "machine", "meter", "grinder", "method", "product",  # each change has its line
        "api_token",
        "one_time_code", "session", "pin_guard",  # secrets and waits that end
        "import_draft", "api_use",  # looked at and gone; when a program last asked
        "upkeep",  # chores of the server: only the newest word counts
        # derived: rebuilt from the facts
        "part_result", "batch_result", "method_spread", "routine_spread", "meter_check_result",
            "trend_state", "batch_waiting",
    }  # fmt: skip
    assert {table for table, _column, _type in every_column()} == set(APPEND_ONLY) | changeable


def test_it_has_a_row_in_every_table_to_attack(worked_path):
    """Otherwise the tests below would prove nothing."""
    assert [t for t in TABLES if not content(worked_path, t)] == []
    assert faults(worked_path) == []


@pytest.mark.parametrize("table", TABLES)
def test_it_refuses_update_delete_and_replace(worked_path, table):
    """From a plain connection of the standard library: recursive_triggers and foreign_keys are off there."""
    before = content(worked_path, table)
    names = columns(worked_path, table)
    attempts = [
        *([f"UPDATE {table} SET {name} = {name}"] for name in names),
        [f"UPDATE OR IGNORE {table} SET {names[-1]} = {names[-1]}"],
        [f"UPDATE OR REPLACE {table} SET {names[0]} = (SELECT min({names[0]}) FROM {table})"],
        [f"DELETE FROM {table}"],
        [f"DELETE FROM {table} WHERE rowid = (SELECT max(rowid) FROM {table})"],
        [f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}"],
        [f"REPLACE INTO {table} SELECT * FROM {table} LIMIT 1"],
        [f"INSERT INTO {table} SELECT * FROM {table} WHERE true ON CONFLICT DO UPDATE SET {names[-1]} = {names[0]}"],
    ]
    said = plain.run(worked_path, *attempts)
    for attempt, words in zip(attempts, said, strict=True):
        assert words == f"IntegrityError: {table} is append-only", attempt
    assert content(worked_path, table) == before
    assert faults(worked_path) == []


@pytest.mark.parametrize("table", sorted(FOLLOWS))
def test_it_knows_of_every_column_whether_it_may_follow_a_correction(worked_path, table):
    """A column that a migration adds is in neither list, and would change without a word."""
    assert {*FIXED[table], *FOLLOWS[table]} == set(columns(worked_path, table))
    assert not set(FIXED[table]) & set(FOLLOWS[table])


# Another value than the one that stands, within the table's own checks and references.
OTHER = {
    "product_id": "(SELECT 'elsewhere')", "machine_id": "(SELECT 'elsewhere')", "green_g": "green_g + 1",
    "roasted_g": "roasted_g - 1", "drop_decicelsius": "drop_decicelsius + 1", "total_s": "total_s + 1",
    "development_s": "development_s + 1", "code": "code || '.'", "lot": "lot || '.'", "note": "note || '.'",
    "day": "'2026-05-15'", "roasted_at": "'2026-05-15T08:00:00.000Z'",
    "batch_id": "(SELECT max(b.id) FROM batch b WHERE b.id <> sample.batch_id)",
}  # fmt: skip


@pytest.mark.parametrize(("table", "fact"), [(t, f) for t in sorted(FOLLOWS) for f in FOLLOWS[t]], ids=str)
def test_it_refuses_what_the_newest_word_does_not_say(worked_path, ids, table, fact):
    """From a plain connection: of a row that was never corrected, and of one whose newest word says something else."""
    before = content(worked_path, table)
    corrected = "SELECT batch_id FROM batch_correction" if table == "batch" else "SELECT sample_id FROM sample_move"
    rows = [f"id NOT IN ({corrected})", f"id IN ({corrected})"]
    rows = [f"{row} AND {fact} IS NOT {OTHER[fact]}" for row in rows]
    assert all(look(worked_path, f"SELECT 1 FROM {table} WHERE {row}") for row in rows)
    said = plain.run(worked_path, *([f"UPDATE {table} SET {fact} = {OTHER[fact]} WHERE {row}"] for row in rows))
    assert said == [f"IntegrityError: {table} is append-only"] * 2
    assert content(worked_path, table) == before


def test_it_refuses_an_earlier_word_and_anything_beside_the_newest(worked_path, ids):
    """What was corrected twice does not go back to what it was in between; and nothing else changes with it."""
    db = connect.connect(worked_path)
    batch = db.conn.execute("SELECT batch_id FROM batch_correction").fetchone()[0]
    person, tablet = db.conn.execute("SELECT person_id, tablet_id FROM batch_correction").fetchone()
    who, now = Who(person, "roaster", tablet), datetime(2026, 5, 14, 12, tzinfo=UTC)
    first = batch_corrections.newest_id(db, batch)
    batch_corrections.add_batch_correction(db, "c-2", batch, {"lot": "Lot 7"}, "Wrong again.", who, now, first)
    assert list(ledger.faults(db)) == []
    db.close()
    word = "INSERT INTO batch_correction_fact VALUES ('c-2', 'note', '', 'It smoked.')"
    said = plain.run(
        worked_path, [f"UPDATE batch SET lot = 'Lot 2' WHERE id = '{batch}'"],
        ["BEGIN", word, f"UPDATE batch SET note = 'It smoked.', tablet_seq = 9 WHERE id = '{batch}'"],
        ["BEGIN", word, f"UPDATE batch SET note = 'It smoked.', id = 'other' WHERE id = '{batch}'"],
    )
    assert [text for text in said if text != "IntegrityError: batch is append-only"] == []
    # Who adds the word as well is not refused, and is found: the correction and the batch are not as they were noted.
    plain.force(worked_path, word, f"UPDATE batch SET note = 'It smoked.' WHERE id = '{batch}'")
    found = faults(worked_path)
    assert_named(found, "batch", {("batch", batch), ("batch_correction", "c-2")})


@pytest.mark.parametrize(("table", "key"), [(t, k) for t in TABLES for k in APPEND_ONLY[t]], ids=str)
def test_it_refuses_a_replace_by_every_unique_key(worked_path, table, key):
    """A replace deletes every row that shares a unique key, whatever its id: with a new id, too."""
    names = columns(worked_path, table)
    fresh = {name: "'new'" for name in names if (name == "id" or name == "record_id") and name not in key}
    values = ", ".join(fresh.get(name, name) for name in names)
    before = content(worked_path, table)
    (said,) = plain.run(
        worked_path, [f"INSERT OR REPLACE INTO {table} ({', '.join(names)}) SELECT {values} FROM {table} LIMIT 1"]
    )
    assert said == f"IntegrityError: {table} is append-only"
    assert content(worked_path, table) == before


def test_it_knows_every_unique_key(worked_path):
    """The keys in triggers.py are those of the schema."""
    for table in TABLES:
        info = look(worked_path, f"PRAGMA table_info({table})")
        keys = {tuple(row[1] for row in sorted(info, key=lambda r: r[5]) if row[5])}
        for _seq, index, unique, _origin, _partial in look(worked_path, f"PRAGMA index_list({table})"):
            if unique:
                keys.add(tuple(row[2] for row in look(worked_path, f"PRAGMA index_info({index})")))
        assert set(APPEND_ONLY[table]) == keys, table


@pytest.mark.parametrize("table", [t for t in TABLES if t != "ledger"])
def test_it_names_a_row_that_was_replaced_by_its_place(worked_path, table):
    """SQLite's own row number is a key, too, and no trigger sees it: refused or not, it does not stay unseen."""
    names = columns(worked_path, table)
    kind, column = PART_OF[table]
    lost = look(worked_path, f"SELECT {column} FROM {table} WHERE rowid = 1")[0][0]
    key = APPEND_ONLY[table][0]
    numbers = {
        "no": "9", "fill_no": "4", "step_no": "999", "kind": "'ground'", "stage": "'left'", "step": "'seat'",
        "fact": "'note'",
    }  # fmt: skip
    changed = {k: numbers.get(k, "'new'") for k in (key if len(key) == 1 else key[1:])}
    for other in APPEND_ONLY[table][1:]:
        changed[other[-1]] = {"no": "999", "fill_no": "999"}.get(other[-1], "'new'")
    values = ", ".join(changed.get(name, name) for name in names)
    (said,) = plain.run(
        worked_path,
        [f"INSERT OR REPLACE INTO {table} (rowid, {', '.join(names)}) SELECT 1, {values} FROM {table} WHERE rowid = 1"],
    )
    if isinstance(said, str):
        assert "is append-only" in said
    else:
        assert any(f"{kind} {lost} " in fault for fault in faults(worked_path))


# What somebody might want to have been otherwise, one column a table, within the table's own checks.
EDITS = {
    "scale": ("upper", "upper + 100"),
    "plate": ("assigned", "assigned + 10"),
    "grinder_setting": ("name", "name || ' fine'"),
    "method_version": ("planned_readings", "planned_readings + 1"),
    "method_step": ("title", "title || '.'"),
    "target_version": ("confidence", "0.51"),
    "target_band": ("upper", "upper + 50"),
    "batch": ("lot", "lot || '.'"),
    "sample": ("u_meter", "u_meter + 1.0"),
    "reading": ("value", "value + 10"),
    "step_done": ("done_at", "'2026-05-14T08:00:00.000Z'"),
    "correction": ("value", "value + 10"),
    "comparison": ("bound", "bound + 10"),
    "comparison_coffee": ("name", "name || '.'"),
    "comparison_sample": ("note", "note || '.'"),
    "comparison_reading": ("value", "value + 10"),
    "comparison_outcome": ("bias", "bias + 0.1"),
    "comparison_target": ("target_version_id", "(SELECT id FROM target_version ORDER BY no LIMIT 1)"),
    "decision": ("what", "'reject'"),
    "person_claim": ("sent_by", "person_id"),
    "claim_confirmed": ("confirmed_at", "'2026-05-14T08:00:00.000Z'"),
    "meter_rule": ("warm_up_s", "warm_up_s + 1"),
    "meter_check": ("plate_typed", "'another'"),
    "meter_check_reading": ("value", "value + 10"),
    "meter_check_step": ("done_at", "'2026-05-14T08:00:00.000Z'"),
    "look_back_entry": ("made_at", "'2026-05-14T08:00:00.000Z'"),
    "grinder_event": ("made_at", "'2026-05-14T08:00:00.000Z'"),
    "grind_check": ("passing_cg", "passing_cg - 1"),
    "precision_study": ("fills", "fills + 1"),
    "precision_place": ("fill_no", "fill_no + 9"),
    "precision_fill": ("note", "note || '.'"),
    "precision_reading": ("value", "value + 10"),
    "precision_outcome": ("sigma_f", "sigma_f + 0.1"),
    "signoff": ("valid_until", "'2031-05-14T08:00:00.000Z'"),
    "countersignature": ("note", "note || '.'"),
    "countersigned_sample": ("sample_id", "(SELECT max(id) FROM sample WHERE id <> countersigned_sample.sample_id)"),
    "trend_baseline": ("centre", "centre + 0.1"),
    "trend_rules": ("average", "0"),
    "signal_note": ("done", "done || '.'"),
    "sample_move": ("reason", "reason || '.'"),
    "batch_correction": ("reason", "reason || '.'"),
    "batch_correction_fact": ("after", "'Lot 3'"),
    "result_change": ("verdict_before", "coalesce(verdict_before, '') || '.'"),
    "result_change_part": ("value_before", "coalesce(value_before, 0.0) + 1.0"),
    "blend": ("trial_g", "trial_g + 1"),
    "blend_part": ("grams", "grams + 100"),
    "blend_part_value": ("value", "value + 0.1"),
    "blend_expected": ("chance", "chance / 2"),
    "import_run": ("sha256", "'another'"),
    "ledger": ("person_id", "'somebody else'"),
}


def rewritten(path, table):
    """Statements that replace a table by a changed copy of itself."""
    column, edited = EDITS[table]
    copied = ", ".join(f"{edited} AS {name}" if name == column else name for name in columns(path, table))
    return [
        # Triggers of other tables read some of them; otherwise SQLite would not give the copy their name.
        "PRAGMA legacy_alter_table = ON",
        "BEGIN",
        f"CREATE TABLE copy AS SELECT {copied} FROM {table}",
        f"DROP TABLE {table}",
        f"ALTER TABLE copy RENAME TO {table}",
        "COMMIT",
    ]


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("put_back", [False, True], ids=["triggers lost", "triggers put back"])
def test_it_names_a_table_rewrite(worked_path, table, put_back):
    """CREATE new AS SELECT, DROP, RENAME: no trigger fires, and the table's own triggers and checks are gone."""
    hurt = records(worked_path, table) if table != "ledger" else set()
    triggers = [sql for name, sql in wanted().items() if name.startswith(f"{table}_no_")]
    plain.force(worked_path, *rewritten(worked_path, table), *(triggers if put_back else ()))
    found = faults(worked_path)
    assert f"table or index {table} is not as it was made" in found
    # Another table may point to a key that is gone now; the rest is looked at all the same.
    verbs = ("update", "delete", "replace")
    missing = {f"trigger {table}_no_{verb} is missing, changed, or not ours" for verb in verbs}
    assert missing & set(found) == (set() if put_back else missing)
    assert_named(found, table, hurt)


def assert_named(found, table, hurt):
    """Every hurt record is named; a changed ledger says which line."""
    if table == "ledger":
        assert any(re.match(r"ledger: line \d+ does not fit", fault) for fault in found), found
    for kind, record_id in hurt:
        assert any(f.startswith(f"{kind} {record_id} was changed after ledger line ") for f in found), (kind, record_id)


@pytest.mark.parametrize("table", TABLES)
def test_it_names_a_direct_edit_with_the_triggers_put_back(worked_path, table):
    """Drop the trigger, change one row, make the trigger again: nothing but the content shows it."""
    column, edited = EDITS[table]
    kind, id_column = PART_OF.get(table, (None, "seq"))
    row = f"(SELECT max(rowid) FROM {table})"
    hurt = look(worked_path, f"SELECT {id_column} FROM {table} WHERE rowid = {row}")[0][0]
    trigger = f"{table}_no_update"
    plain.force(
        worked_path,
        f"DROP TRIGGER {trigger}",
        f"UPDATE {table} SET {column} = {edited} WHERE rowid = {row}",
        wanted()[trigger],
    )
    found = faults(worked_path)
    assert not any(f.startswith(("trigger", "table")) for f in found)
    if table == "ledger":
        assert found[0] == f"ledger: line {hurt} does not fit the one before it, or was changed"
    else:
        assert len(found) == 1
        assert found[0].startswith(f"{kind} {hurt} was changed after ledger line ")


@pytest.mark.parametrize("table", [t for t in TABLES if t != "ledger"])
def test_it_names_a_deleted_row_with_the_triggers_put_back(worked_path, table):
    kind, id_column = PART_OF[table]
    hurt = look(worked_path, f"SELECT {id_column} FROM {table} ORDER BY rowid LIMIT 1")[0][0]
    trigger = f"{table}_no_delete"
    plain.force(
        worked_path,
        f"DROP TRIGGER {trigger}",
        f"DELETE FROM {table} WHERE rowid = (SELECT min(rowid) FROM {table})",
        wanted()[trigger],
    )
    own = next(iter(ledger.TREES[kind])) == table
    words = r"\(ledger line \d+\) is gone" if own else r"was changed after ledger line \d+"
    assert any(re.fullmatch(f"{kind} {hurt} {words}", fault) for fault in faults(worked_path))


@pytest.mark.parametrize("table", TABLES)
def test_it_says_that_a_table_is_gone(worked_path, table):
    """Dropped altogether: words, not a broken command."""
    plain.force(worked_path, f"DROP TABLE {table}")
    found = faults(worked_path)
    assert f"table or index {table} is not as it was made" in found
    if table == "ledger":
        db = connect.connect(worked_path)
        with pytest.raises(WrongSchema, match="ledger cannot be read"):
            ledger.head(db)
        db.close()


WRITABLE = "PRAGMA writable_schema = ON"


def test_it_names_triggers_that_were_cut_out_of_the_schema(worked_path, ids):
    plain.force(worked_path, WRITABLE, "DELETE FROM sqlite_master WHERE type = 'trigger'")
    plain.force(worked_path, f"UPDATE reading SET value = value + 100 WHERE sample_id = '{ids['sample']}' AND no = 1")
    found = faults(worked_path)
    assert {f"trigger {name} is missing, changed, or not ours" for name in wanted()} <= set(found)
    assert_named(found, "reading", {("sample", ids["sample"])})


def test_it_names_a_trigger_whose_text_was_changed_in_the_schema(worked_path):
    plain.force(
        worked_path,
        WRITABLE,
        "UPDATE sqlite_master SET sql = replace(sql, 'BEGIN', 'WHEN false BEGIN') WHERE name = 'reading_no_update'",
    )
    plain.force(worked_path, "UPDATE reading SET typed = typed")
    assert faults(worked_path) == ["trigger reading_no_update is missing, changed, or not ours"]


def test_it_names_a_check_that_was_taken_out_of_the_schema(worked_path):
    plain.force(
        worked_path,
        WRITABLE,
        "UPDATE sqlite_master SET sql = replace(sql, ' CHECK (fill_no BETWEEN 1 AND 4)', '') WHERE name = 'reading'",
    )
    assert faults(worked_path) == ["table or index reading is not as it was made"]


def test_it_names_a_trigger_that_is_not_ours(worked_path):
    """One that quietly adds a reading to every sample, say."""
    plain.force(
        worked_path,
        "CREATE TRIGGER lighter AFTER INSERT ON sample BEGIN INSERT INTO reading (sample_id, fill_no, no, value, typed)"
        " VALUES (NEW.id, 1, 99, 9000, '90'); END",
    )
    assert faults(worked_path) == ["trigger lighter is missing, changed, or not ours"]


def test_it_puts_back_what_was_lost_but_never_hides_what_was_changed(worked_path, ids):
    """`flask migrate` makes the triggers again; the record's hash still tells."""
    plain.force(worked_path, "DROP TRIGGER reading_no_update", "UPDATE reading SET value = value + 1 WHERE no = 1")
    migrations.migrate(worked_path)
    found = faults(worked_path)
    assert not any(f.startswith("trigger") for f in found)
    assert_named(found, "reading", {("sample", ids["sample"])})


def test_it_says_so_on_the_command_line(worked_path, ids):
    app = create_app(Config(database=worked_path, secret_key="tests only: long enough for a secret", testing=True))
    well = app.test_cli_runner().invoke(args=["check"])
    assert well.exit_code == 0
    assert "Everything is as it was written." in well.output
    edited = "UPDATE decision SET what = 'reject' WHERE blend_id IS NULL"
    plain.force(worked_path, "DROP TRIGGER decision_no_update", edited)
    ill = app.test_cli_runner().invoke(args=["check"])
    assert ill.exit_code == 1
    assert "trigger decision_no_update is missing, changed, or not ours" in ill.output
    assert f"decision {ids['decision']} was changed after ledger line" in ill.output
    assert "Everything is as it was written." not in ill.output
