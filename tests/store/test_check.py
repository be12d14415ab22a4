"""The ledger: a line for every write, chained; what its check finds, and what only a hash kept elsewhere can show."""

import hashlib
import json

import pytest

from tests.store import plain
from tests.support.roastery import later
from webapp.store import connect, decisions, gear, ledger
from webapp.store.triggers import wanted
from webapp.store.who import SYSTEM


def faults(path):
    """What the check says."""
    db = connect.connect(path)
    found = list(ledger.faults(db))
    db.close()
    return found


def head(path):
    """What is kept elsewhere."""
    db = connect.connect(path)
    found = ledger.head(db)
    db.close()
    return found


def behind_the_triggers(path, table, *statements):
    """Statements on an append-only table by somebody who drops its triggers and puts them back."""
    own = {name: sql for name, sql in wanted().items() if name.startswith(f"{table}_no_")}
    plain.force(path, *(f"DROP TRIGGER {name}" for name in own), *statements, *own.values())


def test_it_finds_nothing_where_nothing_was_touched(worked_path):
    assert faults(worked_path) == []


def test_it_has_a_line_for_every_record_and_no_gap(bench, db):
    bench.sample(bench.batch().id, "whole", [56.2, 56.3, 56.1])
    lines = list(db.query("SELECT * FROM ledger ORDER BY seq"))
    assert [line["seq"] for line in lines] == list(range(1, len(lines) + 1))
    noted = {(line["kind"], line["record_id"]) for line in lines}
    for kind, tree in ledger.TREES.items():
        for row in db.query(f"SELECT id FROM {next(iter(tree))}"):
            assert (kind, str(row["id"])) in noted
    assert ledger.head(db) == (len(lines), lines[-1]["hash"])


def spelled(value):
    """The canonical JSON, written down here a second time."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode("utf-8")


def test_it_chains_sha_256_over_each_line_and_the_one_before(worked_path):
    """Worked out here from the rows alone, as somebody with another program would."""
    rows = plain.force(
        worked_path,
        "SELECT seq, at, person_id, tablet_id, action, kind, record_id, content_hash, previous_hash, hash FROM ledger"
        " ORDER BY seq",
    )
    names = ("seq", "at", "person_id", "tablet_id", "action", "kind", "record_id", "content_hash", "previous_hash")
    previous = "0" * 64
    for *values, own in rows:
        line = dict(zip(names, values, strict=True))
        assert line["previous_hash"] == previous
        assert own == hashlib.sha256(spelled(line)).hexdigest()
        previous = own


def test_it_hashes_a_sample_with_every_reading_and_step(bench, db):
    sample = bench.sample(bench.batch().id, "whole", [56.2, 56.3, 56.1], [56.4, 56.2, 56.3])
    written = ledger.history(db, "sample", sample.id)[-1]["content_hash"]
    tables = {"sample": "id", "reading": "sample_id", "step_done": "sample_id"}
    order = {"sample": "id", "reading": "fill_no, no", "step_done": "step_no"}
    rows = {}
    for table, column in tables.items():
        found = db.query(f"SELECT * FROM {table} WHERE {column} = ? ORDER BY {order[table]}", (sample.id,))
        rows[table] = [{k: v for k, v in row.items() if v is not None} for row in found]
    assert len(rows["reading"]) == 6
    assert rows["step_done"]
    assert written == hashlib.sha256(spelled(rows)).hexdigest()


def test_it_writes_no_line_outside_the_transaction_of_its_record(bench, db):
    with pytest.raises(RuntimeError, match="transaction"):
        ledger.note(db, "x", "person", bench.people["lead"], bench.now, None, None)


def test_it_writes_no_line_about_a_record_that_is_not_there(bench, db):
    before = ledger.head(db)
    with pytest.raises(RuntimeError, match="no batch nowhere"), connect.write(db):
        ledger.note(db, "x", "batch", "nowhere", bench.now, None, None)
    assert ledger.head(db) == before


def test_it_writes_neither_record_nor_line_when_one_of_them_fails(bench, db, monkeypatch):
    before = ledger.head(db)
    monkeypatch.setattr(ledger, "content_hash", lambda *_: None)
    with pytest.raises(RuntimeError):
        bench.batch("0514-77")
    monkeypatch.undo()
    assert ledger.head(db) == before
    assert list(db.query("SELECT * FROM batch WHERE code = '0514-77'")) == []


def test_it_says_who_did_what_when_and_on_which_tablet(bench, db):
    batch = bench.batch()
    decisions.add_decision(db, "d-1", batch.id, "hold", "Look again.", bench.who("lead"), later(bench.now, minutes=1))
    (line,) = ledger.history(db, "decision", "d-1")
    assert line["action"] == "decision: hold"
    assert line["person_id"] == bench.people["lead"]
    assert line["tablet_id"] == bench.tablet
    assert [(x["action"], x["person_name"], x["tablet_name"]) for x in ledger.lines_about(db, batch.id, [])] == [
        ("batch started", "Ravi", "Bench tablet"),
        ("decision: hold", "Ada", "Bench tablet"),
    ]


LINE = ("at", "person_id", "tablet_id", "action", "kind", "record_id", "content_hash", "previous_hash", "hash")


@pytest.mark.parametrize("column", LINE)
def test_it_names_the_line_in_which_a_column_was_changed(worked_path, column):
    number = head(worked_path)[0] - 3
    behind_the_triggers(worked_path, "ledger", f"UPDATE ledger SET {column} = 'x' WHERE seq = {number}")
    assert f"ledger: line {number} does not fit the one before it, or was changed" in faults(worked_path)


def test_it_names_the_line_in_which_one_bit_was_flipped(worked_path):
    """The hash column's last digit, by one."""
    number = head(worked_path)[0]
    behind_the_triggers(
        worked_path,
        "ledger",
        f"UPDATE ledger SET hash = substr(hash, 1, 63) || CASE substr(hash, 64) WHEN '0' THEN '1' ELSE '0' END"
        f" WHERE seq = {number}",
    )
    assert faults(worked_path) == [f"ledger: line {number} does not fit the one before it, or was changed"]


