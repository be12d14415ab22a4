"""A grinder's log, a grind check and a comparison without a network: opened cold, kept, and sent when it is back."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.support.comparing import COFFEES, plan, read
from tests.support.offline import Place, prepare
from tests.support.waiting import entries, until
from webapp.store import comparisons, gear, grinder_log


@pytest.fixture
def address(place: Place) -> str:
    """For the fixture `tablet`."""
    return place.url


def cold(tablet, place: Place, role: str) -> Page:
    """A tablet that has been at work, opened anew without the server: what it has."""
    return anew(prepared(tablet, place, role), place)


def prepared(tablet, place: Place, role: str) -> Page:
    """A tablet at work."""
    page = tablet(role, service_workers="allow", failing=True)
    prepare(page, place.url)
    return page


def anew(page: Page, place: Place) -> Page:
    """Closed, and opened again without the server."""
    context = page.context
    page.close()
    place.down()
    page = context.new_page()
    page.goto(place.url)
    return page


def test_a_grinder_is_looked_after_without_the_server(bench, place, tablet):
    finer = gear.add_grinder_setting(bench.db, bench.grinder, "6", bench.who("lead"), bench.now)
    page = cold(tablet, place, "roaster")
    page.get_by_role("link", name="The setting was moved").click()
    expect(page.locator("h1")).to_have_text("The setting was moved")
    expect(page.locator(".shell .caution, .shell .lead")).to_have_count(0)
    # Nothing is chosen: it is not finished.
    page.get_by_role("button", name="Add to the log").click()
    expect(page.locator('[name="setting"]').first).to_be_focused()
    page.locator('label.option:has-text("6")').click()
    page.locator('[name="note"]').fill("for the dense lot")
    page.get_by_role("button", name="Add to the log").click()
    page.wait_for_url(f"{place.url}/")
    page.get_by_role("link", name="Grind check", exact=True).click()
    # Where the grinder stands by what waits here.
    expect(page.locator('label.option:has-text("6") input')).to_be_checked()
    page.locator('[name="total"]').fill("20")
    page.get_by_role("button", name="Store the grind check").click()
    expect(page.locator('[name="passing"]')).to_be_focused()
    page.locator('[name="passing"]').fill("146")
    page.get_by_role("button", name="Store the grind check").click()
    page.wait_for_url(f"{place.url}/")
    page.goto(f"{place.url}/outbox")
    expect(page.locator("[data-what]")).to_have_text(
        ["Grinder log · Grinder 1: The setting was moved", "Grind check · Grinder 1: Grind check"]
    )
    place.up()
    page.get_by_role("button", name="Send now").click()
    # What the server cannot take is put right in its own form, with all that was typed.
    page.get_by_role("button", name="Open the form again").click()
    expect(page.locator('[name="passing"]')).to_have_value("146")
    page.locator('[name="passing"]').fill("14,6")
    page.get_by_role("button", name="Store the grind check").click()
    page.wait_for_url(f"{place.url}/gear/grinders/{bench.grinder}")
    [event] = grinder_log.list_events(bench.db, bench.grinder)
    assert (event.what, event.setting_id, event.note, event.person_name) == (
        "setting", finer, "for the dense lot", "Ravi",
    )  # fmt: skip
    [check] = grinder_log.list_grind_checks(bench.db, bench.grinder)
    assert (check.setting_id, check.sieve_um, check.total_cg, check.passing_cg) == (finer, 850, 2000, 1460)


def test_a_comparison_goes_on_without_the_server_and_stays_blind(bench, place, tablet):
    there = plan(bench, coffees=10, fills=2)
    read(bench, there, 1, "a", [57.31, 57.23], [57.3, 57.2])
    read(bench, there, 2, "a", [57.31, 57.23], [57.3, 57.2])
    page, field = prepared(tablet, place, "trainee"), '[name="fills-{}-readings-{}-value"]'
    store = page.get_by_role("button", name="Store these readings")
    # The server goes away while the form is open.
    page.goto(f"{place.url}/comparisons/{there.id}/1/b")
    page.wait_for_load_state("networkidle")
    place.down()
    for fill, no in ((0, 0), (0, 1), (1, 0), (1, 1)):
        page.locator(field.format(fill, no)).fill(f"56.{fill}")
    store.click()
    page.wait_for_url(f"{place.url}/comparisons/{there.id}")
    page = anew(page, place)
    # A trainee reads, and looks after no grinder. What waits here counts.
    offered = ["Check of Meter A", "Check of Meter B", "Next: Cup 102 with Meter N"]
    expect(page.locator("[data-gear] a")).to_have_text(offered)
    page.get_by_role("link", name="Next: Cup 102 with Meter N").click()
    page.wait_for_url(re.compile("/2/b$"))
    form = page.locator(".shell form")
    assert "57" not in form.inner_text()
    assert not [name for name in COFFEES if name in form.inner_text()]
    for where, text in (((0, 0), "56,1"), ((0, 1), "561"), ((1, 0), "56.0")):
        page.locator(field.format(*where)).fill(text)
    store = page.get_by_role("button", name="Store these readings")
    store.click()
    expect(page.locator(field.format(0, 1))).to_be_focused()
    page.locator(field.format(0, 1)).fill("56.2")
    store.click()
    # The plan asks for two readings of each fill; or somebody says that there are no more.
    expect(page.locator(field.format(1, 1))).to_be_focused()
    page.get_by_text("Store it as it is").click()
    store.click()
    page.wait_for_url(re.compile("/3/a$"))
    expect(page.locator("h1")).to_have_text("Cup 103")
    assert [entry["about"] for entry in entries(page)] == [
        "New meter · Cup 101 · Meter N", "New meter · Cup 102 · Meter N",
    ]  # fmt: skip
    place.up()
    until(page, lambda: entries(page) == [], seconds=30)
    samples = comparisons.list_samples(bench.db, there.id)[2:]
    first, second = sorted(samples, key=lambda sample: sample.coffee_no)
    assert (first.coffee_no, first.side, first.person_name) == (1, "b", "Tomas")
    assert (second.coffee_no, second.side, second.person_name) == (2, "b", "Tomas")
    assert [r.typed for r in second.readings] == ["56,1", "56.2", "56.0"]
