"""Files of older batches: kept as a draft while somebody looks at them, then taken in as a whole or not at all."""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cached_property
from typing import Literal, NamedTuple

from sqlite_utils import Database

from . import ledger
from .connect import one, write
from .errors import NotFound, StoreError
from .imported import Bringing, Way
from .records import insert
from .times import to_text
from .who import Who

KEPT = timedelta(days=1)
MOST_DRAFTS = 10
# Batches and samples get their ids from what they hold, so that a file that is taken in twice makes each once.
SPACE = uuid.UUID("6c1d3c0e-8a55-4f0e-9f0b-0d5f6a3f2b11")

Standing = Literal["new", "known", "other"]


class Changed(StoreError):
    """The bench is another one than when the numbers were shown: nothing was taken in."""


class TooMany(StoreError):
    """There are as many drafts as may be."""


@dataclass(frozen=True)
class Draft:
    """A file that is being looked at: its bytes, and what was chosen so far (as JSON's objects)."""

    id: str
    file_name: str
    content: bytes
    choices: dict
    person_id: str
    person_name: str
    made_at: str


@dataclass(frozen=True)
class Run:
    """A file that was taken in. columns: what was chosen, as JSON; rows: how many it had that were not empty."""

    id: str
    file_name: str
    sha256: str
    columns: str
    rows: int
    taken: int
    known: int
    refused: int
    person_id: str
    person_name: str
    tablet_id: str
    made_at: str
    received_at: str

    @property
    def chosen(self) -> dict:
        """What was chosen for it."""
        return json.loads(self.columns)


class Read(NamedTuple):
    """A reading: hundredths of a scale unit, and what stood in the file."""

    value: int
    typed: str


@dataclass(frozen=True)
class NewRow:
    """A row of a file as a batch with its readings. Units as in batches.NewBatch; roasted_at, day: stored text."""

    no: int
    code: str
    product_id: str
    machine_id: str
    roasted_at: str
    day: str
    lot: str = ""
    green_g: int | None = None
    roasted_g: int | None = None
    drop_decicelsius: int | None = None
    total_s: int | None = None
    development_s: int | None = None
    note: str = ""
    readings: dict[str, tuple[Read, ...]] = field(default_factory=dict)

    @property
    def facts(self) -> dict:
        """The batch's own columns."""
        return {name: getattr(self, name) for name in FACTS}

    @cached_property
    def batch_id(self) -> str:
        """Made of the content: the same row has the same one, in whatever style its numbers were written."""
        read = {kind: [one.value for one in reads] for kind, reads in self.readings.items() if reads}
        return str(uuid.uuid5(SPACE, json.dumps([self.facts, read], sort_keys=True, ensure_ascii=False)))


FACTS = (
    "code", "product_id", "machine_id", "roasted_at", "lot", "green_g", "roasted_g", "drop_decicelsius", "total_s",
    "development_s", "note",
)  # fmt: skip


def add_draft(
    db: Database, draft_id: str, file_name: str, content: bytes, choices: dict, who: Who, now: datetime
) -> None:
    """Keep a file. TooMany: others have to be given up first. What is older than a day goes."""
    with write(db):
        forget_old(db, now)
        if one(db, "SELECT count(*) AS n FROM import_draft")["n"] >= MOST_DRAFTS:
            raise TooMany
        row = {
            "id": draft_id, "file_name": file_name, "content": content, "choices": json.dumps(choices),
            "person_id": who.person_id, "made_at": to_text(now),
        }  # fmt: skip
        insert(db, "import_draft", row)


def forget_old(db: Database, now: datetime) -> None:
    """Remove the drafts that are older than a day."""
    limit = to_text(now - KEPT)
    if one(db, "SELECT 1 FROM import_draft WHERE made_at < ? LIMIT 1", (limit,)):
        with write(db):
            db.conn.execute("DELETE FROM import_draft WHERE made_at < ?", (limit,))


_DRAFT = (
    "SELECT d.id, d.file_name, {content} AS content, d.choices, d.person_id, p.name AS person_name, d.made_at"
    " FROM import_draft d JOIN person p ON p.id = d.person_id"
)


NO_BYTES = "x''"


def get_draft(db: Database, draft_id: str) -> Draft:
    """A draft with its file. NotFound: it was taken in, given up, or is gone."""
    row = one(db, f"{_DRAFT.format(content='d.content')} WHERE d.id = ?", (draft_id,))
    if row is None:
        raise NotFound(draft_id)
    return Draft(**row | {"choices": json.loads(row["choices"])})


def list_drafts(db: Database) -> list[Draft]:
    """Every draft, the newest first, without the files' bytes."""
    rows = db.query(f"{_DRAFT.format(content=NO_BYTES)} ORDER BY d.made_at DESC, d.rowid DESC")
    return [Draft(**row | {"choices": json.loads(row["choices"])}) for row in rows]


