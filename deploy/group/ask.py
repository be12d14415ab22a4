"""Ask one of the questions beside this file: `python3 deploy/group/ask.py share_in_band.sql FOLDER`. Needs duckdb."""

import csv
import sys
from pathlib import Path

import duckdb


def ask(question: str, folder: str) -> tuple[list[str], list[tuple]]:
    """(Column names, rows) of a question about the files in a folder."""
    sql = Path(__file__).with_name(question).read_text()
    with duckdb.connect() as asked:
        found = asked.execute(sql, {"folder": folder})
        return [column[0] for column in found.description], found.fetchall()


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    names, rows = ask(sys.argv[1], sys.argv[2])
    csv.writer(sys.stdout).writerows([names, *rows])
