"""How fast the bench is, on this machine: `python3 tests/run.py --bench`.

    --batches 100000   how long the long history is
    --keep FOLDER      keep the databases there, and use them again on the same day
    --smoke            everything once, small: shows that the benchmark works, its figures mean nothing

Figures hang on the machine; what can be compared between machines are the ratios, all from one run. Nothing here
is a test: only whether it runs is tested.
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import ExitStack
from datetime import date, datetime
from functools import partial
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from demo import environment, scenario, serving  # noqa: E402
from demo.build import build  # noqa: E402
from tests.benchmarks import bare, load, weight  # noqa: E402
from tests.benchmarks.history import lengthen  # noqa: E402
from tests.benchmarks.load import Load, Tablet  # noqa: E402
from webapp.store import connect  # noqa: E402

SETTLED = 45  # seconds after the servers' start: see DRAWING_AFTER in deploy/gunicorn.conf.py
TABLETS = 8
EVERY = 0.5  # seconds; a tablet at a real bench stores a sample every few minutes
HOST = "127.0.0.1"
STORED = r"/batches/[0-9a-f-]+/whole"


class Bench:
    """One run: two histories, a server on each, and what they do."""

    def __init__(self, folder: Path, batches: int, smoke: bool) -> None:
        self.folder, self.batches, self.smoke = folder, batches, smoke
        self.rounds, self.each, self.strips = (3, 5, 10) if smoke else (40, 60, 300)
        self.paths = {"small": folder / "small.db", "large": folder / "large.db"}
        self.logs = {name: folder / f"{name}.log" for name in ("small", "large", "bare")}

    def make(self) -> None:
        """The two databases, unless they are there and of today: an older one has nothing on today's strip."""
        made_today = [p.exists() and date.fromtimestamp(p.stat().st_ctime) == date.today() for p in self.paths.values()]
        if all(made_today):
            print("Using the databases that are there.")
            return
        told = scenario.load()
        if self.smoke:
            told.days["history"] = 4
        started = time.monotonic()
        build(self.paths["small"], datetime.now().astimezone(), told)
        db = connect.connect(self.paths["small"])
        db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        db.close()
        print(f"Small history made in {time.monotonic() - started:.0f} s.", flush=True)
        started = time.monotonic()
        added = lengthen(self.paths["small"], self.paths["large"], self.batches)
        size = self.paths["large"].stat().st_size / 1e6
        print(f"{added} batches more: {size:.0f} MB, made in {time.monotonic() - started:.0f} s.", flush=True)

    def server(self, name: str, database: Path, app: str = "webapp.wsgi:app") -> serving.Server:
        """gunicorn as in deploy/, with the served times written down."""
        self.logs[name].unlink(missing_ok=True)
        extra = ("--access-logfile", str(self.logs[name]), "--access-logformat", load.LOG_FORMAT)
        return serving.Server(sys.executable, database, HOST, serving.any_port(HOST), app, extra)

    def run(self) -> None:
        """All of it, printed as it comes."""
        self.make()
        bare.make(str(self.folder / "bare.db"))
        with ExitStack() as stack:
            servers = {name: stack.enter_context(self.server(name, path)) for name, path in self.paths.items()}
            cookies = {name: self.enrol(path) for name, path in self.paths.items()}
            if self.batches > 1000:
                # Each worker starts what draws trends once, some seconds of the processor: not a day's every sample.
                time.sleep(SETTLED)
            self.store(servers, cookies)
            self.strip(servers, cookies)
            self.weigh(servers["small"], cookies["small"][0])
            ours = self.most(servers["large"], cookies["large"])
        with self.server("bare", self.folder / "bare.db", "tests.benchmarks.bare:app") as server:
            self.compare(server, ours)

    def enrol(self, path: Path) -> list[dict[str, str]]:
        """Tablets for a server."""
        db = load.opened(path)
        try:
            return load.enrol(db, TABLETS)
        finally:
            db.close()

    def ready(self, name: str, server: serving.Server, cookies: list[dict], each: int) -> list[Tablet]:
        """Tablets with a filled form, and batches to store samples for."""
        db = load.opened(self.paths[name])
        try:
            pages = load.new_batches(db, TABLETS * each)
        finally:
            db.close()
        tablets = [Tablet(server, cookie) for cookie in cookies]
        for no, tablet in enumerate(tablets):
            tablet.open_capture(pages[no])
            tablet.pages = iter(pages[no::TABLETS])
        return tablets

    def store(self, servers: dict, cookies: dict) -> None:
        """Eight tablets store samples, each at its own moments; then all of them at the very same moment."""
        print(f"\nStoring a sample: {TABLETS} tablets at once, each every {EVERY} s ({self.rounds} times)")
        self.store_by(servers, cookies, partial(load.working, times_each=self.rounds, every=EVERY), "p95 under 25 ms")
        print(f"\nThe worst moment: {TABLETS} tablets store at the same instant ({self.rounds} times)")
        self.store_by(servers, cookies, partial(load.same_moment, rounds=self.rounds, pause=0.2), "")

    def store_by(self, servers: dict, cookies: dict, way: Callable[..., Load], wanted: str) -> None:
        """Both servers in turn, and their ratio."""
        took, used = {}, {}
        for name, server in servers.items():
            tablets = self.ready(name, server, cookies[name], self.rounds)
            load.forget(self.logs[name])
            before = load.processor_ms(server)
            found = way([partial(store_next, tablet) for tablet in tablets])
            used[name] = (load.processor_ms(server) - before) / max(1, len(found.waited))
            for tablet in tablets:
                tablet.close()
            took[name] = load.served(self.logs[name], "POST", STORED)
            say(f"{name} history, server time", took[name], wanted)
            say(f"{name} history, as the tablet waited", found.waited)
            complain(found)
        processor(used)
        ratio("large to small, server time p95", *(load.percentile(took[n], 0.95) for n in ("large", "small")))

    def strip(self, servers: dict, cookies: dict) -> None:
        """Today's strip on both histories, in turns, so that whatever else the machine does meets both."""
        print(f"\nThe day strip: today, {self.strips} times on each, in turns")
        asking = {name: Tablet(server, cookies[name][0]) for name, server in servers.items()}
        for tablet in asking.values():  # the first few open files and fill caches
            for _time in range(5):
                tablet.tag = tablet.ask("GET", "/").headers["etag"]
        full = self.in_turns(servers, asking, 200)
        for name in full:
            say(f"{name} history, whole page", full[name], wanted="p95 under 40 ms")
        large, small = full["large"], full["small"]
        ratio("large to small, p95", load.percentile(large, 0.95), load.percentile(small, 0.95), wanted="1.3 at most")
        ratio("large to small, mean", load.mean(large), load.mean(small))
        same = self.in_turns(servers, asking, 304)
        for name in same:
            say(f"{name} history, nothing new (304)", same[name])
        for tablet in asking.values():
            tablet.close()

    def in_turns(self, servers: dict, asking: dict[str, Tablet], expected: int) -> dict[str, list[float]]:
        """The strip from each server by turns; with 304 expected, as a strip that already shows it asks."""
        waited: dict[str, list[float]] = {name: [] for name in servers}
        before = {name: load.processor_ms(server) for name, server in servers.items()}
        for _time in range(self.strips):
            for name, tablet in asking.items():
                told = {"If_None_Match": tablet.tag} if expected == 304 else {}
                answer = tablet.ask("GET", "/", **told)
                assert answer.status == expected, answer.status
                waited[name].append(answer.ms)
        processor({name: (load.processor_ms(s) - before[name]) / self.strips for name, s in servers.items()})
        return waited

    def weigh(self, server: serving.Server, cookies: dict) -> None:
        """The first load of the capture page."""
        print("\nFirst load of the capture page, gzip-compressed")
        if environment.find_browser() is None:
            print("  not measured: no Chromium here")
            return
        db = load.opened(self.paths["small"])
        try:
            page = load.new_batches(db, 1)[0]
        finally:
            db.close()
        parts = weight.first_load(server, cookies, page)
        for part in parts:
            print(f"  {part.size / 1000:7.1f} kB  {part.path}{'' if part.at_once else '   (later, or only linked)'}")
        at_once = [part for part in parts if part.at_once]
        for what, of in (("asked for at once", at_once), ("with all that comes later", parts)):
            size, plain = sum(p.size for p in of) / 1000, sum(p.plain for p in of) / 1000
            print(f"  {size:7.1f} kB  {what}: {len(of)} parts, {plain:.0f} kB where nothing in front compresses")
        print("  wanted: 100 kB at most. Bodies only, without headers.")

    def most(self, server: serving.Server, cookies: list[dict]) -> Load:
        """As many samples as the server takes."""
        tablets = self.ready("large", server, cookies, self.each)
        found = load.flat_out([partial(store_next, tablet) for tablet in tablets], self.each)
        for tablet in tablets:
            tablet.close()
        return found

    def compare(self, server: serving.Server, ours: Load) -> None:
        """The same tablets on the bare view."""
        print(f"\nAs fast as {TABLETS} tablets can, large history, against a bare Flask view that inserts one row")
        tablets = [Tablet(server, {}) for _no in range(TABLETS)]
        least = load.flat_out([partial(add_row, tablet) for tablet in tablets], self.each * 3)
        for tablet in tablets:
            tablet.close()
        for what, found in (("samples stored", ours), ("rows by the bare view", least)):
            complain(found)
            print(f"  {what:24} {found.per_second:7.0f} per second   (waited p95 {found.at(0.95):.0f} ms)")
        print(f"  {'ours as a share of it':24} {100 * ours.per_second / least.per_second:7.0f} %")