def test_it_names_a_line_that_was_taken_out(worked_path):
    number = head(worked_path)[0] - 5
    behind_the_triggers(worked_path, "ledger", f"DELETE FROM ledger WHERE seq = {number}")
    assert faults(worked_path)[:2] == [
        f"ledger: line {number} is missing",
        f"ledger: line {number + 1} does not fit the one before it, or was changed",
    ]


def test_it_names_a_first_line_that_was_taken_out(worked_path):
    behind_the_triggers(worked_path, "ledger", "DELETE FROM ledger WHERE seq = 1")
    assert "ledger: line 1 is missing" in faults(worked_path)


def test_it_names_lines_that_changed_places(worked_path):
    number = head(worked_path)[0] - 1
    behind_the_triggers(
        worked_path,
        "ledger",
        f"UPDATE ledger SET seq = -1 WHERE seq = {number}",
        f"UPDATE ledger SET seq = {number} WHERE seq = {number + 1}",
        f"UPDATE ledger SET seq = {number + 1} WHERE seq = -1",
    )
    assert f"ledger: line {number} does not fit the one before it, or was changed" in faults(worked_path)


def test_it_names_the_records_of_a_tail_that_was_cut_off(worked_path, ids):
    """The last line is the decision's: the decision is there still, and has no line any more."""
    last = head(worked_path)[0]
    behind_the_triggers(worked_path, "ledger", f"DELETE FROM ledger WHERE seq = {last}")
    assert faults(worked_path) == [f"decision {ids['decision']} was added without a ledger line"]


def test_it_cannot_see_a_tail_that_was_cut_off_with_its_records_but_the_head_kept_elsewhere_can(worked_path):
    """The limit of a chain: what is gone together with its line leaves no trace in the file."""
    kept = head(worked_path)
    newest = "SELECT record_id FROM ledger ORDER BY seq DESC LIMIT 1"
    behind_the_triggers(worked_path, "decision", f"DELETE FROM decision WHERE id = ({newest})")
    behind_the_triggers(worked_path, "ledger", f"DELETE FROM ledger WHERE seq = {kept[0]}")
    assert faults(worked_path) == []
    assert head(worked_path) == (kept[0] - 1, head(worked_path)[1])
    assert head(worked_path) != kept


