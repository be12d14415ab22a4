"""The pages that the walk over the route table does not reach: set-up, enrolment, the PIN's steps and errors."""

import pytest

from tests.browser.test_accessibility import looked_at
from tests.conftest import application
from tests.support.browser import SIZES, serving
from tests.support.roastery import PINS
from webapp.store import people, pin_guard, sessions
from webapp.store.who import SYSTEM


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_it_finds_nothing_on_the_set_up_page(browser, empty_path, size):
    app = application(empty_path)
    app.config["WTF_CSRF_ENABLED"] = True
    width, height = SIZES[size]
    context = browser.new_context(viewport={"width": width, "height": height})
    with serving(app) as url:
        page = context.new_page()
        page.goto(url)
        found = looked_at(page, "setup")
        page.locator("button.primary").click()
        page.locator(".problems").wait_for()
        found += looked_at(page, "setup refused")
        assert page.evaluate("document.activeElement.className") == "problems"
    context.close()
    assert not found, "\n".join(found)


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_it_finds_nothing_on_the_way_to_an_enrolled_tablet(address, tablet, size):
    page = tablet(None, size=size)
    page.context.clear_cookies()
    found = []
    for path in ("/", "/enrol"):
        page.goto(address + path)
        found += looked_at(page, path)
    page.locator("button.primary").click()
    page.locator(".problems").wait_for()
    found += looked_at(page, "enrol refused")
    assert not found, "\n".join(found)


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_it_finds_nothing_on_the_pin_and_its_errors(address, tablet, bench, size):
    for n in range(22):
        people.add_person(bench.db, f"Person {n} of a rather long family name", "roaster", "835170", SYSTEM, bench.now)
    for _ in range(4):
        pin_guard.check_pin(bench.db, bench.people["trainee"], bench.tablet, "808172", bench.now)
    page = tablet("roaster", size=size)
    found = []
    page.goto(f"{address}/sign-in")
    page.wait_for_load_state("networkidle")
    found += looked_at(page, "25 people")
    for name in ("Ravi", "Tomas"):
        page.goto(f"{address}/sign-in")
        page.locator(".crew-one", has_text=name).click()
        found += looked_at(page, f"pad for {name}")
        with page.expect_navigation():
            page.keyboard.type("808172")
        page.wait_for_load_state("networkidle")
        found += looked_at(page, f"refused {name}")
    assert not found, "\n".join(found)


def test_it_finds_nothing_on_a_form_that_waits_for_a_pin(address, tablet, bench):
    page = tablet("lead")
    page.goto(f"{address}/site")
    bench.db.conn.execute("UPDATE session SET confirmed_at = '2026-01-01T00:00:00.000Z'")
    page.locator("button.primary").click()
    page.locator("#pin").wait_for()
    found = looked_at(page, "confirm")
    page.keyboard.type(PINS["lead"])
    page.get_by_role("button", name="Go on").wait_for()
    found += looked_at(page, "welcome back")
    assert not found, "\n".join(found)


def test_it_finds_nothing_on_a_leads_busy_lists(address, tablet, bench):
    for role in ("roaster", "trainee"):
        for _ in range(5):
            pin_guard.check_pin(bench.db, bench.people[role], bench.tablet, "808172", bench.now)
    sessions.enrol_tablet(bench.db, "A tablet with a name as long as a name may be, sixty in all", SYSTEM, bench.now)
    found = []
    for size in ("tablet", "phone"):
        page = tablet("lead", size=size)
        page.goto(f"{address}/people")
        found += looked_at(page, "people")
        page.goto(f"{address}/tablets")
        page.locator("summary").first.click()
        found += looked_at(page, "tablets")
        page.get_by_role("button", name="Enrol another tablet").click()
        page.locator(".code").wait_for()
        found += looked_at(page, "code")
    assert not found, "\n".join(found)


def test_it_finds_nothing_on_the_idle_bar(address, tablet):
    page = tablet("roaster", size="phone")
    page.clock.install()
    page.goto(f"{address}/me")
    page.wait_for_load_state("networkidle")
    page.clock.fast_forward("09:40")
    page.locator(".idle-bar").wait_for()
    found = looked_at(page, "idle bar")
    assert not found, "\n".join(found)
