"""A line for every write, chained by hashes. It makes tampering evident, not impossible.

Who can rewrite the whole file can also rewrite the whole chain: that is found only by comparing the newest
hash with a copy kept elsewhere (`flask check` prints it).
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from datetime import datetime

from sqlite_utils import Database
from sqlite_utils.utils import sqlite3

from .connect import one
from .errors import WrongSchema
from .schema import schema_faults
from .times import to_text
from .triggers import trigger_faults

# kind of record -> {table: column that holds the record's id}; the first table is the record's own.
TREES: dict[str, dict[str, str]] = {
    "site": {"site": "id"},
    "person": {"person": "id"},
    "tablet": {"tablet": "id"},
    "scale": {"scale": "id"},
    "machine": {"machine": "id"},
    "meter": {"meter": "id"},
    "plate": {"plate": "id"},
    "grinder": {"grinder": "id"},
    "grinder_setting": {"grinder_setting": "id"},
    "method": {"method": "id"},
    "method_version": {"method_version": "id", "method_step": "method_version_id"},
    "product": {"product": "id"},
    "target_version": {"target_version": "id", "target_band": "target_version_id"},
    "batch": {"batch": "id"},
    "sample": {"sample": "id", "reading": "sample_id", "step_done": "sample_id"},
    "correction": {"correction": "id"},
    "decision": {"decision": "id"},
    "person_claim": {"person_claim": "id"},
    "claim_confirmed": {"claim_confirmed": "id"},
    "meter_rule": {"meter_rule": "id"},
    "meter_check": {"meter_check": "id", "meter_check_reading": "check_id", "meter_check_step": "check_id"},
    "look_back_entry": {"look_back_entry": "id"},
    "grinder_event": {"grinder_event": "id"},
    "grind_check": {"grind_check": "id"},
    "comparison": {"comparison": "id", "comparison_coffee": "comparison_id"},
    "comparison_sample": {"comparison_sample": "id", "comparison_reading": "sample_id"},
    "comparison_outcome": {"comparison_outcome": "id", "comparison_target": "outcome_id"},
    "precision_study": {"precision_study": "id", "precision_place": "study_id"},
    "precision_fill": {"precision_fill": "id", "precision_reading": "fill_id"},
    "precision_outcome": {"precision_outcome": "id"},
    "signoff": {"signoff": "id"},
    "countersignature": {"countersignature": "id", "countersigned_sample": "countersignature_id"},
    "trend_baseline": {"trend_baseline": "id"},
    "trend_rules": {"trend_rules": "id"},
    "signal_note": {"signal_note": "id"},
    "sample_move": {"sample_move": "id"},
    "batch_correction": {"batch_correction": "id", "batch_correction_fact": "correction_id"},
    "result_change": {"result_change": "id", "result_change_part": "change_id"},
    "blend": {
        "blend": "id",
        "blend_part": "blend_id",
        "blend_part_value": "blend_id",
        "blend_expected": "blend_id",
    },
    "import_run": {"import_run": "id"},
    "api_token": {"api_token": "id"},
}
# The other tables' rows are put in order by their first three columns.
TWO_COLUMNS = ("countersigned_sample",)
FIRST_HASH = "0" * 64


def canonical(value: object) -> bytes:
    """One spelling for one content: sorted keys, no spaces, UTF-8."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def content_hash(db: Database, kind: str, record_id: str) -> str | None:
    """SHA-256 over the record's rows as they stand now; None if the record is not there.

    Empty columns are left out, so that a later migration may add a column without changing old hashes.
    """
    content = {}
    for table, column in TREES[kind].items():
        order = "1, 2" if table in TWO_COLUMNS else "1, 2, 3"
        rows = [
            {name: value for name, value in row.items() if value is not None}
            for row in db.query(f"SELECT * FROM {table} WHERE {column} = ? ORDER BY {order}", (record_id,))
        ]
        content[table] = rows
    if not content[next(iter(TREES[kind]))]:
        return None
    return hash_of(content)