def test_it_cannot_see_a_chain_written_anew_but_the_head_kept_elsewhere_can(worked_path, ids):
    """Somebody with the file and this software's source can make every hash again: the other limit."""
    kept = head(worked_path)
    db = connect.connect(worked_path)
    for name in wanted():
        db.conn.execute(f"DROP TRIGGER {name}")
    db.conn.execute("UPDATE reading SET value = value + 100 WHERE sample_id = ?", (ids["sample"],))
    previous = ledger.FIRST_HASH
    for line in list(db.query("SELECT * FROM ledger ORDER BY seq")):
        line["content_hash"] = ledger.content_hash(db, line["kind"], line["record_id"])
        line["previous_hash"] = previous
        previous = line["hash"] = ledger.line_hash(line)
        db.conn.execute(
            "UPDATE ledger SET content_hash = :content_hash, previous_hash = :previous_hash, hash = :hash"
            " WHERE seq = :seq",
            line,
        )
    for sql in wanted().values():
        db.conn.execute(sql)
    db.close()
    assert faults(worked_path) == []
    assert head(worked_path)[0] == kept[0]
    assert head(worked_path)[1] != kept[1]


INSERTED = {
    "api_token": ("id", "name", "token_hash", "person_id", "tablet_id", "made_at"),
    "person": ("id", "name", "role", "pin_hash", "created_at"),
    "tablet": ("id", "name", "secret_hash", "enrolled_at"),
    "scale": ("id", "name", "lower", "upper", "step", "lighter", "created_at"),
    "machine": ("id", "name", "created_at"),
    "meter": ("id", "name", "scale_id", "created_at"),
    "plate": ("id", "meter_id", "name", "assigned", "tolerance", "made_at"),
    "grinder": ("id", "name", "created_at"),
    "grinder_setting": ("id", "grinder_id", "name", "created_at"),
    "method": ("id", "name", "kind", "created_at"),
    "method_version": ("id", "method_id", "no", "planned_readings", "planned_fills", "made_at"),
    "product": ("id", "name", "short", "created_at"),
    "target_version": ("id", "product_id", "no", "scale_id", "rule", "confidence", "made_at"),
    "batch": (
        "id", "code", "product_id", "machine_id", "day", "roasted_at", "person_id", "tablet_id", "made_at",
        "received_at",
    ),
    "sample": (
        "id", "batch_id", "kind", "method_version_id", "meter_id", "checklist", "sigma_r", "sigma_f", "sigma_source",
        "u_meter", "u_meter_source", "person_id", "role", "tablet_id", "made_at", "received_at",
    ),
    "correction": (
        "id", "sample_id", "fill_no", "reading_no", "value", "reason", "person_id", "tablet_id", "made_at",
        "received_at",
    ),
    "comparison": (
        "id", "name", "what", "kind", "scale_id", "a_meter_id", "b_meter_id", "a_method_version_id",
        "b_method_version_id", "fills", "readings", "bound", "blind", "person_id", "tablet_id", "made_at",
        "received_at",
    ),
    "comparison_sample": (
        "id", "comparison_id", "coffee_no", "side", "person_id", "role", "tablet_id", "made_at", "received_at",
    ),
    "comparison_outcome": (
        "id", "comparison_id", "outcome", "coffees", "bias", "bias_give", "reason", "person_id", "tablet_id", "made_at",
        "received_at",
    ),
    "sample_move": ("id", "sample_id", "from_batch_id", "to_batch_id", "reason", "person_id", "tablet_id", "made_at",
                    "received_at"),
    "batch_correction": ("id", "batch_id", "reason", "person_id", "tablet_id", "made_at", "received_at"),
    "result_change": ("id", "batch_id", "cause", "cause_id", "received_at"),
    "blend": ("id", "batch_id", "target_version_id", "confidence", "reason", "person_id", "tablet_id", "made_at",
              "received_at"),
    "decision": ("id", "batch_id", "what", "verdict", "person_id", "tablet_id", "made_at", "received_at"),
    "person_claim": ("id", "person_id", "tablet_id", "sent_by", "claimed_at", "received_at"),
    "claim_confirmed": ("id", "claim_id", "tablet_id", "confirmed_at"),
    "meter_rule": ("id", "meter_id", "no", "due", "every", "made_at"),
    "meter_check": ("id", "meter_id", "plate_id", "plate_typed", "adjusted", "person_id", "role", "tablet_id",
                    "made_at", "received_at"),
    "look_back_entry": ("id", "check_id", "sample_id", "what", "new_sample_id", "reason", "person_id", "tablet_id",
                        "made_at", "received_at"),
    "grinder_event": ("id", "grinder_id", "what", "setting_id", "person_id", "role", "tablet_id", "made_at",
                      "received_at"),
    "precision_study": ("id", "name", "coffee", "kind", "method_version_id", "scale_id", "meter_id", "fills",
                        "readings", "person_id", "tablet_id", "made_at", "received_at"),
    "precision_fill": ("id", "study_id", "place_no", "person_id", "role", "tablet_id", "made_at", "received_at"),
    "precision_outcome": ("id", "study_id", "outcome", "persons", "fills", "readings", "sigma_r", "sigma_f", "reason",
                          "person_id", "tablet_id", "made_at", "received_at"),
    "signoff": ("id", "person_id", "kind", "what", "comparison_id", "reason", "signed_by", "tablet_id", "made_at",
                "received_at"),
    "countersignature": ("id", "batch_id", "person_id", "role", "tablet_id", "made_at", "received_at"),
    "trend_baseline": ("id", "product_id", "kind", "scale_id", "method_version_id", "what", "first_batch_id",
                       "last_batch_id", "batches", "centre", "sigma", "person_id", "tablet_id", "made_at",
                       "received_at"),
    "trend_rules": ("id", "rules", "average", "reason", "person_id", "tablet_id", "made_at", "received_at"),
    "signal_note": ("id", "product_id", "kind", "batch_id", "rule", "side", "cause", "closed", "person_id", "role",
                    "tablet_id", "made_at", "received_at"),
    "grind_check": ("id", "grinder_id", "setting_id", "sieve_um", "total_cg", "passing_cg", "person_id", "role",
                    "tablet_id", "made_at", "received_at"),
    "import_run": ("id", "file_name", "sha256", "columns", "rows", "taken", "known", "refused", "person_id",
                   "tablet_id", "made_at", "received_at"),
}  # fmt: skip