def keep_choices(db: Database, draft_id: str, choices: dict) -> None:
    """Keep what was chosen. NotFound: the draft is gone."""
    with write(db):
        done = db.conn.execute("UPDATE import_draft SET choices = ? WHERE id = ?", (json.dumps(choices), draft_id))
        if done.rowcount != 1:
            raise NotFound(draft_id)


def give_up(db: Database, draft_id: str) -> None:
    """Remove a draft; nothing, if it is gone already."""
    with write(db):
        db.conn.execute("DELETE FROM import_draft WHERE id = ?", (draft_id,))


_RUN = "SELECT r.*, p.name AS person_name FROM import_run r JOIN person p ON p.id = r.person_id"


def find_run(db: Database, run_id: str) -> Run | None:
    """A file that was taken in, or None."""
    row = one(db, f"{_RUN} WHERE r.id = ?", (run_id,))
    return Run(**row) if row else None


def list_runs(db: Database, most: int = 50) -> list[Run]:
    """The files that were taken in, the newest first."""
    return [Run(**row) for row in db.query(f"{_RUN} ORDER BY r.received_at DESC, r.rowid DESC LIMIT ?", (most,))]


def standing(db: Database, new: NewRow) -> Standing:
    """new; known: the bench has it, from a file or with the same content; other: it has that code on that day with
    other content."""
    asked = (new.batch_id, new.code, new.day)
    there = list(db.query("SELECT * FROM batch WHERE id = ? OR (code = ? AND day = ?)", asked))
    if not there:
        return "new"
    return "known" if any(row["id"] == new.batch_id or _same(db, row, new) for row in there) else "other"


def _same(db: Database, batch: dict, new: NewRow) -> bool:
    """Whether a batch has the facts of a row, and the readings of each kind that the row has."""
    if any(batch[name] != value for name, value in new.facts.items()):
        return False
    read: dict[str, list[int]] = {}
    for row in db.query(
        "SELECT s.kind, r.value FROM sample s JOIN reading r ON r.sample_id = s.id WHERE s.batch_id = ?"
        " ORDER BY s.rowid, r.fill_no, r.no",
        (batch["id"],),
    ):
        read.setdefault(row["kind"], []).append(row["value"])
    given = {kind: [one.value for one in reads] for kind, reads in new.readings.items() if reads}
    return all(read.get(kind) == values for kind, values in given.items())


@dataclass(frozen=True)
class NewRun:
    """What is to be taken in, and how its numbers were read: kind -> Way. columns: what was chosen."""

    id: str
    file_name: str
    sha256: str
    columns: dict
    ways: dict[str, Way]


class Counts(NamedTuple):
    """How many rows of a file are taken in, known already, refused."""

    taken: int
    known: int
    refused: int


def take_in(
    db: Database, run: NewRun, rows: Iterable[NewRow | None], expected: Counts, who: Who, now: datetime
) -> Run:
    """Take a file in: its run, its batches with their samples, their ledger lines, and all that is worked out from
    them, in one transaction; the draft of the same id goes. rows: None for each that is refused.

    The same run again gives the same run. Changed: the rows do not come to `expected` any more. NotFound: a method
    version or meter is unknown.
    """
    with write(db):
        if there := find_run(db, run.id):
            return there
        # The run is written last, since only then its rows are counted.
        db.conn.execute("PRAGMA defer_foreign_keys=ON")
        lines = ledger.Lines(db, now, who.person_id, who.tablet_id)
        bringing = Bringing(db, run.id, run.ways, lines, who, now)
        found = {"new": 0, "known": 0, "other": 0}
        for new in rows:
            word = standing(db, new) if new else "other"
            found[word] += 1
            if word == "new":
                bringing.bring(new)
        if Counts(found["new"], found["known"], found["other"]) != expected or not found["new"]:
            raise Changed(run.id)
        _add_run(db, run, expected, lines, who, now)
        bringing.finish()
        give_up(db, run.id)
    return find_run(db, run.id)


def _add_run(db: Database, run: NewRun, counts: Counts, lines: ledger.Lines, who: Who, now: datetime) -> None:
    at = to_text(now)
    row = {
        "id": run.id, "file_name": run.file_name, "sha256": run.sha256,
        "columns": json.dumps(run.columns, sort_keys=True, ensure_ascii=False), "rows": sum(counts),
        **counts._asdict(), "person_id": who.person_id, "tablet_id": who.tablet_id, "made_at": at, "received_at": at,
    }  # fmt: skip
    insert(db, "import_run", row)
    lines.add("file taken in", "import_run", run.id, ledger.content_hash(db, "import_run", run.id))


