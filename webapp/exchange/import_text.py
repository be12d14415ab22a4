"""A file of text as rows: how its letters are written, and what stands between its cells."""

from __future__ import annotations

import codecs
import csv
import io
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from webapp.exchange.import_cells import MOST_CELL, MOST_COLUMNS, MOST_ROWS, Refused, Row, is_blank

# What may be chosen where nothing in the file says how it is written.
ENCODINGS = ("utf-8", "cp1252", "iso8859_15", "mac_roman", "cp850")
# Each with what it is certain of: the mark at the file's beginning says so.
MARKS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
DELIMITERS = (",", ";", "\t", "|")
LOOKED_AT = 200
"""Rows by which the delimiter is proposed."""
PIECE = 1 << 20


@dataclass(frozen=True)
class Writing:
    """How a file's letters are written. sure: the file says so, or nothing else fits; possible: to choose from."""

    encoding: str
    sure: bool
    possible: tuple[str, ...]


def writing_of(content: bytes) -> Writing:
    """By the mark at its beginning; else UTF-8, where it is that; else Windows' own, to be confirmed.

    Refused: it is no text.
    """
    if content.startswith((codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)):
        raise Refused("utf32")
    for mark, encoding in MARKS:
        if content.startswith(mark):
            if not _fits(content, encoding):
                raise Refused("broken_text", encoding=encoding)
            return Writing(encoding, True, (encoding,))
    if _no_text(content):
        raise Refused("no_text")
    possible = tuple(encoding for encoding in ENCODINGS if _fits(content, encoding))
    if possible[0] == "utf-8":
        return Writing("utf-8", True, possible)
    return Writing(possible[0], False, possible)


def _no_text(content: bytes) -> bool:
    """Whether every hundredth byte and more is one that no text has: UTF-16 without its mark, a picture, a program."""
    odd = sum(content.count(byte) for byte in range(32) if byte not in b"\t\n\r\f")
    return odd * 100 > len(content)


def _fits(content: bytes, encoding: str) -> bool:
    decoder = codecs.getincrementaldecoder(encoding)()
    view = memoryview(content)
    try:
        for start in range(0, len(content), PIECE):
            decoder.decode(view[start : start + PIECE])
        decoder.decode(b"", final=True)
    except UnicodeError:
        return False
    return True


def odd_words(content: bytes, encoding: str, most: int = 6) -> list[str]:
    """Words of the file that are read one way by one encoding and another way by another, as this one reads them."""
    found: dict[str, None] = {}
    for line in io.TextIOWrapper(io.BytesIO(content), encoding=encoding):
        if line.isascii():
            continue
        words = line.translate(_APART).split()
        found.update(dict.fromkeys(word[:40] for word in words if not word.isascii()))
        if len(found) >= most:
            break
    return list(found)[:most]


_APART = dict.fromkeys(map(ord, ',;|\t"'), " ")


def _lines(content: bytes, encoding: str) -> io.TextIOWrapper:
    return io.TextIOWrapper(io.BytesIO(content), encoding=encoding, newline="")


def rows(content: bytes, encoding: str, delimiter: str) -> Iterator[Row]:
    """Every row, numbered from 1 as a spreadsheet shows them: a row may go over several lines (RFC 4180).

    Refused: a quote that is not closed or closed in the middle of a cell; a cell, a row or the file is too long.
    """
    csv.field_size_limit(MOST_CELL)
    reader = csv.reader(_lines(content, encoding), delimiter=delimiter, strict=True)
    no = begun = 0
    while True:
        try:
            cells = next(reader, None)
        except csv.Error as problem:
            code = "long_cell" if "field larger" in str(problem) else "quotes"
            raise Refused(code, line=begun + 1, most=MOST_CELL) from None
        if cells is None:
            return
        no, begun = no + 1, reader.line_num
        if len(cells) > MOST_COLUMNS:
            raise Refused("columns", row=no, columns=len(cells), most=MOST_COLUMNS)
        if no > MOST_ROWS + 1 and not is_blank(cells):
            raise Refused("rows", most=MOST_ROWS)
        yield no, cells


@dataclass(frozen=True)
class Split:
    """What stands between cells, as far as the first rows tell. sure: nothing else fits as well."""

    delimiter: str
    sure: bool


def split_of(content: bytes, encoding: str) -> Split:
    """The delimiter that gives the first rows the same number of cells, more than one; of several the one that the
    first row has most of, to be confirmed where they agree as well. One column has none: a comma, not sure."""
    marks = []
    for delimiter in DELIMITERS:
        try:
            counts = [len(cells) for _no, cells in islice(rows(content, encoding, delimiter), LOOKED_AT) if any(cells)]
        except Refused:
            continue
        if not counts:
            continue
        usual, often = Counter(counts).most_common(1)[0]
        # Of a header alone nothing can be said but how many cells it has.
        if usual > 1 or counts[0] > 1:
            marks.append(((often if usual == counts[0] > 1 else 0) / len(counts), counts[0], delimiter))
    if not marks:
        return Split(",", False)
    best = max(marks)
    others = [mark for mark in marks if mark is not best and mark[0] > 0.9 * best[0]]
    return Split(best[2], not others and best[0] > 0)