def test_it_knows_how_to_insert_every_kind():
    """There is one site, which is there already."""
    assert set(INSERTED) == set(ledger.TREES) - {"site"}


@pytest.mark.parametrize("kind", INSERTED)
def test_it_names_a_record_that_was_added_beside_the_software(worked_path, kind):
    """A new row is no change of an old one: no trigger stands against it, only the line that it lacks."""
    fresh = {"id": "'new'", "secret_hash": "'new'", "token_hash": "'new'", "no": "999"}
    if kind == "grinder_setting":
        fresh["name"] = "'new'"
    if kind == "comparison_outcome":
        fresh["comparison_id"] = "'new'"
    if kind == "result_change":
        fresh["cause_id"] = "'new'"
    if kind == "blend":
        fresh["batch_id"] = "'new'"
    if kind == "precision_outcome":
        fresh["study_id"] = "'new'"
    if kind == "signoff":
        fresh |= {"comparison_id": "NULL", "what": "'renewed'", "reason": "'new'"}
    names = INSERTED[kind]
    values = ", ".join(fresh.get(name, name) for name in names)
    plain.force(worked_path, f"INSERT INTO {kind} ({', '.join(names)}) SELECT {values} FROM {kind} LIMIT 1")
    assert f"{kind} new was added without a ledger line" in faults(worked_path)


