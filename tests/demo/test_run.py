"""python3 demo/run.py: starts, says how to begin, and leaves nothing running behind."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest

from demo import environment, serving
from tests.support.pages import Page

# test_build.py has all ninety: here it is about what the command does around them.
DAYS = {"DRUMSIDE_DEMO_DAYS": "3"}
COMMAND = [sys.executable, str(environment.ROOT / "demo" / "run.py")]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the demo keeps its database during these tests: built by the first that starts it."""
    return tmp_path_factory.mktemp("instance")


class Started:
    """demo/run.py as somebody would start it, with what it printed."""

    def __init__(self, folder: Path, *arguments: str, cwd: Path | None = None, **environ: str) -> None:
        self.process = subprocess.Popen(
            [*COMMAND, *arguments], cwd=cwd or folder, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT, text=True,
            env={**os.environ, "DRUMSIDE_VENV": sys.prefix, "DRUMSIDE_DEMO": str(folder), **DAYS, **environ},
        )  # fmt: skip
        self.printed = ""

    def until(self, text: str) -> None:
        """Read what it prints until this appears."""
        for line in self.process.stdout:
            self.printed += line
            if text in line:
                return
        raise AssertionError(f"it ended without {text!r}:\n{self.printed}")

    def ended(self) -> int:
        """Its exit code, with the rest of what it printed."""
        self.printed += self.process.communicate(timeout=60)[0]
        return self.process.returncode

    def family(self) -> list[int]:
        """The processes that it has started, and theirs."""
        found = [self.process.pid]
        for pid in found:
            found += [child for child, parent in parents().items() if parent == pid]
        return found[1:]


def parents() -> dict[int, int]:
    """Process -> parent, of everything that lives."""
    told = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, parent = stat.read_text().rsplit(")", 1)[1].split()[:2]
        except OSError:
            continue
        if state != "Z":
            told[int(stat.parent.name)] = int(parent)
    return told


def gone(pids: list[int]) -> bool:
    """Whether all of them end within some seconds."""
    until = time.monotonic() + 15
    while time.monotonic() < until:
        if not set(pids) & set(parents()):
            return True
        time.sleep(0.1)
    return False


@pytest.fixture
def start(folder: Path) -> Iterator:
    """start(...) runs the demo; whatever a failing test leaves running is ended."""
    made: list[Started] = []

    def run(*arguments: str, cwd: Path | None = None, **environ: str) -> Started:
        made.append(Started(folder, *arguments, cwd=cwd, **environ))
        return made[-1]

    yield run
    for started in made:
        if started.process.poll() is None:
            started.process.terminate()
            started.process.communicate(timeout=60)
        started.process.stdout.close()


def test_it_starts_checks_itself_and_stops(start, tmp_path):
    started = start("--check", cwd=tmp_path)
    assert started.ended() == 0, started.printed
    assert "Checked:" in started.printed


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_it_stops_in_order(start, number):
    port = serving.any_port("127.0.0.1")
    started = start(PORT=str(port))
    started.until("Ctrl-C stops")
    with urllib.request.urlopen(f"http://127.0.0.1:{port}/enrol") as answer:
        assert answer.status == 200
    family = started.family()
    assert len(family) >= 3  # gunicorn and its workers
    started.process.send_signal(number)
    assert started.ended() == 0, started.printed
    assert started.printed.endswith("Stopped.\n")
    assert "Traceback" not in started.printed
    assert gone(family)


def test_it_says_how_to_begin(start):
    port = serving.any_port("127.0.0.1")
    started = start(PORT=str(port))
    started.until("Ctrl-C stops")
    printed = started.printed
    assert f"Ready: http://127.0.0.1:{port}\n" in printed
    assert re.search(r"code [0-9A-Z]{4}-[0-9A-Z]{4} ", printed)
    assert len(re.findall(r"^ +\d{6} +(?:lead|roaster|trainee) ", printed, re.MULTILINE)) == 6
    assert "Using the demo built on" in printed  # nothing has changed since the tests before this one


def test_what_it_prints_leads_to_the_day_strip(start):
    """Enrol with the code, sign in with a PIN, see today: as the printed lines say."""
    address = f"http://127.0.0.1:{serving.any_port('127.0.0.1')}"
    started = start(PORT=address.rsplit(":", 1)[1])
    started.until("Ctrl-C stops")
    code = re.search(r"code ([0-9A-Z]{4}-[0-9A-Z]{4}) ", started.printed)[1]
    pin, name = re.search(r"^ +(\d{6}) +roaster +(.+)$", started.printed, re.MULTILINE).groups()
    visitor = Visitor(address)
    visitor.send("/enrol", code=code, tablet_name="Somebody's laptop")
    person = next(e.attrs["value"] for e in visitor.page.find("input", name="person", data_name=name))
    visitor.send("/sign-in", person=person, pin=pin)
    assert visitor.answer.url == f"{address}/"
    assert re.search(r"\d+ batches", page_text(visitor.page))


class Visitor:
    """A browser without scripts: keeps cookies, sends forms with their token, goes where it is sent."""

    def __init__(self, address: str) -> None:
        self.address = address
        self.opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())

    def get(self, path: str, data: bytes | None = None) -> None:
        """Fetch a page."""
        with self.opener.open(self.address + path, data) as self.answer:
            self.page = Page(self.answer.read().decode())

    def send(self, path: str, **fields: str) -> None:
        """Fetch the form at `path` and send it back filled in."""
        self.get(path)
        token = next(e.attrs["value"] for e in self.page.elements if e.attrs.get("name") == "csrf_token")
        self.get(path, urlencode({"csrf_token": token, **fields}).encode())


def page_text(page: Page) -> str:
    """A page's first heading, on one line."""
    return " ".join(page.find("h1")[0].text.split())


def test_it_leaves_no_server_behind_when_it_is_killed(start):
    started = start(PORT=str(serving.any_port("127.0.0.1")))
    started.until("Ctrl-C stops")
    family = started.family()
    started.process.kill()
    assert gone(family)


def test_it_says_in_one_line_that_the_port_is_taken(start):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        started = start(PORT=str(port))
        assert started.ended() == 2
    assert started.printed == f"Port {port} is taken on 127.0.0.1; give another with PORT=...\n"


@pytest.mark.parametrize("port", ["0", "65536", "eight", "80 00"])
def test_it_refuses_what_is_no_port(start, port):
    started = start(PORT=port)
    assert started.ended() == 2
    assert started.printed == f"PORT={port} is no port.\n"


def test_it_refuses_what_is_no_number_of_days(start):
    started = start(DRUMSIDE_DEMO_DAYS="91", PORT=str(serving.any_port("127.0.0.1")))
    assert started.ended() == 2
    assert started.printed == "DRUMSIDE_DEMO_DAYS=91 is no number of days from 2 to 90.\n"


def test_it_takes_the_next_port_that_is_free():
    with socket.create_server(("127.0.0.1", 0)) as taken:
        first = taken.getsockname()[1]
        assert first < serving.free_port("127.0.0.1", first) < first + 100


def test_it_says_in_one_line_that_a_host_is_not_this_machine(start):
    started = start(HOST="192.0.2.1", PORT=str(serving.any_port("127.0.0.1")))
    assert started.ended() == 2
    assert started.printed.count("\n") == 1
    assert "192.0.2.1" in started.printed
