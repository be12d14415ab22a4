"""A bench on which everything has happened once, to copy from; the same examples on every run."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import settings

from tests.store import worked
from webapp.store import connect

settings.register_profile("repeatable", derandomize=True, deadline=None, database=None)
settings.load_profile("repeatable")


@pytest.fixture(scope="session")
def worked_template(templates: dict, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict]:
    """The small roastery after a morning's work, closed; and the id of one record of each kind."""
    path = Path(shutil.copy(templates["roastery"], tmp_path_factory.mktemp("worked") / "worked.db"))
    db = connect.connect(path)
    ids = worked.work(worked.on(db, templates["made"], datetime(2026, 5, 14, 9, 0, tzinfo=UTC)))
    db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    db.close()
    return path, ids


@pytest.fixture
def worked_path(worked_template: tuple, tmp_path: Path) -> Path:
    """A copy of it that nobody has open."""
    return Path(shutil.copy(worked_template[0], tmp_path / "worked.db"))


@pytest.fixture
def ids(worked_template: tuple) -> dict:
    """The ids of its records."""
    return worked_template[1]
