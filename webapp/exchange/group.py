"""A site's part of what a group of roasteries compares: Parquet files by site and month, which are only ever added to.

    FOLDER/batches/site=Kiln/month=2026-05/000184.parquet

The number is the ledger's newest line when the file was written. A month whose rows have changed since (a late sample,
a correction) gets one file more, with all its rows; of each site and month the file with the highest number counts.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sqlite_utils import Database

from webapp.exchange import columnar
from webapp.store import group_rows, ledger

CONTENT = b"content_sha256"
SITE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,59}")


@dataclass(frozen=True)
class Done:
    """What a run wrote, and how many months it left as they were."""

    written: tuple[Path, ...]
    unchanged: int


def export(db: Database, folder: Path, site: str) -> Done:
    """Add what has changed since the last run. Again, it adds nothing; cut off, the next run goes on.

    site: the name of this bench in the group, letters, digits, - and _ (it is part of a path). ValueError: another.
    """
    if not SITE.fullmatch(site):
        raise ValueError(site)
    seq, _newest = ledger.head(db)
    written, unchanged = [], 0
    for which, columns in group_rows.SETS.items():
        for month in group_rows.months(db, which):
            rows = [tuple(row) for row in group_rows.rows(db, which, month)]
            place = folder / which / f"site={site}" / f"month={month}"
            content = digest(rows)
            if not rows or newest_content(place) == content:
                unchanged += 1
                continue
            written.append(add(place, f"{seq:012d}.parquet", columns, rows, content))
    return Done(tuple(written), unchanged)


def digest(rows: Sequence[tuple]) -> str:
    """What a month's rows are, in 64 digits. Numbers by their shortest exact form."""
    return hashlib.sha256(json.dumps(rows, ensure_ascii=False).encode()).hexdigest()


def newest_content(place: Path) -> str | None:
    """The digest of the file that counts; None if there is none."""
    from pyarrow import parquet

    files = sorted(place.glob("*.parquet")) if place.is_dir() else []
    if not files:
        return None
    return (parquet.read_schema(files[-1]).metadata or {}).get(CONTENT, b"").decode()


def add(place: Path, name: str, columns: Sequence, rows: Sequence[tuple], content: str) -> Path:
    """Write a file under its name when it is whole, never over another one."""
    place.mkdir(parents=True, exist_ok=True)
    part, final = place / f".{name}.part", place / name
    columnar.write(part, columns, rows, {CONTENT: content.encode()})
    while final.exists():  # the same line of the ledger, other rows: the results were worked out again
        final = final.with_name(f"{final.stem}x.parquet")
    os.replace(part, final)
    return final
