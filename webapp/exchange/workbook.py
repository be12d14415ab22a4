"""Sets as a workbook for spreadsheets (Office Open XML): a sheet each, numbers as numbers, texts never as formulas."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from webapp.store.export_sets import Column

MOST_ROWS = 1_048_576
"""Rows of a sheet, its first line among them: the format has no more."""


class TooLong(Exception):
    """More rows than a sheet can hold. The name of the set."""


def write(path: Path, sheets: Iterable[tuple[str, Sequence[Column], Iterable[Sequence]]]) -> None:
    """Write the file, row by row: the memory does not grow with it. Times and days stay text (ISO 8601, UTC), since a
    spreadsheet's own dates have no time zone. TooLong: a set does not fit a sheet; nothing is left at `path`."""
    import xlsxwriter

    options = {"constant_memory": True, "strings_to_formulas": False, "strings_to_urls": False,
               "strings_to_numbers": False, "tmpdir": str(path.parent)}  # fmt: skip
    book = xlsxwriter.Workbook(str(path), options)
    bold = book.add_format({"bold": True})
    try:
        for name, columns, rows in sheets:
            sheet = book.add_worksheet(name)
            sheet.freeze_panes(1, 0)
            for no, column in enumerate(columns):
                sheet.write_string(0, no, column.name, bold)
            for line, row in enumerate(rows, 1):
                if line >= MOST_ROWS:
                    raise TooLong(name)
                _write_row(sheet, line, columns, row)
    except TooLong:
        book.close()
        path.unlink(missing_ok=True)
        raise
    book.close()


def _write_row(sheet, line: int, columns: Sequence[Column], row: Sequence) -> None:
    for no, (column, value) in enumerate(zip(columns, row, strict=True)):
        if value is None:
            continue
        if column.type == "yes_no":
            sheet.write_boolean(line, no, bool(value))
        elif isinstance(value, int | float):
            sheet.write_number(line, no, value)
        else:
            sheet.write_string(line, no, value[:MOST_TEXT])


MOST_TEXT = 32_767
"""Characters of a cell: the format has no more. Nothing that the bench stores is as long."""
