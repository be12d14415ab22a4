"""A tablet in the hands of somebody who does anything at any moment: a browser on a profile that stays."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import BrowserContext, BrowserType, Error, Page

from tests.support.browser import ARGUMENTS, chromium

# The tablet's own database, looked at without a line of the app's.
OUTBOX = """() => new Promise((resolve, reject) => {
  const opening = indexedDB.open("drumside");
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const db = opening.result;
    if (!db.objectStoreNames.contains("outbox")) return db.close(), resolve([]);
    const asked = db.transaction("outbox").objectStore("outbox").getAll();
    asked.onsuccess = () => (db.close(), resolve(asked.result));
    asked.onerror = () => (db.close(), reject(asked.error));
  };
})"""
SEES = """() => {
  const seen = (selector) => [...document.querySelectorAll(selector)].some((e) => e.getClientRects().length);
  const form = document.querySelector("form.capture, form[data-module=new-batch]");
  return {
    path: location.pathname, ours: location.protocol === "http:",
    locked: seen(".lock-screen"), pin: seen("[data-module~=pin-pad]"),
    pin_link: seen("[data-pin-link]"),
    capture: seen("form.capture.guided"), new_batch: seen("form[data-module=new-batch]"),
    release: seen("form[data-module=decide] .primary"), update: seen("[data-apply]"),
    kept_form: seen("form.guided .reading, form[data-module=new-batch]"),
    person: document.querySelector(".top .person span")?.textContent ?? "",
    corner: document.querySelector("[data-saved]:not([hidden]) span")?.textContent ?? "",
    said: [...document.querySelectorAll("[role=alert], .problems")].map((e) => e.textContent.trim()).join(" / "),
    id: form?.elements.id?.value ?? "",
  };
}"""
FIELDS = """() => {
  const form = document.querySelector("form.capture, form[data-module=new-batch]");
  return Object.fromEntries([...new FormData(form)].filter(([name]) => !["csrf_token", "next"].includes(name)));
}"""


class Tablet:
    """One profile, one window, one or two tabs."""

    def __init__(self, kind: BrowserType, profile: Path, url: str, cookies: dict[str, str]) -> None:
        self.kind, self.profile, self.url, self.cookies = kind, profile, url, cookies
        self.complaints: list[str] = []
        self.context: BrowserContext | None = None
        self.offline = False
        self.launch()

    def launch(self) -> None:
        """Open the browser on the profile as it is."""
        self.context = self.kind.launch_persistent_context(
            str(self.profile), executable_path=chromium(), args=ARGUMENTS, viewport={"width": 1180, "height": 820}
        )
        self.context.set_default_timeout(8_000)
        # The browser writes its cookies down within half a minute; the tablet was enrolled long before.
        self.context.add_cookies([{"name": n, "value": v, "url": self.url} for n, v in self.cookies.items()])
        self.context.on("page", self.listen)
        self.page = self.context.pages[0]
        self.listen(self.page)
        if self.offline:
            self.context.set_offline(True)

    def listen(self, page: Page) -> None:
        """Errors of the scripts are never expected."""
        page.on("pageerror", lambda error: self.complaints.append(f"{page.url}: {error}"))

    def kill(self) -> None:
        """kill -9 for the browser with this profile, and nothing else."""
        found = subprocess.run(["pgrep", "-f", f"user-data-dir={self.profile}"], capture_output=True, text=True)
        for process in found.stdout.split():
            with contextlib.suppress(ProcessLookupError):
                os.kill(int(process), signal.SIGKILL)
        with contextlib.suppress(Error):
            self.context.close()

    def close(self) -> None:
        """The usual way."""
        with contextlib.suppress(Error):
            self.context.close()

    def go(self, path: str) -> None:
        """Type an address."""
        if self.offline:
            # The worker of a browser that has just been started does not know yet.
            self.context.set_offline(True)
        self.load(lambda: self.page.goto(self.url + path, timeout=20_000))

    def again(self) -> None:
        """Load the page anew."""
        self.load(lambda: self.page.reload(timeout=20_000))

    def load(self, begin: Callable[[], object]) -> None:
        """A page that goes somewhere else by itself is welcome to."""
        try:
            # A server that hangs keeps a page that only it can make waiting for ten seconds.
            begin()
        except Error as problem:
            if "interrupted" not in str(problem) and "ERR_ABORTED" not in str(problem):
                raise
        self.settle()

    def settle(self) -> None:
        """Until the page stays where it is."""
        for _ in range(100):
            with contextlib.suppress(Error):
                before = self.page.url
                self.page.wait_for_load_state("load")
                self.page.wait_for_timeout(150)
                if self.page.url == before and self.page.evaluate("document.readyState") == "complete":
                    return
            self.page.wait_for_timeout(50)

    def ask(self, script: str) -> object:
        """What a script says, asked again while the page is changing."""
        for tried in range(40):
            try:
                return self.page.evaluate(script)
            except Error as problem:
                if tried == 39 or not ("context" in str(problem) or "navigat" in str(problem)):
                    raise
                self.page.wait_for_timeout(100)
        return None

    def sees(self) -> dict:
        """Which page it is, who is at it, and what its corner says."""
        return self.ask(SEES)

    def fields(self) -> dict[str, str]:
        """The form as it would be sent."""
        return self.ask(FIELDS)

    def outbox(self) -> list[dict] | None:
        """What waits; None on a page that is not ours."""
        return self.ask(OUTBOX) if self.page.url.startswith(self.url) else None
