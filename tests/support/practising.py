"""What the tests of practice share: the address of its form, and all that a bench holds."""

from __future__ import annotations

from sqlite_utils import Database

from tests.support.roastery import Roastery


def everything(db: Database) -> tuple:
    """Rows of every table, and the ledger's head. What a request notes of itself (when a session was last seen) is no
    row more and no line."""
    tables = [row["name"] for row in db.query("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
    rows = {name: next(iter(db.query(f'SELECT count(*) AS n FROM "{name}"')))["n"] for name in tables}
    head = list(db.query("SELECT * FROM ledger ORDER BY seq DESC LIMIT 1"))
    derived = [list(db.query(f"SELECT * FROM {name}")) for name in ("method_spread", "part_result", "batch_result")]
    return rows, head, derived


def path_of(bench: Roastery, kind: str = "whole", dish: str = "own") -> str:
    """Where the form is: by the roastery's method for this kind, with invented numbers or a dish of one's own."""
    return f"/practice/sample?method={bench.methods[kind]}&dish={dish}&meter={bench.meter}"
