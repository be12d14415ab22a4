"""The answer that an export is: streamed where its form allows it, else made in a file that is gone once it is sent."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime
from pathlib import Path

from flask import Response
from sqlite_utils import Database

from webapp.exchange import columnar, csv_files, json_lines, package, workbook
from webapp.exchange.asked import WHOLE, Asked
from webapp.store import connect, export_sets, open_copy, times
from webapp.ui import meanings

TYPES = {
    "csv": "text/csv; charset=utf-8", "jsonl": "application/jsonl; charset=utf-8", "package": "application/zip",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "parquet": "application/vnd.apache.parquet", "sqlite": "application/vnd.sqlite3",
}  # fmt: skip
ENDS = {"package": "zip"}
PIECE = 256 * 1024


def response(db: Database, path: Path | str, asked: Asked, now: datetime, zone: str) -> Response:
    """The file as an attachment. TooLong: as workbook.write."""
    name = "roast-colour" if asked.form in WHOLE else asked.wanted.name.replace("_", "-")
    file_name = f"{name}-{times.local_day(now, zone)}.{ENDS.get(asked.form, asked.form)}"
    body = streamed(path, asked) if asked.form in ("csv", "jsonl") else from_file(db, asked)
    return Response(
        body, content_type=TYPES[asked.form], headers={"Content-Disposition": f'attachment; filename="{file_name}"'}
    )


def streamed(path: Path | str, asked: Asked) -> Iterator[bytes]:
    """Piece by piece, on a connection of its own: the request's own one is given back before the last piece is out."""
    with closing(connect.connect(path)) as db:
        rows = export_sets.rows(db, asked.wanted, asked.since, asked.until)
        if asked.form == "csv":
            yield from csv_files.written(asked.wanted.columns, rows, asked.style)
        else:
            yield from json_lines.written(asked.wanted.columns, rows)


def from_file(db: Database, asked: Asked) -> Iterator[bytes]:
    """Made as a whole first, and gone with its folder at the end, however that comes."""
    folder = tempfile.TemporaryDirectory(prefix="drumside-export-")
    try:
        file = Path(folder.name) / "export"
        make(db, file, asked)
    except BaseException:
        folder.cleanup()
        raise
    return pieces(folder, file)


def pieces(folder: tempfile.TemporaryDirectory, path: Path) -> Iterator[bytes]:
    """The file's content."""
    with folder, path.open("rb") as file:
        while piece := file.read(PIECE):
            yield piece


def make(db: Database, path: Path, asked: Asked) -> None:
    """Write the file."""
    if asked.form == "package":
        with path.open("wb") as file:
            package.write(db, file, asked.style, asked.since, asked.until, meanings.meanings())
    elif asked.form == "xlsx":
        sheets = (
            (one.name, one.columns, export_sets.rows(db, one, asked.since, asked.until)) for one in export_sets.SETS
        )
        workbook.write(path, sheets)
    elif asked.form == "parquet":
        rows = export_sets.rows(db, asked.wanted, asked.since, asked.until)
        columnar.write(path, asked.wanted.columns, rows)
    else:
        open_copy.write_copy(db, path)
