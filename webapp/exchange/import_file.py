"""A file as it was handed over: what it is, what is kept of it, and its rows as it is read now."""

from __future__ import annotations

import hashlib
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

from webapp.exchange import import_text, import_workbook
from webapp.exchange.import_cells import MOST_BYTES, MOST_COLUMNS, Refused, Row, is_blank

MOST_NAME = 80


def clean_name(given: str | None) -> str:
    """What is kept of a file's name: its last part, as text. It names a file in sentences and nowhere else."""
    name = unicodedata.normalize("NFC", given or "").replace("\\", "/").rsplit("/", 1)[-1]
    name = "".join(char for char in name if unicodedata.category(char)[0] not in "CZ" or char == " ").strip(" .")
    if len(name) > MOST_NAME:
        stem, dot, end = name.rpartition(".")
        name = f"{stem[: MOST_NAME - len(end) - 2]}….{end}" if dot and len(end) <= 5 else f"{name[: MOST_NAME - 1]}…"
    return name or "–"


@dataclass(frozen=True)
class Opened:
    """content: what is kept of the file (a workbook's as plain lines); reading: how it is read, for `rows`."""

    content: bytes
    reading: dict


def open_file(content: bytes) -> Opened:
    """Look at a file's bytes. Refused: it cannot be looked at."""
    if not content:
        raise Refused("nothing")
    if len(content) > MOST_BYTES:
        raise Refused("size", size=len(content), most=MOST_BYTES)
    about = {"sha256": hashlib.sha256(content).hexdigest(), "bytes": len(content), "header": 0}
    if import_workbook.kind_of(content) == "workbook":
        book = import_workbook.read(content)
        sheet = 0 if len(book.sheets) == 1 else None
        kept = Opened(book.content, about | {
            "what": "workbook", "sheets": [list(one) for one in book.sheets], "sheet": sheet,
            "from_1904": book.from_1904,
        })  # fmt: skip
        if sheet is None:
            return kept
    else:
        if not content.strip(b"\0 \t\r\n\f,;\xef\xbb\xbf\xff\xfe"):
            raise Refused("empty")
        written = import_text.writing_of(content)
        split = import_text.split_of(content, written.encoding)
        kept = Opened(content, about | {
            "what": "text", "encoding": written.encoding, "encoding_sure": written.sure,
            "possible": list(written.possible), "delimiter": split.delimiter, "delimiter_sure": split.sure,
        })  # fmt: skip
    header = first_row(kept.content, kept.reading)
    return Opened(kept.content, kept.reading | {"header": header[0]})


def rows(content: bytes, reading: dict) -> Iterator[Row]:
    """All rows, as the file is read now. Refused: somewhere it cannot be."""
    if reading["what"] == "workbook":
        return import_workbook.rows(content, reading["sheet"] or 0)
    return import_text.rows(content, reading["encoding"], reading["delimiter"])


def first_row(content: bytes, reading: dict) -> Row:
    """The first row with something in it. Refused: there is none, or it has too many columns."""
    for no, cells in rows(content, reading):
        if not is_blank(cells):
            if len(cells) > MOST_COLUMNS:
                raise Refused("columns", row=no, columns=len(cells), most=MOST_COLUMNS)
            return no, cells
    raise Refused("empty")


@dataclass(frozen=True)
class Table:
    """The headers of a file as it is read now; rows begin below `header` (0: there are no headers)."""

    header: int
    names: tuple[str, ...]

    @property
    def width(self) -> int:
        """How many cells each row has to have."""
        return len(self.names)


def table_of(content: bytes, reading: dict) -> Table:
    """The headers. Without any the columns are called as a spreadsheet calls them. Refused: as `first_row`; the row of
    the headers is empty or not there."""
    wanted = reading["header"]
    if not wanted:
        _no, cells = first_row(content, reading)
        return Table(0, tuple(letters(no) for no in range(len(cells))))
    for no, cells in rows(content, reading):
        if no == wanted and not is_blank(cells):
            cells = list(cells)
            while cells and not cells[-1].strip():
                cells.pop()
            names = (" ".join(cell.split())[:60] for cell in cells)
            return Table(no, tuple(name or letters(at) for at, name in enumerate(names)))
        if no >= wanted:
            break
    raise Refused("no_header", row=wanted)


def letters(no: int) -> str:
    """A column's letters: 0 is A, 26 is AA."""
    text = ""
    no += 1
    while no:
        no, rest = divmod(no - 1, 26)
        text = chr(65 + rest) + text
    return text


def data_rows(content: bytes, reading: dict, table: Table) -> Iterator[Row]:
    """The rows below the headers that hold something."""
    return ((no, cells) for no, cells in rows(content, reading) if no > table.header and not is_blank(cells))
