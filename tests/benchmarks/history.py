"""A long made-up history: the demo's own days, told again and again into the past until there are enough batches.

Rows are inserted in bulk, but they are the rows that the store would have written, with a ledger line for each
record, chained to the ones that are there.
"""

from __future__ import annotations

import random
import shutil
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from sqlite_utils import Database

from webapp.store import connect, ledger, routine, samples, spreads, trend_states, waiting
from webapp.store.connect import one, write

# table -> (column that holds the batch or sample it belongs to)
OF_BATCH = {"sample": "batch_id", "decision": "batch_id", "part_result": "batch_id", "batch_result": "batch_id"}
OF_SAMPLE = {"reading": "sample_id", "step_done": "sample_id", "correction": "sample_id"}
TIMES = ("roasted_at", "made_at", "received_at", "done_at")
ACTIONS = {"batch": "batch started", "correction": "reading corrected"}
AT_ONCE = 2_000


@dataclass(frozen=True)
class Told:
    """A batch of the demo: its rows by table, and what its samples add to the running sums of routine spread."""

    rows: dict[str, list[dict]]
    spread: dict[tuple[str, str], tuple]


def lengthen(small: Path, large: Path, batches: int, seed: int = 1) -> int:
    """Copy the demo at `small` to `large` with so many more batches before its first day; returns how many were added.

    `small` must have no writer.
    """
    shutil.copy(small, large)
    db = connect.connect(large)
    # Only while it is made: a fault here costs a benchmark, no batch.
    db.conn.execute("PRAGMA synchronous=OFF")
    db.conn.execute("PRAGMA cache_size=-600000")
    try:
        days = told_days(db)
        first = date.fromisoformat(one(db, "SELECT min(day) AS day FROM batch")["day"])
        random_ids = random.Random(seed)
        copier = Copier(db, random_ids)
        added, back = 0, 0
        while added < batches:
            with write(db):
                aim = min(batches, added + AT_ONCE)
                while added < aim:
                    back += 1
                    added += copier.copy_day(days[back % len(days)], first - timedelta(days=back))
                copier.flush()
        copier.add_spread()
        with write(db):
            db.conn.execute("DELETE FROM routine_spread")
            db.conn.execute("DELETE FROM trend_state")
        routine.fill_if_empty(db)
        trend_states.fill_if_empty(db)
        with write(db):
            waiting.rebuild(db, store=True)
        db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        return added
    finally:
        db.close()


def told_days(db: Database) -> list[list[Told]]:
    """The demo's days that are over, each a list of batches."""
    days = [row["day"] for row in db.query("SELECT DISTINCT day FROM batch ORDER BY day")][:-1]
    return [list(told_batches(db, day)) for day in days]


def told_batches(db: Database, day: str) -> Iterator[Told]:
    """The batches of a day, but for those of which a look-back says something: that is not copied."""
    settled = (
        "SELECT s.batch_id FROM sample s JOIN look_back_entry e ON s.id IN (e.sample_id, e.new_sample_id)"
    )
    rows = db.query(f"SELECT * FROM batch WHERE day = ? AND id NOT IN ({settled}) ORDER BY roasted_at", (day,))
    for batch in list(rows):
        told = {"batch": [batch]}
        for table, column in OF_BATCH.items():
            told[table] = list(db.query(f"SELECT * FROM {table} WHERE {column} = ? ORDER BY rowid", (batch["id"],)))
        for table, column in OF_SAMPLE.items():
            told[table] = [
                row
                for sample in told["sample"]
                for row in db.query(f"SELECT * FROM {table} WHERE {column} = ? ORDER BY 1, 2, 3", (sample["id"],))
            ]
        totals = spreads.Totals()
        totals.add(samples.get_samples(db, batch["id"]))
        yield Told(told, totals.sums)


