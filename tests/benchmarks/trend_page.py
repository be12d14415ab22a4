"""How fast a trend's page is, and what drawing takes of the memory: `python tests/benchmarks/trend_page.py`.

A product of 5,000 and more batches in a file; the app in this process, the renderer warmed up, each content new to it.
Figures hang on the machine and on what else it does; the ratios are all from one run, both sizes in turns. Wall time is
what somebody waits, processor time what the page costs. Nothing here is a test.

    --keep FOLDER    keep the database there, and use it again
    --smoke          everything once, small: shows that it works, its figures mean nothing
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from demo import scenario  # noqa: E402
from demo.build import build  # noqa: E402
from tests.benchmarks.history import lengthen  # noqa: E402
from tests.benchmarks.load import enrol, opened, percentile  # noqa: E402
from webapp import create_app  # noqa: E402
from webapp.config import Config  # noqa: E402
from webapp.store.connect import one  # noqa: E402

COLD, KEPT = 400.0, 60.0  # milliseconds, wanted of 5,000 batches
MEMORY = 350.0  # megabytes, wanted after CHARTS different charts
CHARTS = 500
FULL = 25_000  # batches of all products; the largest product has more than a fifth of them


@dataclass
class Took:
    """Milliseconds of pages of one size."""

    cold: list[float] = field(default_factory=list)
    kept: list[float] = field(default_factory=list)
    cost: list[float] = field(default_factory=list)


class Bench:
    """The app on one database, and a tablet that asks."""

    def __init__(self, database: Path) -> None:
        self.before = memory()
        self.app = create_app(Config(database=database, secret_key="a benchmark's own, and long enough"))
        self.db = opened(database)
        self.client = self.app.test_client()
        for name, value in enrol(self.db, 1)[0].items():
            self.client.set_cookie(name, value)
        self.product, self.batches = self.largest()
        newest = one(self.db, "SELECT max(day) AS day FROM batch WHERE product_id = ?", (self.product,))
        self.newest = date.fromisoformat(newest["day"])

    def largest(self) -> tuple[str, int]:
        """The product with the most batches, and how many."""
        sql = "SELECT product_id, count(*) AS many FROM batch GROUP BY 1 ORDER BY 2 DESC LIMIT 1"
        row = one(self.db, sql)
        return row["product_id"], row["many"]

    def warm_up(self) -> float:
        """Start the renderer, as a worker does at its start; returns seconds of processor time."""
        from webapp.trends import chart

        started = time.process_time()
        chart.warm_up()
        self.ask(f"/trends/{self.product}/whole?newest=30")
        return time.process_time() - started

    def path(self, size: int, back: int, kind: str = "whole") -> str:
        """The page of so many batches up to so many days before the newest: each has another content."""
        return f"/trends/{self.product}/{kind}?newest={size}&until={self.newest - timedelta(days=back)}"

    def ask(self, path: str) -> tuple[float, float]:
        """(milliseconds waited, milliseconds of processor time) of a page."""
        at, cost = time.perf_counter(), time.process_time()
        answer = self.client.get(path)
        took = (time.perf_counter() - at) * 1000, (time.process_time() - cost) * 1000
        assert answer.status_code == 200, (path, answer.status_code)
        return took


def memory() -> float:
    """Megabytes of this process that are in memory (Linux)."""
    lines = Path("/proc/self/status").read_text().splitlines()
    return int(next(line for line in lines if line.startswith("VmRSS:")).split()[1]) / 1024


def make(folder: Path, batches: int, days: int | None) -> Path:
    """The database, unless it is there."""
    small, large = folder / "small.db", folder / "large.db"
    if not large.exists():
        told = scenario.load()
        if days:
            told.days["history"] = days
        build(small, datetime.now().astimezone(), told)
        lengthen(small, large, batches)
    return large


def measure(bench: Bench, times: int, sizes: tuple[int, int]) -> dict[int, Took]:
    """Both sizes in turns: a content that was never seen, and the same page once more."""
    took = {size: Took() for size in sizes}
    for back in range(times):
        for size, found in took.items():
            path = bench.path(size, back)
            wait, cost = bench.ask(path)
            found.cold.append(wait)
            found.cost.append(cost)
            found.kept.append(bench.ask(path)[0])
    return took


def say(size: int, took: Took) -> None:
    """The figures of a size."""
    for name, values in (("never seen", took.cold), ("its processor time", took.cost), ("kept", took.kept)):
        print(f"{size:>6} batches, {name:<18} median {median(values):7.1f} ms   p95 {percentile(values, 0.95):7.1f} ms")


def main() -> None:
    """Print the figures; exit code 1 if a page of 5,000 takes longer, or drawing more memory, than wanted."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--smoke", action="store_true")
    parser.add_argument("--keep", type=Path)
    chosen = parser.parse_args()
    times, charts, sizes = (2, 3, (30, 100)) if chosen.smoke else (24, CHARTS, (100, 5000))
    with tempfile.TemporaryDirectory(prefix="drumside-") as made:
        folder = chosen.keep or Path(made)
        folder.mkdir(parents=True, exist_ok=True)
        database = make(folder, *((150, 6) if chosen.smoke else (FULL, None)))
        bench = Bench(database)
        print(f"{bench.batches} batches of one product. Memory: {memory():.0f} MB before the renderer.")
        print(f"The renderer starts with {bench.warm_up():.1f} s of processor time: {memory():.0f} MB.")
        took = measure(bench, times, sizes)
        for size, found in took.items():
            say(size, found)
        few, many = (took[size] for size in sizes)
        print(f"{sizes[1]} to {sizes[0]} batches:", end=" ")
        print(f"never seen {median(many.cold) / median(few.cold):.1f} times,", end=" ")
        print(f"kept {median(many.kept) / median(few.kept):.1f} times; never seen to kept:", end=" ")
        print(f"{median(many.cold) / median(many.kept):.0f} times")
        for no in range(charts):
            bench.ask(bench.path(100, no // 3, ("whole", "ground", "difference")[no % 3]))
        print(f"After {charts} more pages of 100 batches: {memory():.0f} MB (wanted: under {MEMORY:.0f})")
        if not chosen.smoke:
            worst = percentile(many.cold, 0.5), percentile(many.kept, 0.5), memory()
            print(f"wanted of {sizes[1]}: under {COLD:.0f} ms never seen, under {KEPT:.0f} ms kept")
            sys.exit(any(is_ > wanted for is_, wanted in zip(worst, (COLD, KEPT, MEMORY), strict=True)))


if __name__ == "__main__":
    main()
