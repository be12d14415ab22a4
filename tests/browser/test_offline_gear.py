"""A grinder's log, a grind check and a comparison without a network: opened cold, kept, and sent when it is back."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.support.comparing import COFFEES, plan, read
from tests.support.offline import Place, prepare
from tests.support.waiting import entries
from webapp.store import comparisons, gear, grinder_log


@pytest.fixture
def address(place: Place) -> str:
    """For the fixture `tablet`."""
    return place.url


def cold(tablet, place: Place, role: str) -> Page:
    """A tablet that has been at work, opened anew without the server: what it has."""
    page = tablet(role, service_workers="allow", failing=True)
    prepare(page, place.url)
    context = page.context
    page.close()
    place.down()
    page = context.new_page()
    page.goto(place.url)
    return page


def back(page: Page, place: Place) -> None:
    """The server is there again: everything goes by itself."""
    place.up()
    expect(page.locator(".kit-line")).to_have_count(0, timeout=30_000)


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
    page.locator('[name="passing"]').fill("14,6")
    page.get_by_role("button", name="Store the grind check").click()
    page.wait_for_url(f"{place.url}/")
    page.goto(f"{place.url}/outbox")
    expect(page.locator("[data-what]")).to_have_text(
        ["Grinder log · Grinder 1: The setting was moved", "Grind check · Grinder 1: Grind check"]
    )
    page.goto(place.url)
    back(page, place)
    [event] = grinder_log.list_events(bench.db, bench.grinder)
    assert (event.what, event.setting_id, event.note, event.person_name) == (
        "setting", finer, "for the dense lot", "Ravi",
    )  # fmt: skip
    [check] = grinder_log.list_grind_checks(bench.db, bench.grinder)
    assert (check.setting_id, check.sieve_um, check.total_cg, check.passing_cg) == (finer, 850, 2000, 1460)


def test_a_comparison_goes_on_without_the_server_and_stays_blind(bench, place, tablet):
    there = plan(bench, coffees=10, fills=2)
    read(bench, there, 1, "a", [57.31, 57.23], [57.3, 57.2])
    page = cold(tablet, place, "trainee")
    # A trainee reads, and looks after no grinder.
    offered = ["Check of Meter A", "Check of Meter B", "Next: Cup 101 with Meter N"]
    expect(page.locator("[data-gear] a")).to_have_text(offered)
    page.get_by_role("link", name="Next: Cup 101 with Meter N").click()
    page.wait_for_url(re.compile("/1/b$"))
    form = page.locator(".shell form")
    assert "57" not in form.inner_text()
    assert not [name for name in COFFEES if name in form.inner_text()]
    field = "[name=\"fills-{}-readings-{}-value\"]"
    for place_, text in (((0, 0), "56,1"), ((0, 1), "561"), ((1, 0), "56.0")):
        page.locator(field.format(*place_)).fill(text)
    store = page.get_by_role("button", name="Store these readings")
    store.click()
    expect(page.locator(field.format(0, 1))).to_be_focused()
    page.locator(field.format(0, 1)).fill("56.2")
    store.click()
    # The plan asks for two readings of each fill; or somebody says that there are no more.
    expect(page.locator(field.format(1, 1))).to_be_focused()
    page.get_by_text("Store it as it is").click()
    store.click()
    # The second coffee is read on side b first.
    page.wait_for_url(re.compile("/2/b$"))
    expect(page.locator("h1")).to_have_text("Cup 102")
    [entry] = entries(page)
    assert (entry["kind"], entry["about"]) == ("comparison_sample", "New meter · Cup 101 · Meter N")
    page.goto(place.url)
    expect(page.locator("[data-gear] a").last).to_have_text("Next: Cup 102 with Meter N")
    back(page, place)
    [_first, sample] = comparisons.list_samples(bench.db, there.id)
    assert (sample.coffee_no, sample.side, sample.person_name) == (1, "b", "Tomas")
    assert [r.typed for r in sample.readings] == ["56,1", "56.2", "56.0"]