class Copier:
    """Copies batches to another day, under new ids, and keeps the ledger's chain."""

    def __init__(self, db: Database, chance: random.Random) -> None:
        self.db, self.chance = db, chance
        self.rows: dict[str, list[dict]] = {}
        self.spread: dict[tuple[str, str], tuple] = {}
        self.seq, self.hash = ledger.head(db)
        first = "SELECT meter_id, passed, min(made_at) FROM meter_check_result GROUP BY meter_id"
        self.doubted = {row["meter_id"] for row in db.query(first) if not row["passed"]}

    def copy_day(self, batches: list[Told], day: date) -> int:
        """Copy a day's batches to `day`; returns how many."""
        for told in batches:
            self.copy(told.rows, day)
            for key, sums in told.spread.items():
                before = self.spread.get(key, spreads.NOTHING)
                self.spread[key] = tuple(a + b for a, b in zip(before, sums, strict=True))
        return len(batches)

    def new_id(self) -> str:
        """Random, as real ones are: they decide where in an index a row goes."""
        return str(uuid.UUID(int=self.chance.getrandbits(128), version=4))

    def copy(self, told: dict, day: date) -> None:
        """One batch with all its rows."""
        old = told["batch"][0]
        moved = day - date.fromisoformat(old["day"])
        ids = {row["id"]: self.new_id() for table in ("batch", *OF_BATCH) for row in told[table] if "id" in row}
        ids |= {row["id"]: self.new_id() for row in told["correction"]}
        new = {table: [renamed(row, ids, moved) for row in rows] for table, rows in told.items()}
        # Nobody had asked for checks then, nor changed the burrs; but a first check that failed looks back on all.
        state = "doubted" if any(sample["meter_id"] in self.doubted for sample in new["sample"]) else None
        for row in (*new["part_result"], *new["batch_result"]):
            row["meter_state"], row["grinder_state"] = state, None
        # Nobody was signed off then, and the countersignatures are not told again.
        for row in new["batch_result"]:
            row["hands_state"] = "waiting" if any(s["role"] == "trainee" for s in new["sample"]) else None
        batch = new["batch"][0]
        batch["day"], batch["code"] = day.isoformat(), f"{day:%m%d}-{old['code'][-2:]}"
        for table, rows in new.items():
            self.rows.setdefault(table, []).extend(rows)
        self.note("batch", batch, {"batch": [batch]})
        for sample in new["sample"]:
            tree = {"sample": [sample]}
            for table in ("reading", "step_done"):
                tree[table] = [row for row in new[table] if row["sample_id"] == sample["id"]]
            self.note("sample", sample, tree, f"{sample['kind']} sample stored")
        for row in new["correction"]:
            self.note("correction", row, {"correction": [row]})
        for row in new["decision"]:
            self.note("decision", row, {"decision": [row]}, f"decision: {row['what']}")

    def note(self, kind: str, row: dict, tree: dict, action: str = "") -> None:
        """The ledger's line about a record."""
        content = {table: [{k: v for k, v in r.items() if v is not None} for r in rows] for table, rows in tree.items()}
        self.seq += 1
        line = {
            "seq": self.seq,
            "at": row["received_at"],
            "person_id": row["person_id"],
            "tablet_id": row["tablet_id"],
            "action": action or ACTIONS[kind],
            "kind": kind,
            "record_id": row["id"],
            "content_hash": ledger.hashlib.sha256(ledger.canonical(content)).hexdigest(),
            "previous_hash": self.hash,
        }
        self.hash = line["hash"] = ledger.line_hash(line)
        self.rows.setdefault("ledger", []).append(line)

    def flush(self) -> None:
        """Insert what has been gathered, parents before children."""
        for table in ("batch", "sample", "reading", "step_done", "correction", "decision", "part_result",
                      "batch_result", "ledger"):  # fmt: skip
            rows = self.rows.pop(table, [])
            if rows:
                names = list(rows[0])
                marks = ", ".join("?" for _name in names)
                self.db.conn.executemany(
                    f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})", [list(row.values()) for row in rows]
                )

    def add_spread(self) -> None:
        """What all the copied samples add to the running sums."""
        names = spreads.SUMS
        added = ", ".join(f"{name} = {name} + ?" for name in names)
        with write(self.db):
            for key, sums in self.spread.items():
                self.db.conn.execute(
                    f"UPDATE method_spread SET {added} WHERE method_version_id = ? AND scale_id = ?", (*sums, *key)
                )


def renamed(row: dict, ids: dict[str, str], moved: timedelta) -> dict:
    """The row under its new ids, its times moved by whole days."""
    new = dict(row)
    for name in ("id", "batch_id", "sample_id"):
        if name in new:
            new[name] = ids[new[name]]
    for name in TIMES:
        if name in new:
            text = new[name]
            new[name] = (date.fromisoformat(text[:10]) + moved).isoformat() + text[10:]
    return new
