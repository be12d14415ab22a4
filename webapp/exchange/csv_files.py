"""A set as CSV (RFC 4180), with the comma and the point that a country's spreadsheets expect, safe to open there."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from webapp.store.export_sets import Column

# What a spreadsheet may take for the beginning of a formula (OWASP ASVS 5.0, 1.2.10).
RISKY = ("=", "+", "-", "@", "\t", "\r", "\0")
PIECE = 64 * 1024


@dataclass(frozen=True)
class Style:
    """separator: between cells; decimal: in numbers; mark: whether a byte order mark says that it is UTF-8."""

    separator: str = ","
    decimal: str = "."
    mark: bool = False


USUAL = Style()


def harmless(text: str) -> str:
    """The text, with an apostrophe before what a spreadsheet would run. Only for cells of text: a negative number is
    none. What began with an apostrophe gets another one, so that `original` gives every text back."""
    return f"'{text}" if text.startswith((*RISKY, "'")) else text


def original(cell: str) -> str:
    """The text that `harmless` made a cell of."""
    return cell[1:] if cell.startswith("'") else cell


def written(columns: Sequence[Column], rows: Iterable[Sequence], style: Style = USUAL) -> Iterator[bytes]:
    """The file, in pieces: a first line with the names, then a line a row, CRLF between them, in UTF-8.

    An empty cell is a value that is not there. yes and no are 1 and 0. Times are ISO 8601 in UTC.
    """
    text = io.StringIO(newline="")
    lines = csv.writer(text, delimiter=style.separator, lineterminator="\r\n")
    if style.mark:
        text.write("\ufeff")
    lines.writerow([column.name for column in columns])
    kinds = [column.type for column in columns]
    for row in rows:
        lines.writerow([_cell(value, kind, style) for value, kind in zip(row, kinds, strict=True)])
        if text.tell() > PIECE:
            yield text.getvalue().encode()
            text.seek(0)
            text.truncate()
    yield text.getvalue().encode()


def _cell(value: object, kind: str, style: Style) -> str:
    if value is None:
        return ""
    if kind == "number":
        return number(float(value), style.decimal)
    return harmless(value) if isinstance(value, str) else str(value)


def number(value: float, decimal: str = ".") -> str:
    """A number with all of its digits, without an exponent and without a fraction that is nothing but zeros."""
    text = repr(round(value, 10))
    if "e" in text:
        text = f"{value:.10f}".rstrip("0").rstrip(".")
    return text.removesuffix(".0").replace(".", decimal)
