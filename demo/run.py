"""The demo, with one command: `python3 demo/run.py`. Makes its own environment; needs Python 3.11 or newer.

    python3 demo/run.py             build the demo if it is not today's, serve it, stop with Ctrl-C
    python3 demo/run.py --keep      go on with the database of the last start, however old
    python3 demo/run.py --fresh     build the database again, whatever was done in it
    python3 demo/run.py --check     start on a database of its own, fetch a page, stop

HOST (127.0.0.1) and PORT (8000, or the next free one) say where it listens. DRUMSIDE_VENV puts the environment
elsewhere than .venv, DRUMSIDE_DEMO the database elsewhere than instance/. DRUMSIDE_DEMO_DAYS tells fewer days than 90:
a slow computer has them sooner.
"""

from __future__ import annotations

import argparse
import contextlib
import fcntl
import hashlib
import json
import os
import select
import signal
import subprocess
import sys
import tempfile
from datetime import date
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from demo import environment  # noqa: E402
from demo.environment import Trouble, say  # noqa: E402

FOLDER = Path(os.environ.get("DRUMSIDE_DEMO") or ROOT / "instance").resolve()
DATABASE = FOLDER / "demo.db"
STAMP = FOLDER / "demo.json"
# What the demo's content is made by.
MAKERS = ("demo", "webapp/store", "webapp/measure", "webapp/gear", "webapp/studies", "webapp/ui")


def main() -> int:
    """The command; returns the exit code."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter, prog="demo/run.py"
    )
    choice = parser.add_mutually_exclusive_group()
    choice.add_argument("--keep", action="store_true", help="go on with the database that is there")
    choice.add_argument("--fresh", action="store_true", help="build the database again")
    choice.add_argument("--check", action="store_true", help="start, fetch a page, stop")
    chosen = parser.parse_args()
    python = environment.ensure()
    from demo import serving  # not before: an older Python has been told by now

    host = os.environ.get("HOST") or "127.0.0.1"
    if chosen.check:
        with tempfile.TemporaryDirectory(prefix="drumside-") as folder:
            return check(python, Path(folder) / "demo.db", host, serving)
    port = choose_port(host, serving)
    FOLDER.mkdir(parents=True, exist_ok=True)
    with open(STAMP.with_suffix(".lock"), "w") as lock:
        prepare(python, chosen.keep, chosen.fresh, lock)
        with serving.Server(python, DATABASE, host, port) as server:
            tell(python, server.address)
            serve(python, server)
    return 0


def choose_port(host: str, serving) -> int:
    """PORT if it is given; else 8000 or the next free one, and a word about it."""
    given = os.environ.get("PORT")
    if given:
        if not given.isdecimal() or not 0 < int(given) < 65536:
            raise Trouble(f"PORT={given} is no port.")
        if not serving.is_free(host, int(given)):
            raise Trouble(f"Port {given} is taken on {host}; give another with PORT=...")
        return int(given)
    port = serving.free_port(host, 8000)
    if port != 8000:
        say(f"Port 8000 is taken, so this is on {port}.")
    return port


def prepare(python: Path, keep: bool, fresh: bool, lock) -> None:
    """Today's demo database; the one that is there if it is today's and made by this code, or is to be kept.

    Demos that run share the lock; building needs it alone, so that no database is replaced under a running server.
    """
    fcntl.flock(lock, fcntl.LOCK_SH)
    wanted = {"day": date.today().isoformat(), "code": code_hash(), "days": environment.days()}
    there = json.loads(STAMP.read_text()) if STAMP.exists() and DATABASE.exists() else None
    if there and (keep or there == wanted) and not fresh:
        say(f"Using the demo built on {there['day']} (--fresh builds it again).")
        return
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        raise Trouble("A demo from an earlier day or code still runs here: stop it first, or use --keep.") from None
    STAMP.unlink(missing_ok=True)
    build(python, DATABASE)
    STAMP.write_text(json.dumps(wanted))
    fcntl.flock(lock, fcntl.LOCK_SH)


def build(python: Path, path: Path) -> None:
    """Build the database with the environment's Python."""
    say(f"Building the demo: {environment.days()} days of an invented roastery (some seconds)")
    if subprocess.run([python, "-m", "demo.build", path], cwd=ROOT).returncode:
        raise Trouble("The demo could not be built (see above).")


def code_hash() -> str:
    """Changes with the code that makes the demo's content."""
    digest = hashlib.sha256()
    for folder in MAKERS:
        for path in sorted((ROOT / folder).glob("*.*")):
            if path.suffix in (".py", ".toml"):
                digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()[:16]


def tell(python: Path, address: str) -> None:
    """Everything somebody needs to begin."""
    from demo.scenario import load

    say(f"\nReady: {address}\n")
    new_code(python, address)
    say("\nThen choose a person and type the PIN:")
    for person in load().people:
        say(f"    {person.pin}   {person.role:8} {person.name}")
    say("\nStart with the day strip, then \"Start a batch\". Invented data; nothing leaves this machine.")
    more = "Enter: a code for another tablet. " if sys.stdin and sys.stdin.isatty() else ""
    say(f"{more}Ctrl-C stops the demo.\n")


def new_code(python: Path, address: str) -> None:
    """A fresh enrolment code."""
    made = subprocess.run(
        [python, "-m", "demo.enrol", DATABASE], cwd=ROOT, capture_output=True, text=True, check=True
    )
    say(f"Make your browser a tablet of the bench: open {address}/enrol")
    say(f"and type the code {made.stdout.strip()} and any name (one tablet, within ten minutes).")


def serve(python: Path, server) -> None:
    """Until Ctrl-C or SIGTERM; Enter makes another code."""
    typed = [sys.stdin] if sys.stdin and sys.stdin.isatty() else []
    while server.runs():
        if select.select(typed, [], [], 0.5)[0]:
            if sys.stdin.readline() == "":
                typed = []
            else:
                new_code(python, server.address)
    raise Trouble("The server has ended by itself (see above).")


def check(python: Path, database: Path, host: str, serving) -> int:
    """Start on a fresh database, fetch a page, stop; 0 if all of it worked."""
    build(python, database)
    port = choose_port(host, serving) if os.environ.get("PORT") else serving.any_port(host)
    with serving.Server(python, database, host, port) as server:
        status, text = server.fetch("/enrol")
        if status != 200 or "<h1>" not in text:
            raise Trouble(f"{server.address}/enrol answered {status}.")
        say(f"Ready: {server.address}")
    say("Checked: it was built, started, answered and stopped.")
    return 0


class Stop(BaseException):
    """Ctrl-C, SIGTERM or a closed terminal."""


def stop(_signal: int, _frame: object) -> None:
    """The first one asks to stop; while stopping, further ones change nothing."""
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.SIG_IGN)
    raise Stop


if __name__ == "__main__":
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, stop)
    try:
        sys.exit(main())
    except Trouble as trouble:
        print(trouble, file=sys.stderr)
        sys.exit(2)
    except Stop:
        with contextlib.suppress(OSError):  # the terminal may be gone
            say("\nStopped.")
        sys.exit(0)
