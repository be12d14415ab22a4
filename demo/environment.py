"""The environment that demo/run.py and tests/run.py make for themselves. Standard library only.

It is a virtual environment in the clone (or DRUMSIDE_VENV), with the project installed from the pinned versions in
deploy/constraints.txt. A stamp inside it says what it was made from, so that the next start takes no time.
"""

from __future__ import annotations

import fcntl
import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
CONSTRAINTS = ROOT / "deploy" / "constraints.txt"
STAMP = "drumside.json"
MOST_DAYS = 90
BROWSER_NAMES = ("chromium", "chromium-browser")
# What a browser in a container or under root needs, and nothing that reaches outside.
BROWSER_ARGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)


class Trouble(Exception):
    """Something the person at the keyboard has to put right; its text is the one line that says how."""


def days() -> int:
    """How many days the demo tells: as many as scenario.toml has, unless fewer are asked for."""
    given = os.environ.get("DRUMSIDE_DEMO_DAYS") or str(MOST_DAYS)
    if not given.isdecimal() or not 2 <= int(given) <= MOST_DAYS:
        raise Trouble(f"DRUMSIDE_DEMO_DAYS={given} is no number of days from 2 to {MOST_DAYS}.")
    return int(given)


def folder() -> Path:
    """Where the environment is, or will be."""
    chosen = os.environ.get("DRUMSIDE_VENV")
    return Path(chosen).expanduser().resolve() if chosen else ROOT / ".venv"


def python() -> Path:
    """The environment's own Python."""
    return folder() / "bin" / "python"


def ensure(extra: str = "") -> Path:
    """Make or update the environment, with the optional dependencies named `extra`; returns its Python."""
    if sys.version_info < (3, 11):  # noqa: UP036 (an older Python runs this file too)
        raise Trouble(f"Drumside needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    home = folder()
    home.mkdir(parents=True, exist_ok=True)
    # The demo and the tests may be started at once: one makes it, the other waits.
    lock = os.open(home, os.O_RDONLY)
    try:
        fcntl.flock(lock, fcntl.LOCK_EX)
        wanted, there = fingerprint(), stamp()
        if wanted not in (there.get(extra), there.get(extra or "tests")):
            if not starts():
                create(home)
            install(extra)
            (home / STAMP).write_text(json.dumps({**there, extra: wanted}))
    finally:
        os.close(lock)
    return python()


def fingerprint() -> str:
    """What the environment depends on: the two files, the place of the clone, and the Python that runs this."""
    digest = hashlib.sha256()
    for part in (ROOT / "pyproject.toml", CONSTRAINTS):
        digest.update(part.read_bytes() + b"\0")
    digest.update(f"{ROOT}\0{sys.version_info[:2]}".encode())
    return digest.hexdigest()


def stamp() -> dict[str, str]:
    """Optional dependencies -> fingerprint they were installed for; empty if the environment does not start."""
    try:
        return json.loads((folder() / STAMP).read_text()) if starts() else {}
    except (OSError, ValueError):
        return {}


def starts() -> bool:
    """Whether the environment is there, whole, and of this Python's version."""
    try:
        seen = subprocess.run(
            [python(), "-c", "import sys, pip; print(sys.version_info[:2])"], capture_output=True, text=True
        )
    except OSError:
        return False
    return seen.returncode == 0 and seen.stdout.strip() == str(sys.version_info[:2])


def create(home: Path) -> None:
    """A new, empty environment; never in a folder that holds something else."""
    if not all(importlib.util.find_spec(name) for name in ("venv", "ensurepip")):
        raise Trouble("This Python cannot make an environment. Install what is missing: apt install python3-venv")
    if home.is_dir() and any(home.iterdir()) and not (home / "pyvenv.cfg").exists():
        raise Trouble(f"{home} is not empty and no Python environment: choose another place with DRUMSIDE_VENV.")
    say(f"Making a Python environment in {home}")
    if subprocess.run([sys.executable, "-m", "venv", "--clear", str(home)]).returncode:
        raise Trouble("The environment could not be made (see above). On Debian or Ubuntu: apt install python3-venv")


def install(extra: str) -> None:
    """The project itself, from this clone, with the pinned versions of what it needs."""
    say("Installing what Drumside needs (once, about a minute)")
    project = f"{ROOT}[{extra}]" if extra else str(ROOT)
    command = [python(), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    if subprocess.run([*command, "-c", CONSTRAINTS, "-e", project], cwd=ROOT).returncode:
        raise Trouble("Installing failed (see above). It needs a way to a Python package index, this one time.")


def find_browser() -> str | None:
    """A Chromium that starts: DRUMSIDE_CHROMIUM, one on the PATH, or Playwright's own."""
    chosen = os.environ.get("DRUMSIDE_CHROMIUM")
    if chosen:
        return chosen if browser_starts(chosen) else None
    for name in BROWSER_NAMES:
        path = shutil.which(name)
        if path and browser_starts(path):
            return path
    own = playwrights_own()
    return own if own and browser_starts(own) else None


def playwrights_own() -> str | None:
    """Where Playwright would keep its Chromium; None without Playwright."""
    code = "from playwright.sync_api import sync_playwright as p\nwith p() as q: print(q.chromium.executable_path)"
    mine = python() if python().exists() else sys.executable
    seen = subprocess.run([mine, "-c", code], capture_output=True, text=True)
    return seen.stdout.strip() or None if seen.returncode == 0 else None


def browser_starts(path: str) -> bool:
    """Whether it is more than a placeholder: some systems put a script there that only says what to install."""
    try:
        return subprocess.run([path, "--version"], capture_output=True, timeout=30).returncode == 0
    except (OSError, subprocess.TimeoutExpired):
        return False


def say(text: str) -> None:
    """A line for the person, at once."""
    print(text, flush=True)
