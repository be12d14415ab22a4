"""python3 tests/run.py: which tests it runs, and that a missing browser is never passed over in silence."""

from __future__ import annotations

import importlib.util
import subprocess
from types import ModuleType

import pytest

from demo.environment import ROOT, Trouble


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """tests/run.py as a module, on a machine without a browser and without a way to get one."""
    spec = importlib.util.spec_from_file_location("run_tests", ROOT / "tests" / "run.py")
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    made.started = []
    monkeypatch.setattr(made.environment, "find_browser", lambda: None)
    monkeypatch.setattr(made.environment, "ensure", lambda extra: "python")

    def run(command, **options):
        made.started.append((list(map(str, command)), options.get("env", {})))
        return subprocess.CompletedProcess(command, made.exits.get(command[2], 0))

    made.exits = {}
    monkeypatch.setattr(made.subprocess, "run", run)
    return made


def test_it_leaves_out_the_long_runs_unless_asked(command):
    shared = ["-n", "3", "--dist", "loadfile", "--no-loadscope-reorder"]
    assert command.pytest_arguments([]) == ["-m", "not long", *shared]
    assert command.pytest_arguments(["tests/store"]) == ["-m", "not long", "tests/store"]
    assert command.pytest_arguments(["--long", "-x"]) == ["-x"]
    assert command.pytest_arguments(["-m", "browser"]) == ["-m", "browser"]


def test_it_says_that_browser_tests_are_skipped(command, monkeypatch, capsys):
    monkeypatch.delenv("CI", raising=False)
    assert command.main([]) == 0
    assert "apt install chromium (they are skipped)" in capsys.readouterr().out
    assert [c[2] for c, _env in command.started] == ["playwright", "ruff", "pytest"]
    assert command.started[-1][1]["DRUMSIDE_CHROMIUM"] == "none"


def test_it_fails_without_a_browser_where_nobody_would_read_that(command, monkeypatch, capsys):
    monkeypatch.setenv("CI", "1")
    assert command.main([]) == 2
    assert "apt install chromium" in capsys.readouterr().err
    assert "pytest" not in [c[2] for c, _env in command.started]


def test_it_hands_the_browser_that_it_found_to_the_tests(command, monkeypatch):
    monkeypatch.setattr(command.environment, "find_browser", lambda: "/somewhere/chromium")
    assert command.main(["-x"]) == 0
    assert command.started[-1][0][-1] == "-x"
    assert command.started[-1][1]["DRUMSIDE_CHROMIUM"] == "/somewhere/chromium"


def test_it_keeps_what_is_compiled_out_of_the_clone(command, monkeypatch, tmp_path):
    monkeypatch.setenv("PYTHONDONTWRITEBYTECODE", "1")
    monkeypatch.setenv("DRUMSIDE_VENV", str(tmp_path))
    monkeypatch.setattr(command.environment, "find_browser", lambda: "/somewhere/chromium")
    assert command.main([]) == 0
    given = command.started[-1][1]
    assert not given["PYTHONDONTWRITEBYTECODE"]
    assert given["PYTHONPYCACHEPREFIX"] == str(tmp_path / "bytecode")


@pytest.mark.parametrize("fails", ["ruff", "pytest"])
def test_its_exit_code_is_that_of_what_failed(command, monkeypatch, fails):
    monkeypatch.setattr(command.environment, "find_browser", lambda: "/somewhere/chromium")
    command.exits[fails] = 7
    assert command.main([]) == 7


def test_it_gives_up_in_one_line_when_there_is_no_environment(command, monkeypatch, capsys):
    def refuse(extra: str) -> None:
        raise Trouble("Install what is missing: apt install python3-venv")

    monkeypatch.setattr(command.environment, "ensure", refuse)
    assert command.main([]) == 2
    assert capsys.readouterr().err == "Install what is missing: apt install python3-venv\n"


def test_the_benchmark_is_run_with_its_own_options(command):
    assert command.main(["--bench", "--smoke"]) == 0
    assert command.started == [(["python", "tests/benchmarks/bench.py", "--smoke"], command.started[0][1])]
