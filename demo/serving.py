"""Starting and stopping gunicorn for the demo, the screenshots and the benchmark. Standard library only."""

from __future__ import annotations

import ctypes
import http.client
import os
import secrets
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

from demo.environment import ROOT, Trouble

STOP_WITHIN = 15.0
ANSWER_WITHIN = 40.0
DIE_WITH_PARENT = 1  # PR_SET_PDEATHSIG, from Linux's sys/prctl.h


def free_port(host: str, first: int, tries: int = 100) -> int:
    """The first free port from `first` on."""
    for port in range(first, first + tries):
        if is_free(host, port):
            return port
    raise Trouble(f"No port from {first} to {first + tries - 1} is free on {host}; give one with PORT=...")


def any_port(host: str) -> int:
    """A port that the system says is free."""
    with socket.socket(family(host)) as probe:
        probe.bind((host, 0))
        return probe.getsockname()[1]


def family(host: str) -> socket.AddressFamily:
    """IPv6 for an address with colons, else IPv4."""
    return socket.AF_INET6 if ":" in host else socket.AF_INET


def is_free(host: str, port: int) -> bool:
    """Whether a server could listen there. Trouble for a host that is none of this machine's."""
    with socket.socket(family(host)) as probe:
        # As gunicorn does: a port that only waits for old connections to end is free.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except (socket.gaierror, PermissionError) as problem:
            raise Trouble(f"Cannot serve on {host}:{port}: {problem.strerror}.") from None
        except OSError:
            return False
    return True


class Server:
    """gunicorn on one database. A context manager: it is stopped, with its workers, whatever happens inside."""

    def __init__(
        self, python: Path | str, database: Path, host: str, port: int, app: str = "webapp.wsgi:app",
        extra: tuple[str, ...] = (),
    ) -> None:  # fmt: skip
        self.host, self.port = host, port
        # Listening everywhere is reached here.
        self.reached = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)
        shown = f"[{self.reached}]" if ":" in self.reached else self.reached
        self.address = f"http://{shown}:{port}"
        self.command = [str(python), "-m", "gunicorn", "-c", str(ROOT / "deploy" / "gunicorn.conf.py"), *extra, app]
        self.environ = {
            **os.environ,
            "DRUMSIDE_DATABASE": str(database),
            "DRUMSIDE_SECRET_KEY": secrets.token_hex(32),
            "DRUMSIDE_HTTPS": "",
            "DRUMSIDE_HOSTS": "",
            "DRUMSIDE_LOG": "warning",
            "HOST": f"[{host}]" if ":" in host else host,
            "PORT": str(port),
        }
        self.process: subprocess.Popen | None = None

    def __enter__(self) -> Server:
        # Its own process group: Ctrl-C at the keyboard reaches this process alone, which then stops it in order.
        self.process = subprocess.Popen(
            self.command, cwd=ROOT, env=self.environ, start_new_session=True, preexec_fn=die_with_parent
        )
        try:
            self.wait_until_it_answers()
        except BaseException:
            self.stop()
            raise
        return self

    def __exit__(self, *_error: object) -> None:
        self.stop()

    def wait_until_it_answers(self) -> None:
        """Return when a page comes back; Trouble if gunicorn ends first or nothing comes."""
        until = time.monotonic() + ANSWER_WITHIN
        while time.monotonic() < until:
            if self.process.poll() is not None:
                raise Trouble(f"The server ended at once, with code {self.process.returncode} (see above).")
            try:
                if self.fetch("/sign-in")[0] < 500:
                    return
            except OSError:
                time.sleep(0.05)
        raise Trouble(f"The server did not answer within {ANSWER_WITHIN:.0f} seconds.")

    def fetch(self, path: str) -> tuple[int, str]:
        """(status, text) of one page."""
        connection = http.client.HTTPConnection(self.reached, self.port, timeout=10)
        try:
            connection.request("GET", path)
            answer = connection.getresponse()
            return answer.status, answer.read().decode()
        finally:
            connection.close()

    def runs(self) -> bool:
        """Whether it is still there."""
        return self.process is not None and self.process.poll() is None

    def stop(self) -> None:
        """Let requests finish, then end master and workers; by force if they do not go."""
        process, self.process = self.process, None
        if process is None or process.poll() is not None:
            return
        process.terminate()
        try:
            process.wait(STOP_WITHIN)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()


def die_with_parent() -> None:
    """Should the demo be killed outright, gunicorn stops as well (Linux)."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(DIE_WITH_PARENT, signal.SIGTERM)
