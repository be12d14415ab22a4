"""How long the group's questions take on one machine: 50 sites, 5 years, by DuckDB, against one site for one year.

.venv/bin/python tests/benchmarks/group.py [--sites 50] [--years 5] [--batches 250]   (batches of a site in a month)
"""

from __future__ import annotations

import argparse
import random
import resource
import sys
import tempfile
import time
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from deploy.group.ask import ask
from webapp.exchange import group
from webapp.store import group_rows
from webapp.store.times import to_text

KINDS = ("whole", "ground", "difference")


def batches(dice: random.Random, site: int, first: date, count: int) -> list[tuple]:
    """A made-up month of a site."""
    rows = []
    for no in range(count):
        day = first + timedelta(days=no % 28)
        at = to_text(datetime(day.year, day.month, day.day, 6 + no % 12, no % 60, tzinfo=UTC))
        verdict = dice.choices(["inside", "undecided", "outside"], [80, 12, 8])[0]
        for kind in KINDS:
            value = dice.gauss(60, 1)
            rows.append(
                (day.isoformat(), at, f"{site}-{first}-{no}", f"B-{no}", f"Product {no % 12}", f"Machine {no % 2}",
                 kind, "Scale A", 1, value, 0.25, 58.0, 60.0, 62.0, (value - 60) / 2, verdict, 0.9, verdict, "proven",
                 "release", 0)
            )  # fmt: skip
    return rows


def checks(dice: random.Random, site: int, first: date, meters: int) -> list[tuple]:
    """A check every day of every meter; meter 0 of every seventh site walks off."""
    rows = []
    for day in range(28):
        at = to_text(datetime(first.year, first.month, first.day, 5, tzinfo=UTC) + timedelta(days=day))
        for meter in range(meters):
            walk = 0.001 * (first.toordinal() + day - 738_000) if site % 7 == 0 and meter == 0 else 0.0
            found = dice.gauss(walk, 0.05)
            rows.append(
                (at, f"{site}-{meter}-{at}", f"Meter {meter}", "Scale A", "Plate 1", 60.0, found, None, 0.2, 1, 0)
            )
    return rows


def fill(folder: Path, sites: int, years: int, count: int) -> int:
    """Write the files as `export-group` does; how many rows."""
    dice, rows = random.Random(1), 0
    for site in range(sites):
        for month in range(12 * years):
            first = date(2021 + month // 12, month % 12 + 1, 1)
            for which, made in (
                ("batches", batches(dice, site, first, count)),
                ("checks", checks(dice, site, first, 2)),
            ):
                place = folder / which / f"site=site{site:02d}" / f"month={first:%Y-%m}"
                group.add(place, f"{month:012d}.parquet", group_rows.SETS[which], made, group.digest(made))
                rows += len(made)
    return rows


def timed(question: str, folder: Path) -> tuple[float, int]:
    """Seconds (the best of three), and rows in the answer."""
    best, found = 1e9, 0
    for _turn in range(3):
        began = time.perf_counter()
        found = len(ask(question, str(folder))[1])
        best = min(best, time.perf_counter() - began)
    return best, found


def main() -> None:
    """Fill, ask, print."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--sites", type=int, default=50)
    given.add_argument("--years", type=int, default=5)
    given.add_argument("--batches", type=int, default=250)
    asked = given.parse_args()
    times: dict[str, list[float]] = {}
    for sites, years in ((1, 1), (asked.sites, asked.years)):
        with tempfile.TemporaryDirectory() as room:
            rows = fill(Path(room), sites, years, asked.batches)
            size = sum(file.stat().st_size for file in Path(room).rglob("*.parquet"))
            print(f"{sites} sites, {years} years: {rows} rows, {size / 1e6:.0f} MB")
            for question in ("share_in_band.sql", "drifting_meters.sql"):
                seconds, found = timed(question, Path(room))
                times.setdefault(question, []).append(seconds)
                print(f"  {question}: {seconds:.2f} s, {found} rows in the answer")
    for question, (small, large) in times.items():
        print(f"{question}: {large / small:.1f} times the time of one site and year")
    print(f"peak memory: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3:.0f} MB")


if __name__ == "__main__":
    main()
