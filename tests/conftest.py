"""What most tests need: a migrated database in a file, a small roastery in it, the app, a client that looks."""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from flask import Flask
from jinja2 import FileSystemBytecodeCache
from playwright.sync_api import Browser, sync_playwright
from sqlite_utils import Database

from tests.support import in_memory, roastery
from tests.support.browser import ARGUMENTS, NO_POPUPS, chromium
from tests.support.pages import CheckingClient
from tests.support.roastery import Roastery
from webapp import create_app
from webapp.config import Config
from webapp.store import connect, migrations, people, sessions

# Before anything asks for a temporary folder: this process, its workers, and the browsers that they start.
in_memory.use()

# Hashing a PIN is slow on purpose; tests do it hundreds of times. tests/people/test_pin_hash.py looks at the real cost.
people.hasher = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)

# An app of a test's own takes the templates as another has compiled them, also in another worker of the same run.
if "TEMPLATES_OF_THIS_TEST_RUN" not in os.environ:
    os.environ["TEMPLATES_OF_THIS_TEST_RUN"] = tempfile.mkdtemp(prefix="drumside-templates-")
    atexit.register(shutil.rmtree, os.environ["TEMPLATES_OF_THIS_TEST_RUN"], ignore_errors=True)
COMPILED = FileSystemBytecodeCache(os.environ["TEMPLATES_OF_THIS_TEST_RUN"])

SECRET = "tests only: not a secret, but long enough"


def pytest_report_header() -> str:
    """The engine matters: the journal mode depends on it."""
    version = connect.engine_version()
    return f"SQLite {'.'.join(map(str, version))}, journal {connect.journal_for(version)[0]}"


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The seed of every random walk, also of one that went well."""
    for report in (one for found in terminalreporter.stats.values() for one in found):
        for name, value in getattr(report, "user_properties", ()) if getattr(report, "when", "") == "call" else ():
            terminalreporter.write_line(f"{name}={value}  {report.nodeid}")


# What takes a minute or more begins before everything else, so that nobody waits for it at the end.
LONG = ("tests/browser/test_accessibility.py", "tests/walk/", "tests/demo/test_run.py", "tests/demo/test_build.py")


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """When several workers share the files: the long ones first, then those with a browser evenly among the others.

    A browser waits much and asks for everything at once; three at a time would make each other late.
    """
    if "PYTEST_XDIST_WORKER" in os.environ:
        files: dict[str, list[pytest.Item]] = {}
        for item in items:
            files.setdefault(item.nodeid.split("::")[0], []).append(item)
        items[:] = [item for name in in_good_order(list(files)) for item in files[name]]


def in_good_order(names: list[str]) -> list[str]:
    """Files of tests, as several workers take them one after the other."""
    long = [name for begins in LONG for name in names if name.startswith(begins)]
    rest = [name for name in names if name not in long]
    browsers = [name for name in rest if name.startswith("tests/browser/")]
    others = [name for name in rest if name not in browsers]
    places = [(no / max(len(part), 1), name) for part in (browsers, others) for no, name in enumerate(part)]
    return [*long, *(name for _place, name in sorted(places))]


@pytest.fixture(scope="session")
def templates(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Two databases to copy from: an empty bench, and the small roastery. Hashing PINs once is enough."""
    folder = tmp_path_factory.mktemp("databases")
    paths = {"empty": folder / "empty.db", "roastery": folder / "roastery.db"}
    for path in paths.values():
        migrations.migrate(path)
    db = connect.connect(paths["roastery"])
    paths["made"] = roastery.make(db)
    db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    db.close()
    return paths


@pytest.fixture
def empty_path(templates: dict[str, Path], tmp_path: Path) -> Path:
    """A migrated database with nobody in it."""
    return Path(shutil.copy(templates["empty"], tmp_path / "bench.db"))


@pytest.fixture
def path(templates: dict[str, Path], tmp_path: Path) -> Path:
    """The small roastery's database."""
    return Path(shutil.copy(templates["roastery"], tmp_path / "bench.db"))


@pytest.fixture
def db(path: Path) -> Iterator[Database]:
    """A connection to it."""
    opened = connect.connect(path)
    yield opened
    opened.close()


@pytest.fixture
def bench(db: Database, templates: dict) -> Roastery:
    """The small roastery itself, at the present moment."""
    made = templates["made"]
    copy = Roastery(db, now=datetime.now(UTC))
    copy.__dict__.update({k: v for k, v in made.__dict__.items() if k not in ("db", "now")})
    return copy


def application(path: Path) -> Flask:
    """An app of one's own, for tests that change its settings."""
    app = create_app(Config(database=path, secret_key=SECRET, testing=True))
    app.jinja_env.bytecode_cache = COMPILED
    app.test_client_class = CheckingClient
    app.config["WTF_CSRF_ENABLED"] = False
    return app


@pytest.fixture(scope="session")
def made_app() -> Flask:
    """One app for all tests: making it takes longer than most of them."""
    return application(Path("set by each test"))


@pytest.fixture
def app(made_app: Flask, path: Path) -> Flask:
    """The app on the small roastery. Form tokens are off here; tests of the tokens turn them on."""
    made_app.config.update(DATABASE=path, WTF_CSRF_ENABLED=False)
    return made_app


@pytest.fixture
def client(app: Flask, bench: Roastery) -> CheckingClient:
    """A client on the enrolled tablet; nobody is signed in."""
    made = app.test_client()
    made.set_cookie("tablet", bench.tablet_secret)
    return made


@pytest.fixture
def sign_in(app: Flask, bench: Roastery) -> Callable[[str], CheckingClient]:
    """sign_in('lead') gives a client on the tablet with that person signed in and the PIN entered just now."""

    def by(role: str) -> CheckingClient:
        made = app.test_client()
        made.set_cookie("tablet", bench.tablet_secret)
        made.set_cookie("person", sessions.start_session(bench.db, bench.people[role], bench.tablet, 12, bench.now))
        return made

    return by


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for all tests, opened by the first that needs it."""
    if chromium() == "none":
        pytest.skip("no Chromium: apt install chromium")
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium(), args=[*ARGUMENTS, NO_POPUPS])
        yield opened
        opened.close()
