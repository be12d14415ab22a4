"""Tablets that ask and store, and what the clock says about it."""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import random
import re
import statistics
import threading
import time
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import urlencode

from sqlite_utils import Database

from demo.serving import Server
from tests.support.pages import Page
from webapp.store import batches, connect, sessions, times
from webapp.store.batches import NewBatch
from webapp.store.connect import one, write
from webapp.store.who import SYSTEM, Who

# Served time in microseconds, as gunicorn measures it: from the request's arrival at its worker to the answer's end.
LOG_FORMAT = "%(m)s %(U)s %(s)s %(D)s"
READINGS = (0, 1, -1)  # steps beside the target: they agree, and nothing is asked


def percentile(values: list[float], share: float) -> float:
    """The value below which this share lies (nearest rank)."""
    ranked = sorted(values)
    return ranked[max(0, -(-int(share * 1000) * len(ranked) // 1000) - 1)]


@dataclass(frozen=True)
class Answer:
    """What came back, and after how many milliseconds."""

    status: int
    headers: dict[str, str]
    body: bytes
    ms: float


class Tablet:
    """One enrolled tablet with a person signed in, on one kept-alive connection."""

    def __init__(self, server: Server, cookies: dict[str, str]) -> None:
        self.connection = http.client.HTTPConnection(server.reached, server.port, timeout=60)
        self.connection.connect()
        self.cookies = dict(cookies)
        self.fields: list[tuple[str, str]] = []
        self.pages: Iterator[str] = iter(())
        self.tag = ""

    def ask(self, method: str, path: str, body: str | None = None, **headers: str) -> Answer:
        """One request."""
        told = {"Cookie": "; ".join(f"{n}={v}" for n, v in self.cookies.items()), **headers}
        if body is not None:
            told["Content-Type"] = "application/x-www-form-urlencoded"
        started = time.perf_counter()
        self.connection.request(method, path, body, {k.replace("_", "-"): v for k, v in told.items()})
        answer = self.connection.getresponse()
        content = answer.read()
        ms = (time.perf_counter() - started) * 1000
        for name, value in answer.getheaders():
            if name.lower() == "set-cookie":
                name, _equals, rest = value.partition("=")
                self.cookies[name] = rest.split(";")[0]
        return Answer(answer.status, {k.lower(): v for k, v in answer.getheaders()}, content, ms)

    def open_capture(self, path: str) -> None:
        """Load the capture page and fill in the whole form: every step ticked, three readings."""
        answer = self.ask("GET", path)
        assert answer.status == 200, (path, answer.status, answer.body[:500])
        page = Page(answer.body.decode())
        fields = form_fields(page)
        kit = json.loads(next(e.attrs["data-kit"] for e in page.elements if "data-kit" in e.attrs))
        decimals = 2 if kit["scale"]["step"] < 0.1 else 1
        for no, beside in enumerate(READINGS):
            value = kit["band"]["centre"] + beside * kit["scale"]["step"]
            fields[f"fills-0-readings-{no}-value"] = f"{value:.{decimals}f}"
        now = times.to_text(times.now())
        for name in [n for n in fields if re.fullmatch(r"steps-\d+-at", n)]:
            fields[name] = now
            fields[name.replace("-at", "-done")] = "y"
        fields["checklist"] = "short"
        self.fields = [(name, value) for name, value in fields.items() if name not in ("id", "take", "next")]

    def store(self, path: str) -> Answer:
        """Send the filled form, as a new sample."""
        answer = self.ask("POST", path, urlencode([*self.fields, ("id", str(uuid.uuid4()))]))
        assert answer.status == 303, (path, answer.status, re.findall(rb"<li>(.*?)</li>", answer.body))
        return answer

    def close(self) -> None:
        """Hang up."""
        self.connection.close()


def form_fields(page: Page) -> dict[str, str]:
    """Names and values that a browser would send from the capture page as it comes."""
    fields: dict[str, str] = {}
    select = ""
    for e in page.elements:
        name = e.attrs.get("name", "")
        if e.tag == "select":
            select = name
        elif e.tag == "option" and "selected" in e.attrs:
            fields[select] = e.attrs.get("value", "")
        elif e.tag in ("input", "textarea") and name:
            if e.attrs.get("type") in ("checkbox", "radio") and "checked" not in e.attrs:
                continue
            fields[name] = e.attrs.get("value", "")
    return fields


def enrol(db: Database, count: int) -> list[dict[str, str]]:
    """So many tablets, each with somebody signed in: their cookies."""
    now = times.now()
    people = [row["id"] for row in db.query("SELECT id FROM person WHERE role <> 'trainee' AND active = 1")]
    cookies = []
    for no in range(count):
        tablet_id, secret = sessions.enrol_tablet(db, f"Bench {no + 1}", SYSTEM, now)
        token = sessions.start_session(db, people[no % len(people)], tablet_id, 12, now)
        cookies.append({"tablet": secret, "person": token})
    return cookies


def new_batches(db: Database, count: int) -> list[str]:
    """So many batches without a sample, on a day of long ago, so that no day on show grows; their capture pages."""
    product = one(db, "SELECT id FROM product WHERE short = 'LH'")
    machine = one(db, "SELECT id FROM machine ORDER BY name LIMIT 1")
    person = one(db, "SELECT id FROM person WHERE role = 'roaster' ORDER BY name LIMIT 1")
    tablet = one(db, "SELECT id FROM tablet WHERE revoked_at IS NULL LIMIT 1")
    who, now = Who(person["id"], "roaster", tablet["id"]), times.now()
    start = datetime(1999, 1, 4, 6, tzinfo=UTC)
    paths = []
    with write(db):
        for no in range(count):
            batch_id, at = str(uuid.uuid4()), times.to_text(start + timedelta(minutes=no))
            new = NewBatch(batch_id, f"load-{batch_id[:8]}", product["id"], machine["id"], "K-1", 15000, 12700, 2110,
                           690, 120, "", at, at)  # fmt: skip
            batches.add_batch(db, new, who, now)
            paths.append(f"/batches/{batch_id}/whole")
    return paths


@dataclass(frozen=True)
class Load:
    """Milliseconds that the tablets waited, requests per second over all, and what went wrong."""

    waited: list[float]
    per_second: float
    failed: list[str]

    def at(self, share: float) -> float:
        """A percentile of the waiting."""
        return percentile(self.waited, share)


class Crew:
    """Workers that each do the same thing again and again, each in its own thread."""

    def __init__(self, workers: list[Callable[[], float]]) -> None:
        self.workers = workers
        self.waited: list[float] = []
        self.failed: list[str] = []

    def once(self, worker: Callable[[], float]) -> None:
        """One request; what goes wrong is counted, and does not stop the others."""
        try:
            self.waited.append(worker())
        except Exception as problem:
            self.failed.append(f"{type(problem).__name__}: {problem}")

    def run(self, work: Callable[[Callable[[], float]], None]) -> float:
        """All workers at once, each in `work`; the seconds until the last is done."""
        threads = [threading.Thread(target=work, args=(worker,), daemon=True) for worker in self.workers]
        started = time.perf_counter()
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        return time.perf_counter() - started

    def load(self, seconds: float) -> Load:
        """What came of it."""
        return Load(self.waited, len(self.waited) / seconds, self.failed)


def working(workers: list[Callable[[], float]], times_each: int, every: float, seed: int = 1) -> Load:
    """Every worker at moments of its own, once in `every` seconds on average (exponential pauses)."""
    crew, chance = Crew(workers), random.Random(seed)
    pauses = {id(worker): [chance.expovariate(1 / every) for _time in range(times_each)] for worker in workers}

    def work(worker: Callable[[], float]) -> None:
        for pause in pauses[id(worker)]:
            time.sleep(pause)
            crew.once(worker)

    return crew.load(crew.run(work))


def same_moment(workers: list[Callable[[], float]], rounds: int, pause: float) -> Load:
    """Every worker at the same moment, then a pause; so many rounds. The rate counts the pauses."""
    crew, barrier = Crew(workers), threading.Barrier(len(workers))

    def work(worker: Callable[[], float]) -> None:
        for _round in range(rounds):
            time.sleep(pause)
            barrier.wait()
            crew.once(worker)

    return crew.load(crew.run(work))


def flat_out(workers: list[Callable[[], float]], times_each: int) -> Load:
    """Every worker as often as it can, without a pause: what the server can do at most."""
    crew = Crew(workers)

    def work(worker: Callable[[], float]) -> None:
        for _time in range(times_each):
            crew.once(worker)

    return crew.load(crew.run(work))


def served(log: Path, method: str, pattern: str) -> list[float]:
    """Milliseconds that the server took for each request of this kind, from its access log."""
    wanted = re.compile(rf"{method} {pattern} \d+ (\d+)")
    found = (wanted.fullmatch(line.strip()) for line in log.read_text().splitlines())
    return [int(match[1]) / 1000 for match in found if match]


def forget(log: Path) -> None:
    """Begin the access log anew (gunicorn appends to it)."""
    os.truncate(log, 0)


def processor_ms(server: Server) -> float:
    """Processor time that the server's workers have used so far: it does not hang on what else the machine does."""
    ticks = 0
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            told = stat.read_text().rsplit(")", 1)[1].split()
            if int(told[1]) == server.process.pid:  # its parent
                ticks += int(told[11]) + int(told[12])
    return ticks * 1000 / os.sysconf("SC_CLK_TCK")


def mean(values: list[float]) -> float:
    """For the ratio of two series."""
    return statistics.fmean(values)


def opened(path: Path) -> Database:
    """A connection of the benchmark's own."""
    return connect.connect(path)
