"""A cell of a file, and the limits of what is looked at. Text is a plain str; what a workbook knows better has a type.

Each type's text is what is shown of it, and what is kept as typed.
"""

from __future__ import annotations

from collections.abc import Sequence

MOST_BYTES = 20 * 1000 * 1000
MOST_ROWS = 100_000
MOST_COLUMNS = 200
MOST_CELL = 100_000
"""Characters of a cell: what is longer is a quote that was never closed, or no table."""


class Num(str):
    """A number of a workbook, written with a point."""


class Day(str):
    """A true date of a workbook, as 2026-05-14 or 2026-05-14 06:58:03."""


class Clock(str):
    """A true time of day of a workbook, as 06:58:03."""


class Formula(str):
    """A formula, as it stands in the cell. What it last came to is not taken: nothing here can work it out again."""


class Wrong(str):
    """What a workbook shows where a formula failed, as #N/A."""


Row = tuple[int, Sequence[str]]
"""The number of a row as a spreadsheet counts it, and its cells."""


class Refused(Exception):
    """The file as a whole cannot be looked at. code: which words to say; facts: what to put into them."""

    def __init__(self, code: str, **facts: object) -> None:
        super().__init__(code, facts)
        self.code, self.facts = code, facts


def is_blank(cells: Sequence[str]) -> bool:
    """Whether nothing stands in a row."""
    return not any(cell and not cell.isspace() for cell in cells)
