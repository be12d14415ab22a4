"""The whole chain as it is installed: Caddy with deploy/Caddyfile, gunicorn with its settings, a database."""

from __future__ import annotations

import contextlib
import os
import shutil
import socket
import ssl
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.conftest import SECRET
from tests.walk.gate import die_with_parent, free_port

ROOT = Path(__file__).parents[2]
NAME = "bench.test"
PATIENCE = 40


@dataclass
class Chain:
    """Where the two servers of a bench answer; root: the certificate of Caddy's own authority."""

    folder: Path
    https: int
    http: int
    root: Path
    log: Path

    @property
    def url(self) -> str:
        """The address that tablets open."""
        return f"https://{NAME}:{self.https}"


@contextlib.contextmanager
def running(database: Path, folder: Path, tls: str = "own-authority", **settings: str) -> Iterator[Chain]:
    """The chain on free ports of this machine, until the block ends. `settings`: more of the server's environment."""
    ports = {name: free_port() for name in ("https", "http", "app")}
    chain = Chain(folder, ports["https"], ports["http"], folder / "authority.crt", folder / "log")
    server = {
        **os.environ, "DRUMSIDE_DATABASE": str(database), "DRUMSIDE_SECRET_KEY": SECRET, "DRUMSIDE_HTTPS": "1",
        "DRUMSIDE_HOSTS": f"{NAME},127.0.0.1", "DRUMSIDE_LOG": "warning", "HOST": "127.0.0.1",
        "PORT": str(ports["app"]), "DRUMSIDE_AUTHORITY": str(chain.root), **settings,
    }  # fmt: skip
    proxy = {
        **os.environ, "BENCH_NAMES": f"{NAME}, 127.0.0.1", "BENCH_TLS": tls, "BENCH_PORT": str(ports["app"]),
        "BENCH_HTTPS_PORT": str(ports["https"]), "BENCH_HTTP_PORT": str(ports["http"]), "HOME": str(folder),
        "XDG_DATA_HOME": str(folder / "caddy"), "XDG_CONFIG_HOME": str(folder / "caddy"),
    }  # fmt: skip
    gunicorn = [sys.executable, "-m", "gunicorn", "-c", "deploy/gunicorn.conf.py", "webapp.wsgi:app"]
    caddy = [shutil.which("caddy") or "caddy", "run", "--config", "deploy/Caddyfile", "--adapter", "caddyfile"]
    with open(chain.log, "wb") as log, contextlib.ExitStack() as stack:
        for command, environ in ((gunicorn, server), (caddy, proxy)):
            process = subprocess.Popen(
                command, cwd=ROOT, env=environ, stdout=log, stderr=log, preexec_fn=die_with_parent
            )
            stack.callback(end, process)
        wait_until(lambda: answers(ports["https"]) and answers_plainly(ports["app"]), chain)
        made = folder / "caddy/caddy/pki/authorities/local/root.crt"
        if tls == "own-authority":
            shutil.copy(made, chain.root)
        yield chain


def end(process: subprocess.Popen) -> None:
    """Ask it to stop, and make it."""
    process.terminate()
    try:
        process.wait(15)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def wait_until(ready, chain: Chain) -> None:
    """Return when `ready` is; what the servers said, if that takes too long."""
    until = time.monotonic() + PATIENCE
    while not ready():
        assert time.monotonic() < until, chain.log.read_text(errors="replace")[-3000:]
        time.sleep(0.1)


def answers(port: int) -> bool:
    """Whether TLS comes up for the bench's name, trusted or not."""
    anything = ssl._create_unverified_context()
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=2) as line:
            anything.wrap_socket(line, server_hostname=NAME).close()
    except OSError:
        return False
    return True


def answers_plainly(port: int) -> bool:
    """Whether the app behind the proxy gives a page."""
    request = urllib.request.Request(f"http://127.0.0.1:{port}/trust", headers={"Host": NAME})
    try:
        return urllib.request.urlopen(request, timeout=5).status == 200
    except OSError:
        return False
