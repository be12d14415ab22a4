"""The demo's database, built once for the tests that only look at it."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from sqlite_utils import Database

from demo import scenario
from demo.build import build
from webapp.store import connect

VIENNA = ZoneInfo("Europe/Vienna")
AFTERNOON = datetime(2026, 5, 14, 13, 30, tzinfo=VIENNA)


@dataclass(frozen=True)
class Built:
    """A demo database, the moment it was built for, and the processor time it took."""

    path: Path
    db: Database
    now: datetime
    seconds: float

    def rows(self, sql: str, *values: object) -> list[tuple]:
        """What a query gives."""
        return [tuple(row.values()) for row in self.db.query(sql, values)]


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Built]:
    """The whole demo as on a Thursday afternoon."""
    path = tmp_path_factory.mktemp("demo") / "demo.db"
    started = time.process_time()
    build(path, AFTERNOON)
    seconds = time.process_time() - started
    db = connect.connect(path)
    yield Built(path, db, AFTERNOON, seconds)
    db.close()


@pytest.fixture
def short(tmp_path: Path) -> Iterator:
    """short(now) builds a demo of the last few days only."""
    made: list[Database] = []

    def make(now: datetime, name: str = "short.db", days: int = 4) -> Built:
        told = scenario.load()
        told.days["history"] = days
        started = time.process_time()
        build(tmp_path / name, now, told)
        made.append(connect.connect(tmp_path / name))
        return Built(tmp_path / name, made[-1], now, time.process_time() - started)

    yield make
    for db in made:
        db.close()
