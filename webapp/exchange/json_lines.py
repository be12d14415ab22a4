"""A set as JSON lines: one object a row, in UTF-8, nothing rounded."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence

from webapp.store.export_sets import Column

PIECE = 64 * 1024


def written(columns: Sequence[Column], rows: Iterable[Sequence]) -> Iterator[bytes]:
    """The file in pieces. A value that is not there is null; yes and no are true and false."""
    names = [column.name for column in columns]
    yes_no = [no for no, column in enumerate(columns) if column.type == "yes_no"]
    gathered, size = [], 0
    for row in rows:
        values = list(row)
        for no in yes_no:
            values[no] = None if values[no] is None else bool(values[no])
        line = json.dumps(dict(zip(names, values, strict=True)), ensure_ascii=False, separators=(",", ":")) + "\n"
        gathered.append(line)
        size += len(line)
        if size > PIECE:
            yield "".join(gathered).encode()
            gathered, size = [], 0
    yield "".join(gathered).encode()
