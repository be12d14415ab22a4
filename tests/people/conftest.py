"""What the tests of people and tablets share."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from flask import Flask

from tests.conftest import application
from tests.support.pages import CheckingClient
from tests.support.roastery import PINS, Roastery
from webapp.store import times


@pytest.fixture
def empty_app(empty_path: Path) -> Flask:
    """The app on a bench with nobody in it."""
    return application(empty_path)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Callable[..., datetime]:
    """clock(minutes=3) puts the server's clock that far ahead of the real one, from then on."""
    real, ahead = times.now, timedelta()

    def move(**delta: float) -> datetime:
        nonlocal ahead
        ahead += timedelta(**delta)
        return real() + ahead

    monkeypatch.setattr(times, "now", lambda: real() + ahead)
    return move


@pytest.fixture
def enter(bench: Roastery) -> Callable[..., object]:
    """enter(client, 'roaster') posts the sign-in form with that person's PIN (or another)."""

    def post(client: CheckingClient, role: str, pin: str | None = None, **more: object):
        data = {"person": bench.people[role], "pin": pin or PINS[role], **more}
        return client.post("/sign-in", data=data)

    return post
