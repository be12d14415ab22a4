"""A tablet's outbox seen from a test: the app's own modules, called in the page."""

from __future__ import annotations

import time
import uuid
from collections.abc import Callable

from playwright.sync_api import Error, Page

# `call(name, function, ...)` runs an exported function of static/js/offline/<name>.mjs in the page.
CALL = """async ([file, name, args]) => {
  const base = document.querySelector("script[type=module]").src.replace(/app\\.mjs$/, "");
  const module = await import(`${base}${file}.mjs`);
  const found = module[name];
  return typeof found === "function" ? found(...args) : found;
}"""


def call(page: Page, file: str, name: str, *args: object) -> object:
    """The result of an exported function."""
    return page.evaluate(CALL, [file, name, list(args)])


def entries(page: Page) -> list[dict]:
    """What waits, oldest first."""
    return call(page, "offline/outbox", "waiting")


def states(page: Page) -> dict[str, str]:
    """id -> state."""
    return {entry["id"]: entry["state"] for entry in entries(page)}


def flush(page: Page, reach: int = 1) -> str:
    """Try to send; 0: what is due, 1: all that waits, 2: what needs attention too."""
    return call(page, "offline/flush", "flush", reach)


def record(person: str, kind: str = "sample", **more: object) -> dict:
    """A record as a form makes it; its fields do not matter to the tablet."""
    id = str(uuid.uuid4())
    made = {"id": id, "kind": kind, "person_id": person, "claim_id": None, "made_at": "2026-03-02T08:15:00.000Z"}
    made |= {"form": {"id": id, "fills-0-readings-0-value": "56.2"}, "who": "Ravi", "about": "Lantern House · 0302-01"}
    if kind != "batch":
        made |= {"batch_id": str(uuid.uuid4())}
    return made | ({"sample_kind": "whole"} if kind == "sample" else {}) | more


def put(page: Page, *records: dict) -> list[str]:
    """Finish these records on the tablet; their ids."""
    for one in records:
        call(page, "offline/outbox", "put", one)
    return [one["id"] for one in records]


def until(page: Page, wanted: Callable[[], bool], seconds: float = 8) -> None:
    """Wait until it is so; the page goes on meanwhile, also to another page."""
    end = time.monotonic() + seconds
    while not holds(wanted):
        assert time.monotonic() < end, "it did not come to that"
        page.wait_for_timeout(50)


def holds(wanted: Callable[[], bool]) -> bool:
    """Whether it is so; a page that is just being left cannot say."""
    try:
        return wanted()
    except Error as error:
        if "Execution context was destroyed" in str(error):
            return False
        raise
