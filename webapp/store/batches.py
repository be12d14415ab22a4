"""Batches: one roast of one product on one machine."""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields, replace
from datetime import datetime

from sqlite_utils import Database

from webapp.measure.response import loss_percent

from . import ledger
from .connect import one, write
from .errors import AlreadyThere, NotFound
from .site import get_site
from .times import from_text, local_day, to_text
from .who import TYPED, Sent, Who


@dataclass(frozen=True)
class NewBatch:
    """What the person entered. Masses in grams, temperature in tenths of a degree Celsius, times in seconds;
    `roasted_at` and `made_at` (by the tablet's clock) are stored UTC text."""

    id: str
    code: str
    product_id: str
    machine_id: str
    lot: str
    green_g: int | None
    roasted_g: int | None
    drop_decicelsius: int | None
    total_s: int | None
    development_s: int | None
    note: str
    roasted_at: str
    made_at: str


@dataclass(frozen=True)
class Batch(NewBatch):
    """A stored batch, with the names that its ids stand for; `sent_by` to `tablet_seq` as in who.Sent.

    blend: 1 if it was mixed from other batches; import_id, import_row: the file and row it was taken from, if it was;
    import_file, import_by: that file's name, and who took it in.
    """

    day: str
    person_id: str
    tablet_id: str
    received_at: str
    sent_by: str | None
    claim_id: str | None
    tablet_clock: str | None
    tablet_seq: int | None
    blend: int | None
    import_id: str | None
    import_row: int | None
    product_name: str
    product_short: str
    machine_name: str
    person_name: str
    tablet_name: str
    sent_by_name: str | None
    import_file: str | None
    import_by: str | None

    @property
    def roast_loss(self) -> float | None:
        """(green - roasted) / green in percent; None unless both masses are known."""
        if self.green_g is None or self.roasted_g is None:
            return None
        return loss_percent(self.green_g, self.roasted_g)


SELECT = (
    "SELECT b.*, p.name AS product_name, p.short AS product_short, m.name AS machine_name, w.name AS person_name,"
    " t.name AS tablet_name, x.name AS sent_by_name, ir.file_name AS import_file, iw.name AS import_by"
    " FROM batch b JOIN product p ON p.id = b.product_id"
    " JOIN machine m ON m.id = b.machine_id JOIN person w ON w.id = b.person_id JOIN tablet t ON t.id = b.tablet_id"
    " LEFT JOIN person x ON x.id = b.sent_by LEFT JOIN import_run ir ON ir.id = b.import_id"
    " LEFT JOIN person iw ON iw.id = ir.person_id"
)
NEW_FIELDS = tuple(field.name for field in fields(NewBatch))


def add_batch(
    db: Database, new: NewBatch, who: Who, now: datetime, sent: Sent = TYPED, *, blend: bool = False
) -> Batch:
    """Store a batch once. The same id with the same content again gives the same batch. `sent`: how it came; `blend`:
    it is mixed from others (blends.py).

    AlreadyThere: the id is taken by other content; nothing is overwritten.
    """
    with write(db):
        there = one(db, "SELECT * FROM batch WHERE id = ?", (new.id,))
        if there is None:
            day = local_day(from_text(new.roasted_at), get_site(db).time_zone)
            row = asdict(new) | {
                "day": day,
                "person_id": who.person_id,
                "tablet_id": who.tablet_id,
                "received_at": to_text(now),
            }
            row |= sent.columns() | ({"blend": 1} if blend else {})
            names = ", ".join(row)
            db.conn.execute(f"INSERT INTO batch ({names}) VALUES ({', '.join(':' + n for n in row)})", row)
            ledger.note(db, "batch started", "batch", new.id, now, who.person_id, who.tablet_id)
        else:
            first = there | first_facts(db, new.id)
            if any(first[name] != getattr(new, name) for name in NEW_FIELDS if name != "made_at"):
                raise AlreadyThere(new.id)
        return get_batch(db, new.id)


def first_facts(db: Database, batch_id: str) -> dict[str, str | int | None]:
    """fact -> as it was when the batch was stored, of those that were corrected since."""
    # Newest first: in the dict the oldest one stands.
    rows = db.query(
        "SELECT f.fact, f.before FROM batch_correction c JOIN batch_correction_fact f ON f.correction_id = c.id"
        " WHERE c.batch_id = ? ORDER BY c.rowid DESC",
        (batch_id,),
    )
    return {row["fact"]: row["before"] for row in rows}


