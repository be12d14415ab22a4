"""What it costs to take in a large file, on this machine: `python tests/benchmarks/take_in.py`.

    --rows 100000    rows, the most that is taken; three readings of whole bean and three of ground coffee each
    --workbook       as XLSX, not as CSV
    --smoke          everything once, small: shows that it works, its figures mean nothing

It prints each step by the processor's time, the most memory so far, and what a row costs beside a batch that the bench
stores by itself.
"""

from __future__ import annotations

import argparse
import io
import random
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from tests.support.roastery import Roastery, make  # noqa: E402
from webapp.exchange import import_choices, import_file, import_page  # noqa: E402
from webapp.exchange.import_choices import Chosen  # noqa: E402
from webapp.store import connect, imports, migrations  # noqa: E402

HEADERS = ("batch code", "product", "roasted at", "machine", "green lot", "green kg", "roasted kg", "drop celsius",
           "total time", *(f"{kind} {no}" for kind in ("whole", "ground") for no in (1, 2, 3)), "note")  # fmt: skip


def made_up(rows: int) -> list[list]:
    """A history of so many batches, the same on every run; notes fill a CSV file up to its 20 MB."""
    draw, moment = random.Random(7), datetime(2010, 1, 1, 6)
    table = []
    for no in range(rows):
        moment += timedelta(minutes=draw.randint(15, 60))
        near = [round(draw.gauss(centre, 0.6), 1) for centre in (56, 56, 56, 61, 61, 61)]
        table.append([
            f"B{no:06d}", "Lantern House", moment.isoformat(" "), "Machine 1", f"Lot {no // 500}", 12.35,
            round(draw.gauss(10.4, 0.05), 3), round(draw.gauss(204, 1), 1), f"{draw.randint(9, 12)}:{no % 60:02d}",
            *near, "x" * 50,
        ])  # fmt: skip
    return table


def as_csv(table: list[list]) -> bytes:
    """Comma and point."""
    return "\r\n".join(",".join(map(str, row)) for row in [HEADERS, *table]).encode()


def as_workbook(table: list[list]) -> bytes:
    """One sheet."""
    import xlsxwriter

    file = io.BytesIO()
    with xlsxwriter.Workbook(file, {"constant_memory": True}) as book:
        sheet = book.add_worksheet()
        for no, row in enumerate([HEADERS, *table]):
            sheet.write_row(no, 0, row)
    return file.getvalue()


def timed(what: str, do: Callable) -> object:
    """Do it, and print what it took."""
    before, clock = time.process_time(), time.perf_counter()
    found = do()
    print(f"  {what:34} {time.process_time() - before:7.2f} s of the processor, {time.perf_counter() - clock:7.2f} s;"
          f" memory up to {memory():4.0f} MB")  # fmt: skip
    return found


def memory() -> float:
    """The most that this process has held so far, in megabytes."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def run(path: Path, content: bytes) -> float:
    """All steps; the processor's seconds of the last one."""
    migrations.migrate(path)
    db = connect.connect(path)
    bench: Roastery = make(db)
    now, who = datetime.now(UTC), bench.who("lead")
    print(f"{len(content) / 1e6:.1f} MB; memory before: {memory():.0f} MB")
    opened = timed("opening the file", lambda: import_file.open_file(content))
    choices = timed("looking at all values", lambda: import_choices.looked_at(db, opened.content, opened.reading))
    timed("keeping it", lambda: imports.add_draft(db, "d" * 36, "x", opened.content, choices, who, now))
    draft = timed("reading it again", lambda: imports.get_draft(db, "d" * 36))
    chosen = Chosen(draft.choices)
    chosen.at |= {
        "meters": dict.fromkeys(("whole", "ground"), bench.meter), "machine": bench.machine,
        "methods": {kind: version.id for kind, version in bench.versions.items()},
    }  # fmt: skip
    assert import_choices.number_problems(chosen, db) == []
    found = timed("the page that shows it", lambda: import_page.preview(draft, chosen, db, "Europe/Vienna", now, 1))
    new = imports.NewRun(draft.id, "x", "0", import_choices.kept(chosen), import_choices.ways(chosen))
    rows = (one for _row, one, *_rest in import_page.judged(draft, chosen, db, "Europe/Vienna", now))
    before = time.process_time()
    timed("taking it in", lambda: imports.take_in(db, new, rows, found.counts, who, now))
    spent = time.process_time() - before
    ordinary = one_by_one(bench)
    db.close()
    print(f"  a row is {spent / found.taken / ordinary:.2f} times the work of the bench's way, batch by batch")
    print(f"  {found.taken} taken, {found.known} known, {found.refused} refused")
    return spent


def one_by_one(bench: Roastery, times: int = 50) -> float:
    """The processor's seconds for a batch with two samples of three readings, stored as the bench does."""
    before = time.process_time()
    for no in range(times):
        batch = bench.batch(f"T-{no}")
        bench.sample(batch.id, "whole", [56.2, 56.3, 56.1])
        bench.sample(batch.id, "ground", [61.2, 61.3, 61.1])
    return (time.process_time() - before) / times


def main() -> None:
    """See above."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rows", type=int, default=100_000)
    parser.add_argument("--workbook", action="store_true")
    parser.add_argument("--smoke", action="store_true")
    asked = parser.parse_args()
    rows = 200 if asked.smoke else asked.rows
    for size in (rows // 10, rows):
        with tempfile.TemporaryDirectory() as folder:
            content = (as_workbook if asked.workbook else as_csv)(made_up(size))
            spent = run(Path(folder) / "bench.db", content)
            print(f"  {size} rows: {1000 * spent / size:.2f} ms a row to take it in")


if __name__ == "__main__":
    main()
