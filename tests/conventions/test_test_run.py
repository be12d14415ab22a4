"""How several workers share the tests, and where these keep their files."""

from __future__ import annotations

from collections import namedtuple

from tests.conftest import LONG, in_good_order
from tests.conventions.source import ROOT
from tests.support import in_memory


def test_it_begins_with_what_takes_long_and_spreads_the_browsers():
    names = [f"tests/bench/test_{no}.py" for no in range(4)] + [f"tests/browser/test_{no}.py" for no in range(2)]
    long = ["tests/demo/test_run.py", "tests/walk/test_random_walk.py"]
    order = in_good_order(sorted([*names, *long]))
    assert order[:2] == [long[1], long[0]]
    assert [name.split("/")[1] for name in order[2:]] == ["bench", "browser", "bench", "bench", "browser", "bench"]
    assert sorted(order) == sorted([*names, *long])


def test_it_names_only_what_is_there_as_long():
    assert all((ROOT / name).exists() for name in LONG)


def test_it_keeps_files_in_memory_only_where_there_is_room(monkeypatch, tmp_path):
    free = {"bytes": in_memory.ROOM + 1}
    usage = namedtuple("usage", "free")
    monkeypatch.setattr(in_memory.shutil, "disk_usage", lambda _folder: usage(free["bytes"]))
    assert in_memory.has_room(tmp_path)
    assert not in_memory.has_room(tmp_path / "not there")
    free["bytes"] = 64 * 2**20
    assert not in_memory.has_room(tmp_path)


def test_it_leaves_alone_where_somebody_wants_them(monkeypatch):
    monkeypatch.setenv("TMPDIR", "/somewhere/else")
    in_memory.use()
    assert in_memory.os.environ["TMPDIR"] == "/somewhere/else"
