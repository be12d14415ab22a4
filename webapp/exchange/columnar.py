"""A set as a Parquet file, in groups of rows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from itertools import islice
from pathlib import Path

from webapp.store import times
from webapp.store.export_sets import Column

GROUP = 10_000


def write(
    path: Path, columns: Sequence[Column], rows: Iterable[Sequence], more: dict[bytes, bytes] | None = None
) -> None:
    """Write the file, a group of rows at a time: the memory does not grow with it. Times are UTC, to milliseconds.

    more: what else is written beside the columns' names and types.
    """
    import pyarrow as pa
    from pyarrow import parquet

    types = {
        "text": pa.string(), "integer": pa.int64(), "number": pa.float64(), "yes_no": pa.bool_(), "date": pa.date32(),
        "time": pa.timestamp("ms", tz="UTC"),
    }  # fmt: skip
    schema = pa.schema([(column.name, types[column.type]) for column in columns], metadata=more)
    source = iter(rows)
    with parquet.ParquetWriter(path, schema, compression="zstd") as file:
        while group := list(islice(source, GROUP)):
            arrays = [
                pa.array([_value(row[no], column.type) for row in group], types[column.type])
                for no, column in enumerate(columns)
            ]
            file.write_table(pa.Table.from_arrays(arrays, schema=schema))


def _value(value: object, kind: str) -> object:
    if value is None:
        return None
    if kind == "yes_no":
        return bool(value)
    if kind == "time":
        return times.from_text(value)
    return date.fromisoformat(value) if kind == "date" else value
