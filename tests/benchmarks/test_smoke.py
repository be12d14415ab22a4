"""The benchmark still runs, and its made-up history is what the store would have written. No figure is judged."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from demo import environment, scenario
from demo.build import build
from tests.benchmarks.history import lengthen
from tests.benchmarks.load import percentile
from webapp.store import connect, ledger, results

BENCH = Path(__file__).with_name("bench.py")
OVERVIEW = Path(__file__).with_name("trends_overview.py")
STUDIES = Path(__file__).with_name("studies.py")
TAKE_IN = Path(__file__).with_name("take_in.py")
TREND_PAGE = Path(__file__).with_name("trend_page.py")


@pytest.mark.long
def test_it_runs_and_prints_every_figure(tmp_path):
    done = subprocess.run(
        [sys.executable, BENCH, "--smoke"], cwd=tmp_path, capture_output=True, text=True, timeout=300,
        env={**os.environ, "DRUMSIDE_CHROMIUM": environment.find_browser() or "none"},
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    for figure in ("server time", "(304)", "ours as a share of it", "first load"):
        assert figure.lower() in done.stdout.lower()


def test_the_one_of_studies_runs_and_prints_every_figure(tmp_path):
    done = subprocess.run([sys.executable, STUDIES, "--smoke"], cwd=tmp_path, capture_output=True, text=True)
    for figure in ("the first one", "5 x 5 x 3:", "over one standard deviation", "10 x 10 x 5 over"):
        assert figure in done.stdout, done.stdout + done.stderr


@pytest.mark.long
def test_the_one_of_trends_runs_and_prints_every_figure(tmp_path):
    done = subprocess.run([sys.executable, TREND_PAGE, "--smoke"], cwd=tmp_path, capture_output=True, text=True)
    for figure in ("never seen", "kept", "never seen to kept", "After 3 more pages"):
        assert figure in done.stdout, done.stdout + done.stderr


@pytest.mark.long
def test_the_one_of_the_overview_runs_and_prints_every_figure(tmp_path):
    done = subprocess.run([sys.executable, OVERVIEW, "--smoke"], cwd=tmp_path, capture_output=True, text=True)
    for figure in ("the overview, large", "today's strip", "storing a sample, large", "large to small"):
        assert figure in done.stdout, done.stdout + done.stderr


def test_its_history_is_what_the_store_would_have_written(tmp_path):
    told = scenario.load()
    told.days["history"] = 6
    build(tmp_path / "small.db", datetime(2026, 5, 14, 12, tzinfo=ZoneInfo("Europe/Vienna")), told)
    added = lengthen(tmp_path / "small.db", tmp_path / "large.db", 150)
    db = connect.connect(tmp_path / "large.db")
    try:
        assert added >= 150
        assert list(ledger.faults(db)) == []
        assert results.rebuild(db) == []
        assert {row["n"] for row in db.query("SELECT count(*) AS n FROM batch GROUP BY code")} == {1}
    finally:
        db.close()


@pytest.mark.parametrize(
    ("share", "value"), [(0.5, 10), (0.95, 19), (1.0, 20), (0.05, 1), (0.01, 1)]
)
def test_its_percentile_is_the_nearest_rank(share, value):
    """Nearest rank: the smallest value with at least that share of all at or below it."""
    assert percentile([float(n) for n in range(20, 0, -1)], share) == value


def test_the_one_of_files_runs_and_prints_every_figure(tmp_path):
    done = subprocess.run([sys.executable, TAKE_IN, "--smoke"], cwd=tmp_path, capture_output=True, text=True)
    for figure in ("looking at all values", "the page that shows it", "200 rows:", "times the work of the bench's way"):
        assert figure in done.stdout, done.stdout + done.stderr
