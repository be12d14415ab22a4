"""A stand-in for the server's way in, for answers that ours never gives: what a tablet must not be taken in by."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence

from playwright.sync_api import Page, Route

HTML = "text/html; charset=utf-8"
SIGN_IN = "<!doctype html><title>Sign in</title><form><input name=pin></form>"

Answer = Callable[[Route, list[dict]], None]


def as_json(status: int, body: object, **headers: str) -> Answer:
    """An answer as ours are."""
    text = json.dumps(body)
    return lambda route, _records: route.fulfill(
        status=status, body=text, headers={"Content-Type": "application/json", **headers}
    )


def plain(status: int, body: str = "", kind: str = HTML, **headers: str) -> Answer:
    """An answer that somebody else gives: a portal, a proxy, a sign-in page."""
    return lambda route, _records: route.fulfill(status=status, body=body, headers={"Content-Type": kind, **headers})


def broken(reason: str = "connectionreset") -> Answer:
    """The connection ends without an answer."""
    return lambda route, _records: route.abort(reason)


class FakeServer:
    """Stores what it is sent, by id; `script` holds the answers to the next posts, and then it behaves well.

    posts: the ids of every request, in order. stored: id -> record. verdicts: id -> what is said instead of "stored".
    """

    def __init__(self, page: Page) -> None:
        self.posts: list[list[str]] = []
        self.stored: dict[str, dict] = {}
        self.script: list[Answer] = []
        self.token_script: list[Answer] = []
        self.verdicts: dict[str, dict] = {}
        self.tokens = 0
        self.sent_tokens: list[str] = []
        self.requests: list[dict] = []
        page.context.route("**/csrf", self.csrf)
        page.context.route("**/records", self.records)

    def csrf(self, route: Route) -> None:
        """A new token each time."""
        if self.token_script:
            self.token_script.pop(0)(route, [])
            return
        self.tokens += 1
        as_json(200, {"token": f"token-{self.tokens}"})(route, [])

    def records(self, route: Route) -> None:
        """Take a list, or answer as the script says."""
        body = json.loads(route.request.post_data or "{}")
        self.requests.append(body)
        records = body["records"]
        self.posts.append([record["id"] for record in records])
        self.sent_tokens.append(route.request.headers.get("x-csrftoken", ""))
        if self.script:
            self.script.pop(0)(route, records)
            return
        self.take(route, records)

    def take(self, route: Route, records: Sequence[dict]) -> None:
        """Store every record that is not refused, and say so."""
        results = []
        for record in records:
            said = {"id": record["id"], "status": 200, "stored": True, "error": None, "problems": [], "remarks": []}
            said |= self.verdicts.get(record["id"], {})
            if said["stored"]:
                self.stored.setdefault(record["id"], record)
            results.append(said)
        stored = [said["id"] for said in results if said["stored"]]
        as_json(200, {"stored": stored, "results": results})(route, [])

    def refuse(self, record_id: str, status: int, error: str, message: str = "Not like this.", **more: object) -> None:
        """From now on this record is refused."""
        problems = [{"field": "note", "message": message}]
        self.verdicts[record_id] = {"status": status, "stored": False, "error": error, "problems": problems, **more}
