"""A real browser against a real server on this computer."""

from __future__ import annotations

import os
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from flask import Flask
from werkzeug.serving import WSGIRequestHandler, make_server

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
# For the browser that all tests share: without a screen it still prepares the popups of its address bar, two pages for
# every window. Only the last flag of this name counts: what Playwright turns off by itself stands here again.
NO_POPUPS = (
    "--disable-features=AvoidUnnecessaryBeforeUnloadCheckSync,DestroyProfileOnBrowserClose,HttpsUpgrades,"
    "HttpsFirstBalancedModeAutoEnable,LensOverlay,MediaRouter,PaintHolding,ThirdPartyStoragePartitioning,"
    "AvoidCorsURLLoaderRestartOnRedirect,OptimizationHints,NetworkTimeServiceQuerying,AimEnabled,PreconnectToSearch,"
    "WebUIOmniboxPopup,WebUIOmniboxAimPopup,WebUIOmniboxFullPopup"
)
# Tablet lying and upright, and a phone.
SIZES = {"tablet": (1180, 820), "upright": (820, 1180), "phone": (390, 844)}


def chromium() -> str | None:
    """Path of a Chromium, or None for Playwright's own; 'none' in DRUMSIDE_CHROMIUM says there is none."""
    return os.environ.get("DRUMSIDE_CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")


class Quiet(WSGIRequestHandler):
    """A handler that keeps its log to itself."""

    def log(self, *_args: object) -> None:
        """Say nothing."""


class KeptOpen(Quiet):
    """One connection for many requests, as a real server has it: a page asks for thirty files."""

    protocol_version = "HTTP/1.1"


def whole(app):
    """The app with every answer read to its end first, so that no file stays open when the browser goes away."""

    def answer(environ, start):
        parts = app(environ, start)
        try:
            return [b"".join(parts)]
        finally:
            getattr(parts, "close", bool)()

    return answer


@contextmanager
def serving(app: Flask) -> Iterator[str]:
    """The app's address while it is served by a thread."""
    server = make_server("127.0.0.1", 0, whole(app), threaded=True, request_handler=KeptOpen)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        thread.join(5)
        server.server_close()
