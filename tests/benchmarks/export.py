"""How much memory an export takes, of few readings and of a million: what streams must not grow with them.

    .venv/bin/python tests/benchmarks/export.py                 10,000 against 1,000,000 readings; some minutes
    .venv/bin/python tests/benchmarks/export.py 2000 50000      other numbers
    .venv/bin/python tests/benchmarks/export.py --served        through a gunicorn worker as well

Each form is made in a process of its own, whose peak is what the system says (VmHWM). What the
libraries themselves take is in both numbers; what counts is the difference and the ratio.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
import urllib.request
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.support import roastery  # noqa: E402
from webapp.exchange import columnar, csv_files, json_lines, workbook  # noqa: E402
from webapp.store import connect, export_sets, migrations, sessions  # noqa: E402

FORMS = ("csv", "jsonl", "xlsx", "parquet")
PER_SAMPLE = 12
MOST_RATIO = 1.3


def make(path: Path, readings: int) -> dict[str, str]:
    """A bench with so many readings, twelve a sample and two samples a batch, made in bulk; its lead and tablet."""
    migrations.migrate(path)
    db = connect.connect(path)
    made = roastery.make(db)
    made.now = datetime.now(UTC)
    batch = made.batch("B")
    sample = made.sample(batch.id, "whole", [56.2, 56.3, 56.1, 56.2, 56.2, 56.3], [56.4, 56.2, 56.3, 56.1, 56.2, 56.3])
    multiply(db, batch.id, sample.id, -(-readings // PER_SAMPLE) - 1)
    lead = {"person": made.people["lead"], "tablet": made.tablet, "secret": made.tablet_secret}
    db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    db.close()
    return lead


def sign_in(path: Path, lead: dict[str, str]) -> dict[str, str]:
    """Cookies of its lead, who has entered the PIN just now."""
    db = connect.connect(path)
    token = sessions.start_session(db, lead["person"], lead["tablet"], 12, datetime.now(UTC))
    db.close()
    return {"tablet": lead["secret"], "person": token}


def multiply(db, batch_id: str, sample_id: str, samples: int) -> None:
    """So many copies of a sample with its readings, two a batch. (No ledger: an export does not look at it.)"""
    numbers = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < :many)"
    id_of = "substr(:id, 1, 24) || printf('%012x', i)"
    values = {"many": max(samples, 1), "id": sample_id, "batch": batch_id}
    db.conn.execute("BEGIN")
    for table, ids in (("batch", ("id",)), ("sample", ("id", "batch_id")), ("reading", ("sample_id",))):
        names = [row[1] for row in db.conn.execute(f"PRAGMA table_info({table})")]
        every = "i % 2 = 1" if table == "batch" else "1"
        new = dict.fromkeys(ids, id_of)
        if table == "batch":
            new = {"id": "substr(:batch, 1, 24) || printf('%012x', i)", "code": "'B-' || i",
                   "day": "date('2020-01-01', (i / 40) || ' days')"}  # fmt: skip
        elif table == "sample":
            new["batch_id"] = "substr(:batch, 1, 24) || printf('%012x', i - (i + 1) % 2)"
        listed = ", ".join(new.get(name, f"t.{name}") for name in names)
        where = "t.id = :batch" if table == "batch" else f"t.{'id' if table == 'sample' else 'sample_id'} = :id"
        db.conn.execute(
            f"INSERT INTO {table} {numbers} SELECT {listed} FROM n, {table} t WHERE {where} AND {every}",
            values if samples else values | {"many": 0},
        )
    db.conn.execute("COMMIT")


def write(path: Path, form: str, to: Path) -> None:
    """One export of the readings, as the app makes it."""
    db = connect.connect(path)
    wanted = export_sets.BY_NAME["readings"]
    rows = export_sets.rows(db, wanted)
    if form == "xlsx":
        workbook.write(to, [(one.name, one.columns, export_sets.rows(db, one)) for one in export_sets.SETS])
    elif form == "parquet":
        columnar.write(to, wanted.columns, rows)
    else:
        pieces = csv_files.written(wanted.columns, rows) if form == "csv" else json_lines.written(wanted.columns, rows)
        with to.open("wb") as file:
            for piece in pieces:
                file.write(piece)


def peak_of(path: Path, form: str) -> tuple[float, float, float]:
    """(peak in MB, seconds, size in MB) of one export in a process of its own."""
    code = f"from tests.benchmarks import export as e; e.told({str(path)!r}, {form!r})"
    said = subprocess.run([sys.executable, "-c", code], cwd=ROOT, text=True, capture_output=True, check=True).stdout
    return tuple(float(word) for word in said.split())


def told(path: str, form: str) -> None:
    """Make one export and say what it took: what `peak_of` asks another process to do."""
    with tempfile.TemporaryDirectory() as folder:
        begun = time.monotonic()
        write(Path(path), form, Path(folder) / "export")
        size = (Path(folder) / "export").stat().st_size / 1e6
        print(peak("self"), time.monotonic() - begun, size)


def peak(process: str) -> float:
    """The most that a process ever took, in MB (of ru_maxrss a child inherits its parent's)."""
    return int(Path(f"/proc/{process}/status").read_text().split("VmHWM:")[1].split()[0]) / 1024


def served(path: Path, cookies: dict[str, str], form: str, port: int) -> tuple[float, float, float]:
    """The same through a worker of gunicorn: (its peak in MB, seconds, MB that came)."""
    environ = os.environ | {
        "DRUMSIDE_DATABASE": str(path), "DRUMSIDE_SECRET_KEY": "benchmark " * 4, "WEB_CONCURRENCY": "1",
    }  # fmt: skip
    # Without the configuration of the deployment: it loads what draws trends some time after the start, in the middle
    # of a long export or not.
    command = [sys.executable, "-m", "gunicorn", "-k", "gthread", "--threads", "4", "-b", f"127.0.0.1:{port}",
               "--no-control-socket", "webapp.wsgi:app"]  # fmt: skip
    server = subprocess.Popen(command, cwd=ROOT, env=environ)
    try:
        address = f"http://127.0.0.1:{port}"
        wait_for(f"{address}/offline")
        worker = Path(f"/proc/{server.pid}/task/{server.pid}/children").read_text().split()[0]
        request = urllib.request.Request(f"{address}/export/file?set=readings&form={form}")
        request.add_header("Cookie", "; ".join(f"{name}={value}" for name, value in cookies.items()))
        begun, came = time.monotonic(), 0
        with urllib.request.urlopen(request, timeout=900) as answer:
            assert answer.headers["Content-Disposition"], "no file came"
            while piece := answer.read(1 << 16):
                came += len(piece)
        return peak(worker), time.monotonic() - begun, came / 1e6
    finally:
        server.terminate()
        server.wait()


def wait_for(address: str) -> None:
    """Until the server answers."""
    end = time.monotonic() + 60
    while time.monotonic() < end:
        try:
            return urllib.request.urlopen(address, timeout=5).close()
        except OSError:
            time.sleep(0.2)
    raise SystemExit("the server does not answer")


def main() -> int:
    """Print the table; 1 if something grew."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("readings", type=int, nargs="*", default=[10_000, 1_000_000])
    parser.add_argument("--served", action="store_true", help="through a worker of gunicorn as well")
    parser.add_argument("--forms", nargs="*", choices=FORMS, default=list(FORMS), help="a workbook takes longest")
    parser.add_argument("--port", type=int, default=8977)
    chosen = parser.parse_args()
    grown = False
    with tempfile.TemporaryDirectory(prefix="drumside-export-bench-") as folder:
        paths = [Path(folder) / f"{count}.db" for count in chosen.readings]
        leads = [make(path, count) for path, count in zip(paths, chosen.readings, strict=True)]
        ways = [("direct", lambda no, form: peak_of(paths[no], form))]
        if chosen.served:
            ways.append((
                "served", lambda no, form: served(paths[no], sign_in(paths[no], leads[no]), form, chosen.port),
            ))  # fmt: skip
        for way, ask in ways:
            for form in chosen.forms:
                found = [ask(no, form) for no in range(len(paths))]
                ratio = found[-1][0] / found[0][0]
                grown = grown or ratio > MOST_RATIO
                told = "   ".join(f"{count:>9,}: {most:6.1f} MB peak {seconds:6.1f} s {size:7.1f} MB" for count, (
                    most, seconds, size) in zip(chosen.readings, found, strict=True))  # fmt: skip
                print(f"{way:7} {form:8} {told}   x {ratio:.2f} (wanted: {MOST_RATIO} at most)", flush=True)
    return int(grown)


if __name__ == "__main__":
    sys.exit(main())
