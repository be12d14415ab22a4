"""A real server that really dies: gunicorn behind a gate. The tablet knows the gate's address only; the gate can be
shut, let nothing come back, or lose one request or one answer just when it matters."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from demo.serving import die_with_parent
from tests.conftest import SECRET
from tests.support.offline import free_port

ROOT = Path(__file__).resolve().parent.parent.parent
PATIENCE = 40.0
POST = b"POST /records "
# A connection is pumped in pieces of this size.
PIECE = 65_536


class Gunicorn:
    """The app as it is deployed, from a copy of its own: another release can take its place."""

    def __init__(self, folder: Path, database: Path) -> None:
        self.folder, self.database = folder / "app", database
        self.port = free_port()
        self.releases = 0
        self.process: subprocess.Popen | None = None
        for name in ("webapp", "static", "deploy"):
            shutil.copytree(ROOT / name, self.folder / name)

    def release(self) -> None:
        """The next release: one of the files that a tablet keeps is another. It is served from the next start on."""
        self.releases += 1
        with open(self.folder / "static/css/base.css", "a") as file:
            file.write(f"\n/* release {self.releases} */\n")

    def up(self) -> None:
        """Start it, and return when it answers."""
        if self.process:
            return
        environ = {
            **os.environ,
            "DRUMSIDE_DATABASE": str(self.database),
            "DRUMSIDE_SECRET_KEY": SECRET,
            "DRUMSIDE_LOG": "warning",
            "PYTHONPATH": str(self.folder),
            "HOST": "127.0.0.1",
            "PORT": str(self.port),
        }
        command = [sys.executable, "-m", "gunicorn", "-c", "deploy/gunicorn.conf.py", "webapp.wsgi:app"]
        process = self.process = subprocess.Popen(
            command, cwd=self.folder, env=environ, start_new_session=True, preexec_fn=die_with_parent
        )
        end = time.monotonic() + PATIENCE
        while not self.answers():
            ended = process.poll() is not None
            # The gate may have killed it again meanwhile: it was told to, with the next answer that is lost.
            if self.process is not process:
                return
            assert not ended, "gunicorn ended at once"
            assert time.monotonic() < end, "gunicorn does not answer"
            time.sleep(0.05)

    def answers(self) -> bool:
        """Whether a request gets an answer."""
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", self.port), timeout=5) as asking:
            asking.sendall(b"GET /offline HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
            return asking.recv(20).startswith(b"HTTP/1.1 200")
        return False

    def kill(self) -> None:
        """Master and workers, at once."""
        process, self.process = self.process, None
        if process:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()


class Gate:
    """Every byte between tablet and server. `mode`: "open", "shut" (the connection ends at once), "hang" (it never gets
    an answer). `lose`: None, or what becomes of the next POST of records: "request" (it does not get through) or
    "answer" (the server has it, has committed it and answered, and nothing comes back); `on_loss` is called then."""

    def __init__(self, port: int) -> None:
        self.to = port
        self.port = free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        self.mode = "open"
        self.lose: str | None = None
        self.lost = 0
        self.on_loss: Callable[[], None] = bool
        self.open: set[socket.socket] = set()
        self.lock = threading.Lock()
        self.listener = socket.create_server(("127.0.0.1", self.port), backlog=64)
        self.threads = [threading.Thread(target=self.accept, daemon=True)]
        self.threads[0].start()

    def set(self, mode: str) -> None:
        """Another mode; connections that are open end, as they do when a network goes."""
        self.mode = mode
        self.drop()

    def drop(self) -> None:
        """End every connection."""
        with self.lock:
            for one in self.open:
                with contextlib.suppress(OSError):
                    one.shutdown(socket.SHUT_RDWR)

    def close(self) -> None:
        """The end."""
        self.mode = "shut"
        with contextlib.suppress(OSError):
            self.listener.shutdown(socket.SHUT_RDWR)
        self.listener.close()
        self.drop()
        for thread in self.threads:
            thread.join(5)

    def accept(self) -> None:
        """One thread for each connection."""
        while True:
            try:
                client, _address = self.listener.accept()
            except OSError:
                return
            thread = threading.Thread(target=self.serve, args=(client,), daemon=True)
            self.threads = [t for t in self.threads if t.is_alive()] + [thread]
            thread.start()

    def serve(self, client: socket.socket) -> None:
        """From here to the server and back, until one of them ends it."""
        with self.held(client):
            if self.mode == "shut":
                return
            if self.mode == "hang":
                with contextlib.suppress(OSError):
                    while client.recv(PIECE):
                        pass
                return
            try:
                server = socket.create_connection(("127.0.0.1", self.to), timeout=5)
            except OSError:
                return
            server.settimeout(None)
            with self.held(server):
                losing = threading.Event()
                back = threading.Thread(target=self.back, args=(server, client, losing), daemon=True)
                back.start()
                self.there(client, server, losing)
                back.join()

    @contextmanager
    def held(self, one: socket.socket) -> Iterator[None]:
        """A socket that `drop` reaches."""
        with self.lock:
            self.open.add(one)
        try:
            yield
        finally:
            with self.lock:
                self.open.discard(one)
            one.close()

    def there(self, client: socket.socket, server: socket.socket, losing: threading.Event) -> None:
        """What the tablet says."""
        with contextlib.suppress(OSError):
            while piece := client.recv(PIECE):
                if piece.startswith(POST) and self.lose:
                    what, self.lose = self.lose, None
                    if what == "request":
                        self.loss()
                        break
                    losing.set()
                server.sendall(piece)
        end(client, server)

    def back(self, server: socket.socket, client: socket.socket, losing: threading.Event) -> None:
        """What the server answers."""
        with contextlib.suppress(OSError):
            while piece := server.recv(PIECE):
                if losing.is_set():
                    self.loss()
                    break
                client.sendall(piece)
        end(client, server)

    def loss(self) -> None:
        """It has happened."""
        self.lost += 1
        self.on_loss()


def end(*sockets: socket.socket) -> None:
    """Wake whoever reads from them."""
    for one in sockets:
        with contextlib.suppress(OSError):
            one.shutdown(socket.SHUT_RDWR)