@pytest.mark.parametrize(
    ("kind", "statement"),
    [
        (
            "sample",
            "INSERT INTO reading (sample_id, fill_no, no, value, typed) SELECT id, 1, 9, 9000, '90' FROM sample"
            " WHERE id = '{0}'",
        ),
        ("sample", "INSERT INTO step_done (sample_id, step_no, done_at) VALUES ('{0}', 99, '2026-05-14T09:00:00Z')"),
        ("method_version", "INSERT INTO method_step (method_version_id, no, title) VALUES ('{0}', 99, 'One more')"),
        (
            "target_version",
            "INSERT INTO target_band SELECT '{0}', 'difference', 1, 2, 3 WHERE NOT EXISTS"
            " (SELECT 1 FROM target_band WHERE kind = 'difference')",
        ),
    ],
    ids=["reading", "step_done", "method_step", "target_band"],
)
def test_it_names_the_record_to_which_a_part_was_added(worked_path, ids, kind, statement):
    """One more reading in a stored sample, one more step in a method that was used."""
    if "target_band" in statement:
        behind_the_triggers(worked_path, "target_band", "DELETE FROM target_band WHERE kind = 'difference'")
    plain.force(worked_path, statement.format(ids[kind]))
    assert any(f.startswith(f"{kind} {ids[kind]} was changed after ledger line ") for f in faults(worked_path))


def test_it_names_a_sample_that_was_deleted(worked_path, ids):
    lines = plain.force(worked_path, f"SELECT seq FROM ledger WHERE record_id = '{ids['sample']}'")
    behind_the_triggers(worked_path, "sample", f"DELETE FROM sample WHERE id = '{ids['sample']}'")
    found = faults(worked_path)
    assert f"sample {ids['sample']} (ledger line {lines[-1][0]}) is gone" in found
    assert any(f.startswith("reading row ") and f.endswith("points to a sample that is not there") for f in found)


@pytest.mark.parametrize(
    ("kind", "change"),
    [
        ("person", "role = CASE role WHEN 'lead' THEN 'roaster' ELSE 'lead' END"),
        ("person", "pin_hash = 'another'"),
        ("tablet", "revoked_at = NULL, secret_hash = 'another'"),
        ("machine", "active = 0"),
        ("product", "short = 'XX'"),
        ("site", "time_zone = 'Asia/Tokyo'"),
        ("method", "active = 0"),
    ],
)
def test_it_names_a_record_that_may_be_changed_but_was_not_by_the_software(worked_path, kind, change):
    hurt = plain.force(worked_path, f"SELECT id FROM {kind} ORDER BY id LIMIT 1")[0][0]
    plain.force(worked_path, f"UPDATE {kind} SET {change} WHERE id = '{hurt}'")
    (fault,) = faults(worked_path)
    assert fault.startswith(f"{kind} {hurt} was changed after ledger line ")


def test_it_takes_a_later_change_by_the_software_for_what_it_is(bench, db):
    gear.rename(db, "machine", bench.machine, "The old one", SYSTEM, bench.now)
    gear.retire(db, "machine", bench.machine, SYSTEM, bench.now)
    assert list(ledger.faults(db)) == []


def test_it_keeps_every_hash_when_a_later_version_adds_a_column_that_may_be_empty(worked_path):
    """Otherwise the first upgrade would accuse the whole history."""
    db = connect.connect(worked_path)
    for table in ("batch", "sample", "reading", "decision", "method_step"):
        db.conn.execute(f"ALTER TABLE {table} ADD COLUMN added_later TEXT")
    found = [f for f in ledger.faults(db) if not f.startswith("table or index")]  # no migration made these columns
    assert found == []
    db.close()


def test_it_notices_what_is_written_into_such_a_column(worked_path):
    db = connect.connect(worked_path)
    db.conn.execute("ALTER TABLE decision ADD COLUMN added_later TEXT")
    db.conn.execute("DROP TRIGGER decision_no_update")
    db.conn.execute("UPDATE decision SET added_later = 'x'")
    assert any(f.startswith("decision ") for f in ledger.faults(db))
    db.close()


def test_it_refuses_to_hash_an_unknown_kind(db):
    with pytest.raises(KeyError):
        ledger.content_hash(db, "nonsense", "1")
