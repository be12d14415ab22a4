"""A workbook (Office Open XML, ECMA-376) as rows: looked at with care, then kept as plain lines that are quick to read.

A workbook is a ZIP file, which may be a hundred thousand times larger than it looks. What its directory promises is
added up before anything is unpacked, and what really comes out is counted before a parser sees it.
"""

from __future__ import annotations

import io
import json
import warnings
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from webapp.exchange.import_cells import (
    MOST_CELL,
    MOST_COLUMNS,
    MOST_ROWS,
    Clock,
    Day,
    Formula,
    Num,
    Refused,
    Row,
    Wrong,
)

ZIP, COMPOUND = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
MOST_UNPACKED = 200 * 1000 * 1000
"""Bytes of everything in the file. Twenty megabytes of a real sheet unpack to a hundred or so."""
MOST_SHARED = 60 * 1000 * 1000
"""Bytes of its list of texts, which a reader keeps in memory as a whole."""
MOST_PARTS = 2000
PIECE = 1 << 18


@dataclass(frozen=True)
class Book:
    """A workbook's sheets, each with its name and how many rows it has; content: all of them, for `rows`."""

    sheets: tuple[tuple[str, int], ...]
    content: bytes
    from_1904: bool


def kind_of(content: bytes) -> str:
    """'workbook' or 'text'. Refused: an older workbook, one with a password, or something else that is no table."""
    if content.startswith(COMPOUND):
        raise Refused("encrypted" if "EncryptedPackage".encode("utf-16-le") in content else "old_workbook")
    if content.startswith((b"%PDF", b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"\x1f\x8b", b"SQLite format 3", b"PAR1")):
        raise Refused("no_text")
    return "workbook" if content.startswith((ZIP, b"PK\x05\x06")) else "text"


def look_into(content: bytes) -> None:
    """Refused: it is no workbook, is encrypted, or unpacks to more than it may."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as file:
            parts = file.infolist()
            names = {part.filename for part in parts}
            if "[Content_Types].xml" not in names or not any(name.startswith("xl/workbook.") for name in names):
                raise Refused("no_workbook")
            if "xl/workbook.xml" not in names:
                raise Refused("binary_workbook")
            if any(part.flag_bits & 1 for part in parts):
                raise Refused("encrypted")
            _small(sum(part.file_size for part in parts) <= MOST_UNPACKED and len(parts) <= MOST_PARTS)
            left = MOST_UNPACKED
            for part in parts:
                came = _unpacked(file, part, left)
                _small(part.filename.lower() != "xl/sharedstrings.xml" or came <= MOST_SHARED)
                left -= came
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError, ValueError):
        raise Refused("broken_workbook") from None


def _small(holds: bool) -> None:
    if not holds:
        raise Refused("unpacks", most=MOST_UNPACKED)


def _unpacked(file: zipfile.ZipFile, part: zipfile.ZipInfo, most: int) -> int:
    """How many bytes a part really has; stops at the limit."""
    came = 0
    with file.open(part) as opened:
        while piece := opened.read(PIECE):
            came += len(piece)
            _small(came <= most)
    return came


def read(content: bytes) -> Book:
    """Every sheet that holds something. Refused: as `look_into`; a sheet is too long or too wide; nothing is in it."""
    look_into(content)
    import openpyxl

    try:
        # What the reader has to say of styles and dates is no concern of whoever brings the file.
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=False, keep_links=False)
            try:
                return _sheets(book)
            finally:
                book.close()
    except Refused:
        raise
    except Exception:  # a reader of other people's files fails in more ways than can be listed
        raise Refused("broken_workbook") from None


def _sheets(book) -> Book:
    found, packer, packed = [], zlib.compressobj(1), []
    for sheet in book.worksheets:
        sheet.reset_dimensions()
        count = 0
        for line in _lines(sheet):
            if not count:
                packed.append(packer.compress(f"#{len(found)}\n".encode()))
            count += 1
            packed.append(packer.compress(line.encode()))
        if count:
            found.append((sheet.title, count))
    if not found:
        raise Refused("empty")
    packed.append(packer.flush())
    return Book(tuple(found), b"".join(packed), book.epoch.year == 1904)


def _lines(sheet) -> Iterator[str]:
    """A line a row that holds something: its number, then its cells."""
    for cells in sheet.iter_rows(max_row=MOST_ROWS + 2, max_col=MOST_COLUMNS + 1):
        wide = len(cells)
        while wide and cells[wide - 1].value is None:
            wide -= 1
        if not wide:
            continue
        no, values = cells[wide - 1].row, [_value(cell) for cell in cells[:wide]]
        if len(values) > MOST_COLUMNS:
            raise Refused("sheet_columns", sheet=sheet.title, most=MOST_COLUMNS)
        if no > MOST_ROWS + 1:
            raise Refused("sheet_rows", sheet=sheet.title, most=MOST_ROWS)
        yield json.dumps([no, *values], ensure_ascii=False, separators=(",", ":")) + "\n"


_KINDS = {"n": Num, "d": Day, "t": Clock, "f": Formula, "e": Wrong}


def _value(cell) -> str | list[str]:
    """A text as it is; anything else as its letter and what is shown of it."""
    value = cell.value
    if value is None:
        return ""
    if cell.data_type == "f":
        return ["f", str(getattr(value, "text", value))[:MOST_CELL]]
    if cell.data_type == "e":
        return ["e", str(value)]
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, int | float):
        return ["n", _plain(value)]
    if isinstance(value, datetime):
        moment = _to_second(value)
        return ["d", moment.isoformat(" ") if moment.time() != time() else moment.date().isoformat()]
    if isinstance(value, date):
        return ["d", value.isoformat()]
    if isinstance(value, time | timedelta):
        return ["t", _clock(value)]
    text = str(value)
    if len(text) > MOST_CELL:
        raise Refused("long_cell", line=cell.row, most=MOST_CELL)
    return text


def _to_second(moment: datetime) -> datetime:
    """A spreadsheet keeps a time as a part of a day: half a millisecond off is none off."""
    return (moment + timedelta(milliseconds=500)).replace(microsecond=0)


def _clock(value: time | timedelta) -> str:
    seconds = (
        round(value.total_seconds()) if isinstance(value, timedelta)
        else round(value.hour * 3600 + value.minute * 60 + value.second + value.microsecond / 1e6)
    )  # fmt: skip
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"


def _plain(value: float) -> str:
    """A number as the shortest text that is that number, without an exponent where that is reasonable."""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        value = int(value)
    return repr(value)


def rows(content: bytes, sheet: int) -> Iterator[Row]:
    """The rows of one sheet of `Book.content`. Cells behind the last one of a row are left out."""
    here = None
    for line in _unpacked_lines(content):
        if line.startswith(b"#"):
            here = int(line[1:])
            if here > sheet:
                return
        elif here == sheet:
            no, *cells = json.loads(line)
            yield no, [cell if isinstance(cell, str) else _KINDS[cell[0]](cell[1]) for cell in cells]


def _unpacked_lines(content: bytes) -> Iterator[bytes]:
    unpacker, rest = zlib.decompressobj(), b""
    data = content
    while data:
        piece = unpacker.decompress(data, PIECE)
        data = unpacker.unconsumed_tail
        *lines, rest = (rest + piece).split(b"\n")
        yield from lines
    *lines, rest = (rest + unpacker.flush()).split(b"\n")
    yield from lines
