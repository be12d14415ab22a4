"""What a program is given of a batch: the columns of the exports, with the ids that join them.

The SELECTs are those of export_sets.py, so that a file and this interface cannot say different things.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from sqlite_utils import Database

from .export_sets import BY_NAME, Column, ExportSet, Type

_BY = "JOIN person w ON w.id = x.person_id JOIN tablet t ON t.id = x.tablet_id"
_MADE: dict[str, tuple[Type, str]] = {
    "person": ("text", "w.name"), "tablet": ("text", "t.name"), "made_at": ("time", "x.made_at"),
    "received_at": ("time", "x.received_at"),
}  # fmt: skip


def _with(one: ExportSet, more: dict[str, tuple[Type, str]], without: Sequence[str] = ()) -> ExportSet:
    """A set with columns added behind its first one, and without those that stand above it in the answer."""
    kept = [(c, sql) for c, sql in zip(one.columns, one.parts, strict=True) if c.name not in (*without, *more)]
    added = [(Column(name, kind), sql) for name, (kind, sql) in more.items()]
    listed = [*kept[:1], *added, *kept[1:]]
    return replace(one, columns=tuple(c for c, _sql in listed), parts=tuple(sql for _c, sql in listed))


def _new(name: str, source: str, columns: dict[str, tuple[Type, str]], key: str = "id") -> ExportSet:
    made = tuple(Column(column, kind) for column, (kind, _sql) in columns.items())
    return ExportSet(name, source, made, tuple(sql for _kind, sql in columns.values()), (key,), {})


BATCHES = _with(BY_NAME["batches"], {"product_id": ("text", "x.product_id"), "machine_id": ("text", "x.machine_id")})
RESULTS = _with(
    BY_NAME["results"],
    {"scale_id": ("text", "x.scale_id"), "target_version_id": ("text", "x.target_version_id")},
    ("batch_id", "batch", "product", "day"),
)
SAMPLES = _with(
    BY_NAME["samples"],
    {
        "meter_id": ("text", "x.meter_id"), "method_version_id": ("text", "x.method_version_id"),
        "target_version_id": ("text", "x.target_version_id"), "grinder_setting_id": ("text", "x.grinder_setting_id"),
    },
    ("batch_id", "batch"),
)  # fmt: skip
READINGS = _with(BY_NAME["readings"], {}, ("sample_id", "batch", "kind", "made_at"))
CORRECTIONS = _with(BY_NAME["corrections"], {}, ("batch",))
DECISIONS = _with(BY_NAME["decisions"], {}, ("batch_id", "batch", "product"))
MOVES = _new(
    "moves", f"sample_move x {_BY}",
    {
        "id": ("text", "x.id"), "sample_id": ("text", "x.sample_id"), "from_batch_id": ("text", "x.from_batch_id"),
        "to_batch_id": ("text", "x.to_batch_id"), "reason": ("text", "x.reason"), **_MADE,
    },
)  # fmt: skip
# What a fact was and is differs in type from fact to fact: as text here, in the units in which it is stored.
FACTS = _new(
    "facts",
    "batch_correction_fact f JOIN batch_correction x ON x.id = f.correction_id " + _BY,
    {
        "correction_id": ("text", "x.id"), "fact": ("text", "f.fact"), "before": ("text", "CAST(f.before AS TEXT)"),
        "after": ("text", "CAST(f.after AS TEXT)"), "reason": ("text", "x.reason"), **_MADE,
    },
    key="correction_id",
)
WAITING = _new(
    "waiting",
    "batch_waiting q JOIN batch x ON x.id = q.batch_id JOIN product p ON p.id = x.product_id"
    " LEFT JOIN batch_result r ON r.batch_id = x.id",
    {
        "batch_id": ("text", "x.id"), "batch": ("text", "x.code"), "product_id": ("text", "x.product_id"),
        "product": ("text", "p.name"), "day": ("date", "x.day"), "roasted_at": ("time", "x.roasted_at"),
        "why": ("text", "q.why"), "verdict": ("text", "r.verdict"), "chance": ("number", "r.chance"),
    },
    key="batch_id",
)
CHECKS = _with(BY_NAME["meter_checks"], {"meter_id": ("text", "x.meter_id")}, ("meter",))


def fetch(
    db: Database, one: ExportSet, conditions: str, values: Sequence | dict = (), before: str = ""
) -> list[tuple[object, dict]]:
    """Rows as (the SQL of `before`, {column: value}), yes and no as booleans. The SQL comes from this package only."""
    listed = one.select.removeprefix("SELECT ")
    rows = db.conn.execute(f"SELECT {before or 'NULL'}, {listed} {conditions}", values).fetchall()
    names = [column.name for column in one.columns]
    flags = [column.name for column in one.columns if column.type == "yes_no"]
    found = []
    for first, *cells in rows:
        item = dict(zip(names, cells, strict=True))
        for name in flags:
            item[name] = None if item[name] is None else bool(item[name])
        found.append((first, item))
    return found


def marks(values: Iterable) -> str:
    """A question mark for each value."""
    return ", ".join("?" for _value in values)
