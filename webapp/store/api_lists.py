"""Lists for a program, page by page, in the order of storing.

That order never changes, and nothing is ever taken out of it: a page begins behind the last row of the one before, so
that nothing is repeated and nothing is left out, whatever is stored meanwhile. Where a list ends is fixed when it
begins.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from sqlite_utils import Database

from . import api_changes, api_sets, ledger
from .connect import one
from .errors import NotFound


@dataclass(frozen=True)
class Place:
    """Where a list goes on. after: behind which row; until: the last row of the list; seq: the ledger's newest line
    when the list began."""

    after: int
    until: int
    seq: int


@dataclass(frozen=True)
class Asked:
    """What batches: of a product, of days (`2026-05-14`), changed since a line of the ledger. None: any."""

    product_id: str | None = None
    since: str | None = None
    until: str | None = None
    changed_since: int | None = None


@dataclass(frozen=True)
class Page:
    """items: as they are sent; next: where the list goes on, or None at its end."""

    items: list[dict]
    next: Place | None


def begin(db: Database, table: str) -> Place:
    """The beginning of a list over a table of this package. The ledger is looked at first: what is stored in the next
    moment may come twice, now and as a change, and never not at all."""
    seq = ledger.head(db)[0]
    return Place(0, one(db, f"SELECT coalesce(max(rowid), 0) AS no FROM {table}")["no"], seq)


def cut(found: list[tuple[int, dict]], place: Place, limit: int) -> Page:
    """The page of rows with their places, of which there is one more than fits if the list goes on."""
    shown = found[:limit]
    more = len(found) > limit
    return Page([item for _no, item in shown], replace(place, after=shown[-1][0]) if more else None)


def list_batches(db: Database, asked: Asked, place: Place, limit: int) -> Page:
    """Batches with their results."""
    conditions = ["x.rowid > :after", "x.rowid <= :until"]
    values = {"after": place.after, "until": place.until, "most": limit + 1}
    for name, column, sign in (("product_id", "product_id", "="), ("since", "day", ">="), ("until", "day", "<=")):
        if (value := getattr(asked, name)) is not None:
            conditions.append(f"x.{column} {sign} :asked_{name}")
            values[f"asked_{name}"] = value
    changed = asked.changed_since
    if changed is not None and not api_changes.everything_changed(db, changed, place.seq):
        conditions.append(api_changes.CHANGED)
        values |= {"changed": changed, "seq": place.seq}
    order = f"WHERE {' AND '.join(conditions)} ORDER BY x.rowid LIMIT :most"
    page = cut(api_sets.fetch(db, api_sets.BATCHES, order, values, "x.rowid"), place, limit)
    add_results(db, page.items)
    return page


def add_results(db: Database, batches: list[dict]) -> None:
    """Put `results` into batches: one a kind that was read."""
    by_id = {batch["id"]: batch for batch in batches}
    for batch in batches:
        batch["results"] = []
    where = f"WHERE x.batch_id IN ({api_sets.marks(by_id)}) ORDER BY x.rowid"
    for batch_id, result in api_sets.fetch(db, api_sets.RESULTS, where, list(by_id), "x.batch_id"):
        by_id[batch_id]["results"].append(result)


def get_batch(db: Database, batch_id: str) -> dict:
    """One batch with all that was read, corrected and decided. NotFound if there is none."""
    found = api_sets.fetch(db, api_sets.BATCHES, "WHERE x.id = ?", (batch_id,))
    if not found:
        raise NotFound(batch_id)
    batch = found[0][1]
    add_results(db, [batch])
    samples = {sample["id"]: sample for sample in _of(db, api_sets.SAMPLES, "x.batch_id = ?", batch_id)}
    for sample in samples.values():
        sample["readings"] = []
    where = "WHERE s.batch_id = ? ORDER BY x.sample_id, x.fill_no, x.no"
    for sample_id, reading in api_sets.fetch(db, api_sets.READINGS, where, (batch_id,), "x.sample_id"):
        samples[sample_id]["readings"].append(reading)
    return batch | {
        "samples": list(samples.values()),
        "decisions": _of(db, api_sets.DECISIONS, "x.batch_id = ?", batch_id),
        "reading_corrections": _of(db, api_sets.CORRECTIONS, "s.batch_id = ?", batch_id),
        "sample_moves": _of(db, api_sets.MOVES, "? IN (x.from_batch_id, x.to_batch_id)", batch_id),
        "fact_corrections": _of(db, api_sets.FACTS, "x.batch_id = ?", batch_id),
    }


def _of(db: Database, wanted: api_sets.ExportSet, condition: str, batch_id: str) -> list[dict]:
    rows = api_sets.fetch(db, wanted, f"WHERE {condition} ORDER BY x.rowid", (batch_id,))
    return [row for _no, row in rows]


def list_waiting(db: Database, place: Place, limit: int) -> Page:
    """The batches that wait for somebody, and why."""
    order = "WHERE x.rowid > ? AND x.rowid <= ? ORDER BY x.rowid LIMIT ?"
    found = api_sets.fetch(db, api_sets.WAITING, order, (place.after, place.until, limit + 1), "x.rowid")
    return cut(found, place, limit)