def store_next(tablet: Tablet) -> float:
    """One more sample from this tablet."""
    return tablet.store(next(tablet.pages)).ms


def add_row(tablet: Tablet) -> float:
    """One more row."""
    answer = tablet.ask("POST", "/row", "text=" + "x" * 400)
    assert answer.status == 303, answer.status
    return answer.ms


def say(what: str, values: list[float], wanted: str = "") -> None:
    """One line of figures."""
    p50, p95 = load.percentile(values, 0.5), load.percentile(values, 0.95)
    print(f"  {what:42} p50 {p50:6.1f} ms   p95 {p95:6.1f} ms   {f'(wanted: {wanted})' if wanted else ''}".rstrip())


def complain(found: Load) -> None:
    """What went wrong, if anything: no figure hides it."""
    if found.failed:
        of = len(found.failed) + len(found.waited)
        print(f"  FAILED {len(found.failed)} of {of}, the first: {found.failed[0][:150]}")


def processor(used: dict[str, float]) -> None:
    """Processor time of the server for one request: the figure that other work on the machine moves least."""
    shown = ", ".join(f"{name} {ms:.1f} ms" for name, ms in used.items())
    print(f"  processor time for each: {shown}")


def ratio(what: str, above: float, below: float, wanted: str = "") -> None:
    """One line that can be compared between machines."""
    print(f"  {what:42} x {above / below:.2f}   {f'(wanted: {wanted})' if wanted else ''}".rstrip())


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--batches", type=int, default=100_000)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--smoke", action="store_true")
    chosen = parser.parse_args()
    engine = connect.engine_version()
    journal = "{} {}".format(*connect.journal_for(engine))
    print(
        f"Python {platform.python_version()}, SQLite {'.'.join(map(str, engine))} ({journal}),"
        f" {os.cpu_count()} processors, load before the start {os.getloadavg()[0]:.1f}"
    )
    with tempfile.TemporaryDirectory(prefix="drumside-bench-") as fresh:
        folder = chosen.keep or Path(fresh)
        folder.mkdir(parents=True, exist_ok=True)
        Bench(folder, 200 if chosen.smoke else chosen.batches, chosen.smoke).run()
    print(f"\nLoad at the end {os.getloadavg()[0]:.1f}. Client and server shared the processors.")


if __name__ == "__main__":
    main()
