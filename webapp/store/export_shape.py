"""The shape of what can be taken out: a set of rows with columns of plain names, which is one SELECT; and its rows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from sqlite_utils import Database

Type = Literal["text", "integer", "number", "yes_no", "date", "time"]
CHUNK = 2000


@dataclass(frozen=True)
class Column:
    """name: as it stands in the first line of a file; unique in its set."""

    name: str
    type: Type


@dataclass(frozen=True)
class ExportSet:
    """name: of the file and the view; source: FROM and what follows, over the main table `x`; columns with their SQL.

    key: the columns that tell one row from another; points: column -> (set, column) it refers to; day: the SQL of the
    calendar day or time by which a stretch is cut out, or '' where the set is always whole.
    """

    name: str
    source: str
    columns: tuple[Column, ...]
    parts: tuple[str, ...]
    key: tuple[str, ...]
    points: dict[str, tuple[str, str]]
    day: str = ""

    @property
    def select(self) -> str:
        """The whole SELECT, without an order."""
        listed = ", ".join(f"{sql} AS {c.name}" for c, sql in zip(self.columns, self.parts, strict=True))
        return f"SELECT {listed} FROM {self.source}"


def make_set(
    name: str, source: str, columns: dict[str, tuple[Type, str]], key: str = "id",
    points: dict[str, str] | None = None, day: str = "",
) -> ExportSet:  # fmt: skip
    made = tuple(Column(column, kind) for column, (kind, _sql) in columns.items())
    to = {column: tuple(there.split(".")) for column, there in (points or {}).items()}
    parts = tuple(sql for _kind, sql in columns.values())
    return ExportSet(name, source, made, parts, tuple(key.split()), to, day)


def rows(db: Database, wanted: ExportSet, since: str = "", until: str = "") -> Iterator[tuple]:
    """The rows in the order of storing, a chunk at a time: the memory does not grow with them, and no lock lasts.

    since, until: first and last calendar day (`2026-05-14`), '' for no end; without meaning for a set without a day.
    """
    after, conditions, asked = 0, ["x.rowid > :after"], {"most": CHUNK, "since": since, "until": until}
    if wanted.day and since:
        conditions.append(f"{wanted.day} >= :since")
    if wanted.day and until:
        conditions.append(f"{wanted.day} <= :until")
    head, source = wanted.select.split(" FROM ", 1)
    joins = f"SELECT x.rowid, {head.removeprefix('SELECT ')} FROM {source}"
    sql = f"{joins} WHERE {' AND '.join(conditions)} ORDER BY x.rowid LIMIT :most"
    while True:
        chunk = db.conn.execute(sql, asked | {"after": after}).fetchall()
        for row in chunk:
            yield tuple(row)[1:]
        if len(chunk) < CHUNK:
            return
        after = chunk[-1][0]
