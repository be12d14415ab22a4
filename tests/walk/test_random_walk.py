"""Nothing finished is ever lost or doubled: a real browser, a real gunicorn, and anything in between."""

import os
import random
from datetime import UTC, datetime

import pytest

from tests.support.offline import KIT, READY
from tests.walk.gate import Gate, Gunicorn
from tests.walk.tablet import Tablet
from tests.walk.walker import Walk
from webapp.store import sessions

STEPS, MANY = 60, 500


@pytest.fixture
def walk(tmp_path, path, bench, browser, record_property):
    """A tablet that has been at work once, in front of a server behind a gate."""
    seed = int(os.environ.get("DRUMSIDE_SEED") or random.randrange(10**9))
    record_property("DRUMSIDE_SEED", seed)
    server = Gunicorn(tmp_path, path)
    gate = Gate(server.port)
    tablet = None
    try:
        server.up()
        token = sessions.start_session(bench.db, bench.people["roaster"], bench.tablet, 12, datetime.now(UTC))
        cookies = {"tablet": bench.tablet_secret}
        tablet = Tablet(browser.browser_type, tmp_path / "profile", gate.url, cookies)
        tablet.context.add_cookies([{"name": "person", "value": token, "url": gate.url}])
        tablet.go("/")
        tablet.page.evaluate(READY)
        tablet.page.evaluate(KIT)
        made = Walk(seed, tablet, gate, server, bench)
        try:
            yield made
        finally:
            print(f"DRUMSIDE_SEED={seed}", *made.log, dict(made.counts), sep="\n  ")
    finally:
        if tablet:
            tablet.close()
        gate.close()
        server.kill()


def walked(walk: Walk, steps: int) -> None:
    for _ in range(steps):
        walk.step()
    print("  ", walk.come_home())
    # A finger slips now and then; a bench at which nothing can be touched would prove nothing.
    assert walk.counts["slipped"] <= steps / 10


def test_it_loses_and_doubles_nothing_in_60_random_steps(walk):
    walked(walk, STEPS)


@pytest.mark.long
def test_it_loses_and_doubles_nothing_in_500_random_steps(walk):
    walked(walk, MANY)
