"""A bench on which everything has happened once, and a program that reads it."""

from __future__ import annotations

import uuid
from collections.abc import Callable

import pytest
from flask import Flask

from tests.store import worked
from tests.support.roastery import Roastery
from webapp.store import api_tokens


class Program:
    """A program with a key; it has no cookie."""

    def __init__(self, app: Flask, key: str) -> None:
        self.client, self.key = app.test_client(use_cookies=False), key

    def ask(self, path: str, method: str = "GET", **headers: str):
        """The answer to one request below /api/v1, or to the address in `next`."""
        address = path if path.startswith("/api/") else f"/api/v1{path}"
        with_key = {"Authorization": f"Bearer {self.key}"} | {k.replace("_", "-"): v for k, v in headers.items()}
        return self.client.open(address, method=method, headers=with_key)

    def get(self, path: str) -> dict:
        """What it says."""
        answer = self.ask(path)
        assert answer.status_code == 200, answer.text
        return answer.get_json()

    def follow(self, path: str) -> list[dict]:
        """The items of every page."""
        items, following = [], path
        while following:
            page = self.get(following)
            items += page["items"]
            following = page["next"]
        return items


@pytest.fixture
def key_id() -> str:
    """The number of the program's key."""
    return str(uuid.uuid4())


@pytest.fixture
def program(app: Flask, bench: Roastery, key_id: str) -> Program:
    """A program with a key in force."""
    return Program(app, api_tokens.add_key(bench.db, key_id, "Production plan", bench.who("lead"), bench.now))


@pytest.fixture
def busy(bench: Roastery) -> dict[str, str]:
    """Everything that can happen at a bench, once; the ids."""
    return worked.work(bench)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Callable:
    """clock(minutes=3) puts the server's clock ahead, from then on."""
    from datetime import timedelta

    from webapp.store import times

    real, ahead = times.now, timedelta()

    def move(**delta: float) -> None:
        nonlocal ahead
        ahead += timedelta(**delta)

    monkeypatch.setattr(times, "now", lambda: real() + ahead)
    return move