def hash_of(content: dict[str, list[dict]]) -> str:
    """SHA-256 over a record's rows (table -> its rows in order, without empty columns), as `content_hash` has it."""
    return hashlib.sha256(canonical(content)).hexdigest()


def line_hash(line: dict) -> str:
    """The chained hash of a ledger line: SHA-256 over all its other columns."""
    return hashlib.sha256(canonical({k: v for k, v in line.items() if k != "hash"})).hexdigest()


def note(
    db: Database,
    action: str,
    kind: str,
    record_id: str,
    at: datetime,
    person_id: str | None,
    tablet_id: str | None,
) -> str:
    """Add the line for a record just written, inside the same transaction; returns the line's hash."""
    if not db.conn.in_transaction:
        raise RuntimeError("a ledger line belongs to the transaction that wrote the record")
    content = content_hash(db, kind, record_id)
    if content is None:
        raise RuntimeError(f"no {kind} {record_id} to note")
    return Lines(db, at, person_id, tablet_id).add(action, kind, str(record_id), content)


class Lines:
    """Lines for records that one person writes in one transaction, each with the hash of its content.

    The newest line is read once, when this is made: until it is done nothing else may add one.
    """

    def __init__(self, db: Database, at: datetime, person_id: str | None, tablet_id: str | None) -> None:
        last = one(db, "SELECT seq, hash FROM ledger ORDER BY seq DESC LIMIT 1")
        self.db, self.seq, self.hash = db, (last["seq"] if last else 0), (last["hash"] if last else FIRST_HASH)
        self.same = {"at": to_text(at), "person_id": person_id, "tablet_id": tablet_id}

    def add(self, action: str, kind: str, record_id: str, content: str) -> str:
        """Add a line; returns its hash. content: of the record as it stands in the database now (`hash_of`)."""
        line = self.same | {
            "seq": self.seq + 1, "action": action, "kind": kind, "record_id": record_id, "content_hash": content,
            "previous_hash": self.hash,
        }  # fmt: skip
        line["hash"] = line_hash(line)
        self.db.conn.execute(
            "INSERT INTO ledger (seq, at, person_id, tablet_id, action, kind, record_id, content_hash, previous_hash,"
            " hash) VALUES (:seq, :at, :person_id, :tablet_id, :action, :kind, :record_id, :content_hash,"
            " :previous_hash, :hash)",
            line,
        )
        self.seq, self.hash = line["seq"], line["hash"]
        return line["hash"]


def head(db: Database) -> tuple[int, str]:
    """(number of lines, newest hash): what to keep a copy of elsewhere. WrongSchema if there is no ledger."""
    try:
        last = one(db, "SELECT seq, hash FROM ledger ORDER BY seq DESC LIMIT 1")
    except sqlite3.DatabaseError as problem:
        raise WrongSchema(f"the ledger cannot be read ({problem})") from None
    return (last["seq"], last["hash"]) if last else (0, FIRST_HASH)


def history(db: Database, kind: str, record_id: str) -> list[dict]:
    """The ledger's lines about one record, oldest first."""
    return list(db.query("SELECT * FROM ledger WHERE kind = ? AND record_id = ? ORDER BY seq", (kind, record_id)))


def faults(db: Database) -> Iterator[str]:
    """Everything that is not as it was written, each as one sentence; nothing if all is well."""
    yield from (f"trigger {name} is missing, changed, or not ours" for name in trigger_faults(db))
    yield from (f"table or index {name} is not as it was made" for name in schema_faults(db))
    newest: dict[tuple[str, str], tuple[int, str]] = {}
    for part in (chain_faults(db, newest), _record_faults(db, newest), orphans(db)):
        try:
            yield from part
        except sqlite3.DatabaseError as problem:  # a table or column is gone, or a key that others point to
            yield f"this could not be looked at to the end: {problem}"


