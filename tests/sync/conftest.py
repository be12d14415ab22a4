"""What the tests of records from tablets share."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from argon2 import PasswordHasher
from flask import Flask

from tests.support.outbox import Outbox
from tests.support.roastery import Roastery
from webapp.store import people, sessions, times

# Hashing a PIN is slow on purpose; tests/people/test_pin_hash.py looks at the real cost.
people.hasher = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)

TABLES = (
    "batch", "sample", "reading", "step_done", "decision", "person_claim", "claim_confirmed", "part_result",
    "batch_result", "method_spread", "routine_spread", "ledger",
)  # fmt: skip


@pytest.fixture
def outbox(sign_in) -> Callable[[str], Outbox]:
    """outbox('trainee') is the tablet with that person signed in."""
    return lambda role="roaster": Outbox(sign_in(role))


@pytest.fixture
def second_tablet(app: Flask, bench: Roastery) -> Callable[[str], Outbox]:
    """second_tablet('lead') is another enrolled tablet with that person signed in."""

    def by(role: str) -> Outbox:
        tablet, secret = sessions.enrol_tablet(bench.db, "Second tablet", bench.who("lead"), bench.now)
        client = app.test_client()
        client.set_cookie("tablet", secret)
        client.set_cookie("person", sessions.start_session(bench.db, bench.people[role], tablet, 12, bench.now))
        return Outbox(client)

    return by


@pytest.fixture
def everything(bench: Roastery) -> Callable[[], dict]:
    """All rows that a record can touch, to compare before and after."""
    return lambda: {table: list(bench.db.query(f"SELECT * FROM {table}")) for table in TABLES}


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
