"""A tablet at the bench: a page in a real browser, signed in, that fails on any error in its console."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.support.browser import SIZES, serving
from tests.support.offline import Place, placed, release
from webapp.store import sessions


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything in this folder needs a browser."""
    for item in items:
        if "tests/browser" in str(item.path):
            item.add_marker(pytest.mark.browser)


@pytest.fixture
def address(app, bench) -> Iterator[str]:
    """The served app, with form tokens on as in real use."""
    app.config["WTF_CSRF_ENABLED"] = True
    with serving(app) as url:
        yield url
    app.config["WTF_CSRF_ENABLED"] = False


@pytest.fixture
def place(tmp_path: Path, path: Path, bench) -> Iterator[Place]:
    """A server that can go away and come back, with static files that nobody changes while it runs.

    A test module that uses it makes `address` its address.
    """
    with placed(release(tmp_path, path)) as found:
        yield found


@pytest.fixture
def tablet(browser: Browser, address: str, bench) -> Iterator[Callable[..., Page]]:
    """tablet('roaster', size='phone', dark=True, ...): a page whose session belongs to that person."""
    contexts, complaints = [], []

    def opened(role: str | None = "roaster", size: str = "tablet", dark: bool = False, own: bool = False, **options):
        # A test in which requests fail says so; errors of the scripts are never expected.
        failing = options.pop("failing", False)
        width, height = SIZES[size]
        scheme = "dark" if dark else "light"
        # The worker keeps a copy of the whole app: only for the tests that are about it.
        options = {"service_workers": "block", **options}
        context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme, **options)
        contexts.append(context)
        context.set_default_timeout(8000)
        device, secret = bench.tablet, bench.tablet_secret
        if own:
            device, secret = sessions.enrol_tablet(bench.db, f"Tablet {len(contexts)}", bench.who("lead"), bench.now)
        context.add_cookies([{"name": "tablet", "value": secret, "url": address}])
        if role:
            token = sessions.start_session(bench.db, bench.people[role], device, 12, bench.now)
            context.add_cookies([{"name": "person", "value": token, "url": address}])
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(f"{page.url}: {error}"))
        page.on(
            "console",
            lambda message: message.type == "error"
            and "status of 4" not in message.text
            and not (failing and "Failed to load resource" in message.text)
            and complaints.append(f"{page.url}: {message.text}"),
        )
        return page

    yield opened
    for context in contexts:
        context.close()
    assert not complaints, "\n".join(complaints)
