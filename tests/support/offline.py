"""A server that can be there, gone, hanging, or of another release; and a tablet that has been at work with it."""

from __future__ import annotations

import contextlib
import random
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from flask import Flask
from playwright.sync_api import Page
from werkzeug.serving import make_server

from tests.conftest import COMPILED, SECRET
from tests.support.browser import Quiet, whole
from webapp import assets, create_app
from webapp.config import Config

# The worker has everything, and is in charge of the page.
READY = """async () => {
  for (let tries = 0; tries < 600; tries++) {
    if (navigator.serviceWorker.controller) return;
    await new Promise((done) => setTimeout(done, 50));
  }
  throw new Error("no worker took over");
}"""
KIT = """async () => {
  for (let tries = 0; tries < 200; tries++) {
    const kit = await new Promise((resolve) => {
      const opening = indexedDB.open("drumside");
      opening.onerror = () => resolve(null);
      opening.onsuccess = () => {
        const db = opening.result;
        if (!db.objectStoreNames.contains("kit")) return db.close(), resolve(null);
        const asked = db.transaction("kit").objectStore("kit").get("kit");
        asked.onsuccess = () => (db.close(), resolve(asked.result ?? null));
      };
    });
    if (kit) return;
    await new Promise((done) => setTimeout(done, 50));
  }
  throw new Error("no kit came");
}"""


def free_port() -> int:
    """A port below those that the system gives to outgoing connections: nobody takes it while the server is down."""
    while True:
        port = random.randrange(20_000, 32_000)
        with socket.socket() as probe, contextlib.suppress(OSError):
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind(("127.0.0.1", port))
            return port


class Place:
    """One address at which a server is, or is not: `up`, `down`, `hang`."""

    def __init__(self, app: Flask) -> None:
        self.port = free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        self.app = app
        self.server = self.listener = None
        self.connections: list[socket.socket] = []

    def up(self, app: Flask | None = None) -> None:
        """Serve; `app`: another release from now on."""
        self.down()
        self.app = app or self.app
        with self.listen() as listening:
            # The server makes its own copy.
            where = {"host": "127.0.0.1", "port": self.port, "fd": listening.fileno()}
            self.server = make_server(app=whole(self.app), threaded=True, request_handler=Quiet, **where)
        accept = self.server.get_request

        def accepted():
            connection, address = accept()
            self.connections.append(connection)
            return connection, address

        self.server.get_request = accepted
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def listen(self) -> socket.socket:
        """A listening socket; tried again while connections of the last server still end."""
        for _ in range(100):
            with contextlib.suppress(OSError):
                return socket.create_server(("127.0.0.1", self.port), backlog=64)
            time.sleep(0.1)
        raise RuntimeError(f"port {self.port} is taken")

    def down(self) -> None:
        """Nobody listens: every request fails at once, and the browser still thinks that it is online."""
        if self.server:
            self.server.shutdown()
            self.server.server_close()
        if self.listener:
            self.listener.close()
        # A browser opens connections in advance: they are gone with the server.
        for connection in self.connections:
            with contextlib.suppress(OSError):
                connection.shutdown(socket.SHUT_RDWR)
        self.server = self.listener = None
        self.connections = []

    def hang(self) -> None:
        """Connections are accepted, and no answer ever comes."""
        self.down()
        self.listener = self.listen()


@contextmanager
def placed(app: Flask) -> Iterator[Place]:
    """A place with the app served there."""
    place = Place(app)
    place.up()
    try:
        yield place
    finally:
        place.down()


def release(folder: Path, database: Path, note: str = "", changed: str = "css/base.css") -> Flask:
    """An app with static files of its own in `folder`. With a `note`, one of them is another: the next release."""
    static = folder / "static"
    if not static.exists():
        shutil.copytree(assets.STATIC, static)
    if note:
        with open(static / changed, "a") as file:
            file.write(f"\n/* {note} */\n")
    before, assets.STATIC = assets.STATIC, static
    try:
        app = create_app(Config(database=database, secret_key=SECRET, testing=True))
    finally:
        assets.STATIC = before
    app.jinja_env.bytecode_cache = COMPILED
    return app


def prepare(page: Page, url: str) -> None:
    """Open the app with the server there, until the tablet could go on without it. A page that never loads itself."""
    page.goto(url + "/me")
    page.evaluate(READY)
    page.evaluate(KIT)
