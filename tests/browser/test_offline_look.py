"""The pages that a tablet shows by itself: axe finds nothing on them, a glove hits every target, nothing is cut off."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.test_accessibility import looked_at
from tests.browser.test_capture import GROUND, WHOLE
from tests.browser.test_offline_capture import read
from tests.support.offline import Place, prepare
from webapp.store import gear


@pytest.fixture
def address(place: Place) -> str:
    """For the fixture `tablet`."""
    return place.url


@pytest.mark.parametrize("size", [pytest.param("tablet", marks=pytest.mark.long), "phone"])
def test_it_finds_nothing_by_day_and_night(place, tablet, size):
    page = tablet("roaster", size=size, service_workers="allow", failing=True)
    prepare(page, place.url)
    place.down()
    found = []

    def look(name: str) -> None:
        page.wait_for_timeout(300)
        found.extend(looked_at(page, name))

    page.goto(place.url + "/products")
    look("no server")
    page.goto(place.url)
    look("nothing on this tablet")
    page.goto(place.url + "/batches/new")
    expect(page.locator(".kit-line")).to_be_visible()
    look("start a batch")
    page.locator('label:has-text("Lantern House")').click()
    page.locator('button:has-text("Go on to the sample")').click()
    page.wait_for_url(re.compile("/whole$"))
    page.locator(".guided").wait_for()
    look("a step")
    read(page, WHOLE)
    look("readings")
    page.locator("[data-readings] .actions .primary").click()
    page.wait_for_url(re.compile("/ground$"))
    read(page, GROUND)
    page.locator("[data-readings] .actions .primary").click()
    page.wait_for_url(re.compile("/result$"))
    page.locator("#how").wait_for()
    look("result")
    page.locator(".actions a", has_text="Hold").click()
    expect(page.locator("h1")).to_contain_text("Hold batch")
    look("reason")
    page.goto(place.url)
    expect(page.locator("[data-batches] li")).to_have_count(1)
    look("what this tablet has")
    assert not found, "\n".join(found)


@pytest.mark.parametrize("where", ["/", "/batches/new", "/batches/{batch}/whole", "/products"])
def test_it_holds_at_twice_the_text_size_and_320_pixels(bench, place, tablet, where):
    batch = bench.batch()
    page = tablet("roaster", size="phone", service_workers="allow", failing=True)
    prepare(page, place.url)
    place.down()
    page.set_viewport_size({"width": 320, "height": 640})
    page.goto(place.url + where.format(batch=batch.id))
    page.locator("h1").wait_for()
    page.wait_for_timeout(300)
    assert page.evaluate("document.documentElement.scrollWidth") <= 321
    page.set_viewport_size({"width": 640, "height": 900})
    page.evaluate("document.documentElement.style.fontSize = '225%'")
    assert page.evaluate("document.documentElement.scrollWidth") <= 641


def test_it_decides_without_a_server_and_the_server_hears_of_it(bench, place, tablet):
    """In band by what this tablet knows: to be read again, then released after all; stored when the server is back."""
    batch = bench.batch()
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    place.down()
    for kind, readings in (("whole", WHOLE), ("ground", GROUND)):
        page.goto(f"{place.url}/batches/{batch.id}/{kind}")
        read(page, readings)
        page.locator("[data-readings] .actions .primary").click()
        page.wait_for_url(re.compile("/(ground|result)$"))
    expect(page.get_by_role("button", name="Release batch")).to_be_visible()
    page.get_by_role("link", name="Read it again").click()
    page.fill('[name="reason"]', "From the other sack.")
    page.get_by_role("button", name="Read it again").click()
    expect(page.locator(".decided")).to_contain_text("To be read again by Ravi")
    assert [link.inner_text() for link in page.locator(".actions .primary").all()] == ["Read whole bean", "Read ground"]
    page.get_by_role("link", name="Release batch").click()
    expect(page.locator("[data-supersedes]")).to_contain_text("This takes the place of: To be read again by Ravi")
    page.fill('[name="reason"]', "There is no other sack.")
    page.get_by_role("button", name="Release batch").click()
    expect(page.locator(".decided")).to_contain_text("Released by Ravi")
    assert page.get_by_role("link", name="Release batch").count() == 0
    result = page.url
    place.up()
    page.goto(place.url + "/outbox")
    expect(page.locator("[data-summary]")).to_have_text("Everything from this tablet is stored.", timeout=30_000)
    page.goto(result)
    assert page.locator(".kit-line").count() == 0
    expect(page.locator(".decided").first).to_contain_text("Released by Ravi")
    first, second = bench.db.query("SELECT id, what, supersedes FROM decision ORDER BY rowid")
    assert (first["what"], second["what"], second["supersedes"]) == ("remeasure", "release", first["id"])


def test_it_shows_three_readings_above_the_pad_of_a_phone_without_a_server(place, tablet, bench):
    gear.add_meter(bench.db, "Meter C", bench.scale, "Plate 3", 6000, 20, bench.who("lead"), bench.now)
    batch = bench.batch()
    page = tablet("roaster", size="phone", service_workers="allow", failing=True)
    prepare(page, place.url)
    place.down()
    page.goto(f"{place.url}/batches/{batch.id}/whole")
    page.locator(".guided").wait_for()
    expect(page.locator(".kit-line")).to_be_visible()
    read(page, WHOLE)
    assert page.locator("[data-meter]").is_visible()
    row = page.locator("[data-row].filled").last.bounding_box()
    pad = page.locator('[data-key="7"]').bounding_box()
    assert row["y"] + row["height"] <= pad["y"]
