"""What several processes do to one database at once. Each is a process of its own, with either SQLite engine."""

from __future__ import annotations

import json
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from webapp.store import batches, connect, corrections, decisions, new_samples
from webapp.store.batches import NewBatch
from webapp.store.errors import StoreError
from webapp.store.new_samples import NewReading, NewSample
from webapp.store.times import to_text
from webapp.store.who import Who

NOW = datetime(2026, 5, 14, 9, 0, tzinfo=UTC)
HOW_MANY = 4


def meet(path: Path, phase: str, number: int) -> None:
    """Wait until all are here: without a common start, the first would be done before the last begins."""
    (path.parent / f"{phase}-{number}").touch()
    end = time.monotonic() + 60
    while len(list(path.parent.glob(f"{phase}-*"))) < HOW_MANY:
        if time.monotonic() > end:
            raise TimeoutError(phase)
        time.sleep(0.002)


def count_up(db, times: int) -> None:
    """Read a number, then write it plus one: the pattern that loses updates without a lock from the start."""
    for _ in range(times):
        with connect.write(db):
            n = connect.one(db, "SELECT n FROM counter")["n"]
            db.conn.execute("UPDATE counter SET n = ?", (n + 1,))


def batch(ids: dict, batch_id: str, code: str) -> NewBatch:
    """A batch; the same id and code give the same content."""
    at = to_text(NOW)
    return NewBatch(
        batch_id, code, ids["product"], ids["machine"], "", 12000, 10200, None, None, None, "", at, at
    )  # fmt: skip


def same_again(db, ids: dict, who: Who, n: int) -> None:
    """Store what the other processes store, too: one batch with its sample, correction and decision."""
    batch_id, sample_id = f"same-batch-{n}", f"same-sample-{n}"
    batches.add_batch(db, batch(ids, batch_id, f"S-{n}"), who, NOW)
    readings = tuple(NewReading(1, no, value, f"{value / 100}") for no, value in enumerate((5620, 5630, 5620), 1))
    sample = NewSample(
        sample_id, batch_id, "whole", ids["version"], ids["meter"], "page", "", to_text(NOW), readings, ()
    )
    new_samples.add_sample(db, sample, who, NOW)
    corrections.add_correction(db, f"same-correction-{n}", sample_id, 1, 2, 5620, "Mistyped.", who, NOW)
    decisions.add_decision(db, f"same-decision-{n}", batch_id, "hold", "Look again.", who, NOW)


def race(path: Path, number: int, ids: dict, counts: int, posts: int) -> None:
    """One process's part; prints what went wrong, as JSON."""
    trouble = []
    db = connect.connect(path)
    who = Who(ids["person"], "roaster", ids["tablet"])
    try:
        meet(path, "count", number)
        count_up(db, counts)
        meet(path, "own", number)
        for n in range(posts):
            batches.add_batch(db, batch(ids, f"own-{number}-{n}", f"O-{number}-{n}"), who, NOW + timedelta(seconds=n))
        meet(path, "same", number)
        for n in range(posts):
            same_again(db, ids, who, n)
        meet(path, "clash", number)
        for n in range(posts):
            try:
                batches.add_batch(db, batch(ids, f"clash-{n}", f"C-{n}-by-{number}"), who, NOW)
            except StoreError as refusal:
                trouble.append(type(refusal).__name__)
    except Exception as error:
        trouble.append(repr(error))
    db.close()
    print(json.dumps({"engine": connect.engine_version(), "trouble": trouble}))


if __name__ == "__main__":
    race(Path(sys.argv[1]), int(sys.argv[2]), json.loads(sys.argv[3]), int(sys.argv[4]), int(sys.argv[5]))