def chain_faults(db: Database, newest: dict[tuple[str, str], tuple[int, str]] | None = None) -> Iterator[str]:
    """Lines that are missing or changed; fills `newest` with each record's last (line number, content hash)."""
    newest = {} if newest is None else newest
    expected, previous = 1, FIRST_HASH
    for line in db.query("SELECT * FROM ledger ORDER BY seq"):
        seq = line["seq"]
        if seq != expected:
            yield f"ledger: line {expected} is missing"
        if line["previous_hash"] != previous or line_hash(line) != line["hash"]:
            yield f"ledger: line {seq} does not fit the one before it, or was changed"
        if line["kind"] not in TREES:
            yield f"ledger: line {seq} names an unknown kind of record"
        else:
            newest[line["kind"], line["record_id"]] = (seq, line["content_hash"])
        expected, previous = seq + 1, line["hash"]


def _record_faults(db: Database, newest: dict[tuple[str, str], tuple[int, str]]) -> Iterator[str]:
    """Records that are gone, changed, or have no line."""
    for (kind, record_id), (seq, written) in newest.items():
        found = content_hash(db, kind, record_id)
        if found is None:
            yield f"{kind} {record_id} (ledger line {seq}) is gone"
        elif found != written:
            yield f"{kind} {record_id} was changed after ledger line {seq}"
    for kind, tree in TREES.items():
        own = next(iter(tree))
        for row in db.query(f"SELECT id FROM {own}"):
            if (kind, str(row["id"])) not in newest:
                yield f"{kind} {row['id']} was added without a ledger line"


def orphans(db: Database) -> Iterator[str]:
    """Rows whose parents are not there (foreign keys)."""
    for row in db.conn.execute("PRAGMA foreign_key_check"):
        yield f"{row[0]} row {row[1]} points to a {row[2]} that is not there"


# What is said of a batch, by kind of record. Of a sample that was moved, everything is said on both batches' pages.
_ABOUT = {
    "batch": "SELECT :batch",
    "sample": "SELECT id FROM about_sample",
    "correction": "SELECT id FROM correction WHERE sample_id IN about_sample",
    "sample_move": "SELECT id FROM sample_move WHERE sample_id IN about_sample",
    "batch_correction": "SELECT id FROM batch_correction WHERE batch_id = :batch",
    "result_change": "SELECT id FROM result_change WHERE batch_id = :batch",
    "look_back_entry": "SELECT id FROM look_back_entry WHERE sample_id IN about_sample",
    "decision": "SELECT id FROM decision WHERE batch_id = :batch",
    "countersignature": "SELECT id FROM countersignature WHERE batch_id = :batch UNION SELECT countersignature_id"
    " FROM countersigned_sample WHERE sample_id IN about_sample",
    "blend": "SELECT id FROM blend WHERE batch_id = :batch"
    " UNION SELECT blend_id FROM blend_part WHERE batch_id = :batch",
    "person_claim": "SELECT value FROM json_each(:claims)",
    "claim_confirmed": "SELECT id FROM claim_confirmed WHERE claim_id IN (SELECT value FROM json_each(:claims))",
}
_LINES = (
    "WITH about_sample(id) AS MATERIALIZED (SELECT value FROM json_each(:samples)"
    " UNION SELECT sample_id FROM sample_move WHERE from_batch_id = :batch)"
    " SELECT l.seq, l.at, l.action, l.hash, p.name AS person_name, t.name AS tablet_name FROM ledger l"
    " LEFT JOIN person p ON p.id = l.person_id LEFT JOIN tablet t ON t.id = l.tablet_id WHERE "
    + " OR ".join(f"(l.kind = '{kind}' AND l.record_id IN ({ids}))" for kind, ids in _ABOUT.items())
    + " ORDER BY l.seq"
)


def lines_about(db: Database, batch_id: str, sample_ids: list[str], claim_ids: Sequence[str] = ()) -> list[dict]:
    """The lines about a batch, its samples and those that were moved out of it, all corrections with what they changed,
    look-backs, decisions and countersignatures, the blends that it is or goes into, and the claims under which they
    were made, in order, with names."""
    asked = {"batch": batch_id, "samples": json.dumps(sample_ids), "claims": json.dumps(list(claim_ids))}
    return list(db.query(_LINES, asked))
