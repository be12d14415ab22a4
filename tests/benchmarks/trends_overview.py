"""What a long history costs where every product's state of trend is kept: `python tests/benchmarks/trends_overview.py`.

    --size 1000000   batches in the large file, of 100 products, 300 a day up to today
    --keep FOLDER    keep the files there, and use them again on the same day
    --smoke          everything once, small: shows that it works, its figures mean nothing

It prints, for a small file and the large one in turn: the overview and today's strip (server side, through the test
client), and storing one sample (new_samples.add_sample with its transaction on the disk), with the ratios; by the
clock, and by the processor, which other work on the machine moves least.

How the files are made: people, gear, methods and products through the store. Batches with their samples (three readings
each), results and decisions are inserted in bulk, with the columns that the store would fill, one whole-bean sample a
batch; without lines in the ledger, without steps, and without sums of spread, which nothing here reads. Then
trend_state is filled as `migrate` fills it. Three products walk, and one batch in a hundred has no decision.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from tests.benchmarks.load import percentile  # noqa: E402
from tests.support.roastery import Roastery, make  # noqa: E402
from webapp import create_app  # noqa: E402
from webapp.config import Config  # noqa: E402
from webapp.store import connect, migrations, products, sessions, trend_states  # noqa: E402
from webapp.store.connect import write  # noqa: E402
from webapp.store.products import TargetBand  # noqa: E402
from webapp.store.times import to_text  # noqa: E402
from webapp.store.triggers import create_triggers  # noqa: E402

PRODUCTS, EACH_DAY, AT_ONCE = 100, 300, 5_000
TABLES = {
    "batch": "id, code, product_id, machine_id, lot, green_g, roasted_g, day, roasted_at, person_id, tablet_id,"
    " made_at, received_at",
    "sample": "id, batch_id, kind, method_version_id, target_version_id, meter_id, plate_id, checklist, sigma_r,"
    " sigma_f, sigma_source, u_meter, u_meter_source, person_id, role, tablet_id, made_at, received_at",
    "reading": "sample_id, fill_no, no, value, typed, void_reason, confirmed",
    "part_result": "batch_id, kind, value, u, fill_term, reading_term, step_term, meter_term, fills, readings, samples,"
    " readings_disagree, fills_disagree, apart, scale_id, target_version_id, method_version_id, sigma_r, sigma_f,"
    " sigma_source, u_meter_source, verdict, side, chance, position, beyond",
    "batch_result": "batch_id, verdict, chance, missing",
    "decision": "id, batch_id, what, reason, verdict, person_id, tablet_id, made_at, received_at",
}


def build(path: Path, size: int) -> Roastery:
    """A file of so many batches."""
    path.unlink(missing_ok=True)
    migrations.migrate(path)
    db = connect.connect(path)
    db.conn.execute("PRAGMA synchronous=OFF")
    db.conn.execute("PRAGMA cache_size=-800000")
    bench = make(db)
    bench.now = datetime.now(UTC)
    bands = [TargetBand("whole", 5450, 5600, 5750)]
    with write(db):
        ids = [bench.product] + [
            products.add_product(db, f"Product {no}", f"P{no}", bench.scale, "guarded", 0.8, None, None, bands,
                                 bench.who("lead"), datetime(2026, 1, 5, 9, tzinfo=UTC))
            for no in range(1, PRODUCTS)
        ]  # fmt: skip
    targets = {row["product_id"]: row["id"] for row in db.query("SELECT product_id, id FROM target_version")}
    plate = next(db.query("SELECT id FROM plate WHERE meter_id = ?", (bench.meter,)))["id"]
    maker = Rows(bench, ids, targets, plate)
    # Rows that are right need nobody who looks at each of them.
    db.conn.execute("PRAGMA foreign_keys=OFF")
    for name in [row["name"] for row in db.query("SELECT name FROM sqlite_master WHERE type = 'trigger'")]:
        db.conn.execute(f"DROP TRIGGER {name}")
    for start in range(0, size, AT_ONCE):
        with write(db):
            maker.insert(db, start, min(size, start + AT_ONCE), size)
    with write(db):
        create_triggers(db)
    db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    started = time.monotonic()
    trend_states.fill_if_empty(db)
    print(f"  trend_state of {PRODUCTS} products filled in {time.monotonic() - started:.1f} s", flush=True)
    db.close()
    return bench


class Rows:
    """Makes rows by the number of a batch, the same on every run but for the ids."""

    def __init__(self, bench: Roastery, ids: list[str], targets: dict[str, str], plate: str) -> None:
        self.bench, self.ids, self.targets, self.plate = bench, ids, targets, plate
        self.draw = random.Random(5)

    def insert(self, db, start: int, stop: int, size: int) -> None:
        """Batches by number, 0 the oldest, the last one today."""
        rows: dict[str, list[tuple]] = {table: [] for table in TABLES}
        for no in range(start, stop):
            self.add(rows, no, size)
        for table, names in TABLES.items():
            marks = ", ".join("?" * len(names.split(",")))
            db.conn.executemany(f"INSERT INTO {table} ({names}) VALUES ({marks})", rows[table])

    def add(self, rows: dict[str, list[tuple]], no: int, size: int) -> None:
        """All rows of one batch."""
        bench, draw = self.bench, self.draw
        batch, sample = (str(uuid.UUID(int=draw.getrandbits(128), version=4)) for _id in range(2))
        back = size - 1 - no
        moment = bench.now - timedelta(days=back // EACH_DAY, seconds=60 * (back % EACH_DAY) / EACH_DAY + 60)
        at, day = to_text(moment), moment.date().isoformat()
        place = no % PRODUCTS
        product = self.ids[place]
        # The last hundred of each product: three of them walk.
        walked = max(0, 30 - back // PRODUCTS) * 0.05 if place in (7, 23, 61) else 0.0
        value = round(56 - walked + draw.gauss(0, 0.5), 1)
        beyond = max(54.5 - value, value - 57.5)
        verdict = "outside" if beyond > 0.4 else "undecided" if beyond > -0.4 else "inside"
        side = None if verdict == "inside" else "darker" if value < 56 else "lighter"
        who = (bench.people["roaster"], "roaster", bench.tablet, at, at)
        target, version = self.targets[product], bench.versions["whole"].id
        rows["batch"].append((batch, f"B{no}", product, bench.machine, f"Lot {no // 20000}", 12000, 10200, day,
                              at, who[0], bench.tablet, at, at))  # fmt: skip
        rows["sample"].append((sample, batch, "whole", version, target, bench.meter, self.plate, "short", 0.3, 0.5,
                               "assumed", 0.1, "assumed", *who))  # fmt: skip
        rows["reading"] += [(sample, 1, n, round(value * 100), f"{value}", "", 0) for n in (1, 2, 3)]
        rows["part_result"].append((
            batch, "whole", value, 0.5, 0.25, 0.03, 0.001, 0.01, 1, 3, 1, 0, 0, 0, bench.scale, target, version, 0.3,
            0.5, "assumed", "assumed", verdict, side, 0.9, 0.0, beyond,
        ))  # fmt: skip
        rows["batch_result"].append((batch, verdict, 0.9, ""))
        if no % 100 != 99:
            what = "release" if verdict == "inside" else "concession"
            decision = str(uuid.UUID(int=draw.getrandbits(128), version=4))
            told = (decision, batch, what, "" if verdict == "inside" else "So.", verdict, who[0], *who[2:])
            rows["decision"].append(told)


class Side:
    """One file: its app, a client with somebody signed in, and samples to store."""

    def __init__(self, path: Path, bench: Roastery) -> None:
        self.db = connect.connect(path)
        self.bench = Roastery(self.db, now=datetime.now(UTC))
        self.bench.__dict__.update({k: v for k, v in bench.__dict__.items() if k not in ("db", "now")})
        app = create_app(Config(database=path, secret_key="benchmarks only: long enough for a secret", testing=True))
        self.client = app.test_client()
        self.client.set_cookie("tablet", self.bench.tablet_secret)
        token = sessions.start_session(self.db, bench.people["lead"], bench.tablet, 12, self.bench.now)
        self.client.set_cookie("person", token)

    def ask(self, path: str) -> Took:
        """A page."""
        took = Took()
        answer = self.client.get(path)
        took.stop()
        assert answer.status_code == 200, answer.status_code
        return took

    def store(self) -> Took:
        """One more sample."""
        batch = self.bench.batch(at=self.bench.now)
        took = Took()
        self.bench.sample(batch.id, "whole", [56.0, 56.1, 55.9], at=self.bench.now)
        took.stop()
        return took


class Took:
    """Milliseconds since it was made: by the clock, and of the processor."""

    def __init__(self) -> None:
        self.clock, self.processor = time.perf_counter(), time.process_time()

    def stop(self) -> None:
        """Now."""
        self.clock = (time.perf_counter() - self.clock) * 1000
        self.processor = (time.process_time() - self.processor) * 1000


def in_turns(sides: dict[str, Side], times: int, what: Callable[[Side], Took], name: str, wanted: str = "") -> None:
    """Both files in turn, so that whatever else the machine does meets both, and the ratio."""
    took: dict[str, list[Took]] = {side: [] for side in sides}
    for side in sides.values():
        what(side)
    for _time in range(times):
        for side, there in sides.items():
            took[side].append(what(there))
    used = {}
    for side, values in took.items():
        clock = [one.clock for one in values]
        used[side] = percentile([one.processor for one in values], 0.5)
        shown = f"p50 {percentile(clock, 0.5):6.1f} ms   p95 {percentile(clock, 0.95):6.1f} ms"
        print(f"  {name + ', ' + side:34} {shown}   processor {used[side]:6.1f} ms   {wanted}".rstrip(), flush=True)
    print(f"  {'large to small, processor':34} x {used['large'] / used['small']:.2f}", flush=True)


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--size", type=int, default=1_000_000)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--smoke", action="store_true")
    chosen = parser.parse_args()
    sizes = {"small": 2_500, "large": 5_000 if chosen.smoke else chosen.size}
    with tempfile.TemporaryDirectory(prefix="drumside-overview-") as fresh:
        folder = chosen.keep or Path(fresh)
        folder.mkdir(parents=True, exist_ok=True)
        made = {}
        for name, size in sizes.items():
            started = time.monotonic()
            path = folder / f"overview-{name}.db"
            bench = build(path, size)
            took = time.monotonic() - started
            print(f"{size} batches, {path.stat().st_size / 1e6:.0f} MB, in {took:.0f} s", flush=True)
            made[name] = path, bench
        # Only now: nobody stays signed in for as long as the large file takes.
        sides = {name: Side(*there) for name, there in made.items()}
        times = 3 if chosen.smoke else 60
        print(f"\n{PRODUCTS} products, {date.today()}, {times} times each in turn")
        in_turns(sides, times, lambda side: side.ask("/trends"), "the overview", "(wanted: under 150 ms)")
        in_turns(sides, times, lambda side: side.ask("/"), "today's strip, 300 batches")
        in_turns(sides, times, Side.store, "storing a sample")
        for side in sides.values():
            side.db.close()


if __name__ == "__main__":
    main()