def as_stored(db: Database, batch: Batch) -> Batch:
    """The batch as it was when it was stored, whatever was corrected since: by this a tablet knows its own again."""
    first = first_facts(db, batch.id)
    for fact, table in (("product_id", "product"), ("machine_id", "machine")):
        if fact in first:
            name = f"{table}_name"
            first[name] = one(db, f"SELECT name FROM {table} WHERE id = ?", (first[fact],))["name"]
    return replace(batch, **first)


def get_batch(db: Database, batch_id: str) -> Batch:
    """One batch; NotFound if there is none."""
    row = one(db, f"{SELECT} WHERE b.id = ?", (batch_id,))
    if row is None:
        raise NotFound(batch_id)
    return Batch(**row)


def find_by_code(db: Database, code: str) -> list[Batch]:
    """Batches with exactly this code, newest first (two tablets without a network may have chosen the same)."""
    return [Batch(**row) for row in db.query(f"{SELECT} WHERE b.code = ? ORDER BY b.roasted_at DESC LIMIT 5", (code,))]


def search(db: Database, text: str, most: int = 40) -> list[Batch]:
    """Batches whose code begins with `text` (any, if empty), newest first."""
    if not text:
        return [Batch(**r) for r in db.query(f"{SELECT} ORDER BY b.day DESC, b.roasted_at DESC LIMIT ?", (most,))]
    past = text + "\U0010ffff"
    return [
        Batch(**row)
        for row in db.query(
            f"{SELECT} WHERE b.code >= ? AND b.code < ? ORDER BY b.roasted_at DESC LIMIT ?",
            (text, past, most),
        )
    ]


def list_day(db: Database, day: str) -> list[Batch]:
    """The batches of a day (`2026-05-14`), newest first."""
    return [Batch(**row) for row in db.query(f"{SELECT} WHERE b.day = ? ORDER BY b.roasted_at DESC", (day,))]


@dataclass(frozen=True)
class Outline:
    """What a tablet needs to go on with a batch: no reading, no result; `read`: the kinds that have a sample;
    `by_trainee`: whether a trainee has read one."""

    id: str
    code: str
    product_id: str
    machine_id: str
    day: str
    roasted_at: str
    read: tuple[str, ...]
    by_trainee: bool


def outlines(db: Database, since: str, most: int = 200) -> list[Outline]:
    """The newest batches of the days from `since` (`2026-05-14`) on, newest first."""
    rows = db.query(
        "SELECT b.id, b.code, b.product_id, b.machine_id, b.day, b.roasted_at,"
        " (SELECT group_concat(DISTINCT s.kind) FROM sample s WHERE s.batch_id = b.id) AS read,"
        " EXISTS (SELECT 1 FROM sample s WHERE s.batch_id = b.id AND s.role = 'trainee') AS by_trainee"
        " FROM batch b WHERE b.day >= ? ORDER BY b.day DESC, b.roasted_at DESC LIMIT ?",
        (since, most),
    )
    return [
        Outline(**row | {
            "read": tuple(sorted(filter(None, (row["read"] or "").split(",")))), "by_trainee": bool(row["by_trainee"]),
        }) for row in rows
    ]  # fmt: skip


def propose_code(db: Database, day: str) -> str:
    """Date and running number, `1125-04`: the first number not used that day."""
    stem = f"{day[5:7]}{day[8:10]}-"
    used = {row["code"] for row in db.query("SELECT code FROM batch WHERE day = ?", (day,))}
    number = 1
    while f"{stem}{number:02d}" in used:
        number += 1
    return f"{stem}{number:02d}"


def last_facts(db: Database, tablet_id: str) -> dict | None:
    """Machine and product of the newest batch from this tablet: what the next one most likely has too."""
    return one(
        db,
        "SELECT machine_id, product_id, lot FROM batch WHERE day >= (SELECT max(day) FROM batch) AND tablet_id = ?"
        " AND blend IS NULL ORDER BY roasted_at DESC LIMIT 1",
        (tablet_id,),
    )
