"""The environment that the two commands make: made once, never in somebody else's folder, and plain about trouble."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
from pathlib import Path

import pytest

from demo import environment
from demo.environment import Trouble


@pytest.fixture
def fresh(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A place where there is no environment yet."""
    place = tmp_path / "env"
    monkeypatch.setenv("DRUMSIDE_VENV", str(place))
    return place


def test_it_says_what_to_install_when_python_has_no_venv(fresh, monkeypatch):
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None if name == "ensurepip" else object())
    with pytest.raises(Trouble, match="apt install python3-venv$") as trouble:
        environment.ensure()
    assert "\n" not in str(trouble.value)


def test_it_says_that_python_is_too_old(fresh, monkeypatch):
    monkeypatch.setattr(sys, "version_info", (3, 10, 4))
    with pytest.raises(Trouble, match=r"3\.11 or newer"):
        environment.ensure()


def test_it_never_clears_a_folder_that_holds_something_else(fresh):
    fresh.mkdir()
    (fresh / "letters.txt").write_text("mine")
    with pytest.raises(Trouble, match="DRUMSIDE_VENV"):
        environment.ensure()
    assert (fresh / "letters.txt").read_text() == "mine"


def test_it_installs_once_and_again_when_the_versions_change(fresh, monkeypatch, tmp_path):
    installed: list[str] = []
    monkeypatch.setattr(environment, "install", installed.append)
    assert environment.ensure("tests") == fresh / "bin" / "python"
    environment.ensure("tests")
    environment.ensure("")  # the tests' environment holds what the demo needs
    assert installed == ["tests"]
    pins = tmp_path / "constraints.txt"
    pins.write_text("flask==99\n")
    monkeypatch.setattr(environment, "CONSTRAINTS", pins)
    environment.ensure("")
    assert installed == ["tests", ""]


@pytest.mark.long
def test_it_mends_an_environment_whose_python_is_gone(fresh, monkeypatch):
    monkeypatch.setattr(environment, "install", lambda extra: None)
    environment.ensure()
    (fresh / "bin" / "python").unlink()
    environment.ensure()
    assert subprocess.run([fresh / "bin" / "python", "-c", "pass"]).returncode == 0


def test_it_takes_the_browser_that_is_named_or_none(monkeypatch, tmp_path):
    stub = tmp_path / "chromium"
    stub.write_text("#!/bin/sh\necho 'this is only a placeholder' >&2\nexit 1\n")
    stub.chmod(0o755)
    monkeypatch.setenv("DRUMSIDE_CHROMIUM", str(stub))
    assert environment.find_browser() is None
    stub.write_text("#!/bin/sh\nexit 0\n")
    assert environment.find_browser() == str(stub)


def test_every_dependency_is_pinned():
    """What pyproject.toml names, with its optional parts, stands in the constraints with one exact version."""
    import re
    import tomllib

    told = tomllib.loads((environment.ROOT / "pyproject.toml").read_text())["project"]
    wanted = told["dependencies"] + [d for more in told["optional-dependencies"].values() for d in more]
    names = {re.split(r"[^A-Za-z0-9-]", line)[0].lower() for line in wanted}
    pinned = {
        line.split("==")[0].lower()
        for line in environment.CONSTRAINTS.read_text().splitlines()
        if re.fullmatch(r"[A-Za-z0-9_.-]+==[0-9][A-Za-z0-9.]*", line)
    }
    assert names <= pinned
