"""A roaster's day at the bench without a network: from a cold start to the position of both kinds, and then sent."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.test_capture import GROUND, WHOLE, Taps
from tests.support.offline import Place, placed, prepare
from webapp.store import batches, results, samples


@pytest.fixture
def place(app, bench):
    app.config["WTF_CSRF_ENABLED"] = True
    with placed(app) as found:
        yield found
    app.config["WTF_CSRF_ENABLED"] = False


@pytest.fixture
def address(place: Place) -> str:
    """For the fixture `tablet`."""
    return place.url


def read(page, readings) -> None:
    if page.locator("[data-switch]").inner_text() == "Short checklist":
        page.locator("[data-switch]").click()
    page.locator("[data-done]").click()
    for text in readings:
        Taps(page).number(text)


def test_it_starts_cold_without_a_server_and_goes_on_to_the_result(bench, place, tablet):
    page = tablet("roaster", service_workers="allow")
    prepare(page, place.url)
    context = page.context
    page.close()
    place.down()
    page = context.new_page()
    page.goto(place.url + "/batches/new")
    page.locator('label:has-text("Lantern House")').click()
    page.locator('button:has-text("Go on to the sample")').click()
    page.wait_for_url(re.compile("/whole$"))
    read(page, WHOLE)
    page.locator("[data-readings] .actions .primary").click()
    page.wait_for_url(re.compile("/ground$"))
    read(page, GROUND)
    page.locator("[data-readings] .actions .primary").click()
    page.wait_for_url(re.compile("/result$"))
    expect(page.locator("h1")).to_contain_text("In band.")
    expect(page.locator("#part-whole + p .figure")).to_have_text("56.2")
    expect(page.locator("#part-ground + p .figure")).to_have_text("61.0")
    shown = page.locator(".parts").inner_text()
    place.up()
    page.reload()
    page.wait_for_timeout(3000)
