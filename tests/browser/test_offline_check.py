"""A meter checked without a network: the bench goes by it at once, and the server has it when it is back."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.test_offline_capture import begin, read_both
from tests.support.offline import Place, prepare
from webapp.store import batches, checks, results


@pytest.fixture
def address(place: Place) -> str:
    """For the fixture `tablet`."""
    return place.url


def test_a_check_without_the_server_proves_what_is_read_after_it(bench, place, tablet):
    bench.ask_for_checks("shift", None, "06:00 14:00 22:00")
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    context = page.context
    page.close()
    place.down()
    page = context.new_page()
    begin(page, place.url)
    capture = page.url
    line = page.locator("[data-meter-line]")
    expect(line).to_contain_text("Meter A: Not checked yet.")
    line.locator("a").click()
    page.wait_for_url(re.compile("/check$"))
    # What is wrong is said here, by the tablet alone.
    for _step in range(2):
        page.locator("[data-done]").click()
    page.locator("#plate_typed").fill("Plate 2")
    expect(page.locator("[data-other-plate]")).to_have_text("This meter is checked on Plate 1.")
    page.locator("#plate_typed").fill("plate 1")
    for _step in range(2):
        page.locator("[data-done]").click()
    for no, text in enumerate(("60,1", "45.2", "60.1")):
        page.locator(f"#found-{no}-value").fill(text)
    expect(page.locator("[data-message]").nth(1)).to_contain_text("Is this the plate, and not coffee?")
    page.get_by_role("button", name="Store the check").click()
    assert page.url.endswith("/check")
    page.locator("#found-1-value").fill("60.0")
    expect(page.locator('[data-said="found"]')).to_contain_text("0.07 lighter than the plate, within ± 0.20: passed")
    page.get_by_role("button", name="Store the check").click()
    page.wait_for_url(f"{place.url}/")
    page.goto(capture)
    expect(page.locator("[data-meter-line]")).to_contain_text("by Ravi.")
    read_both(page)
    expect(page.locator("h1")).to_contain_text("In band. Release it.")
    expect(page.locator("[data-mark]")).to_have_count(0)
    place.up()
    expect(page.locator(".kit-line")).to_have_count(0, timeout=30_000)
    expect(page.locator("[data-mark]")).to_have_count(0)
    [check] = checks.list_checks(bench.db, bench.meter)
    assert ([r.typed for r in check.readings], check.person_name) == (["60,1", "60.0", "60.1"], "Ravi")
    [batch] = batches.search(bench.db, "")
    assert results.get_batch_result(bench.db, batch.id).meter_state == "proven"


@pytest.mark.long
def test_a_sample_without_a_check_is_marked_by_the_tablet_as_by_the_server(bench, place, tablet):
    bench.ask_for_checks("hours", 8)
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    place.down()
    begin(page, place.url)
    read_both(page)
    expect(page.locator("[data-mark]")).to_have_text("Meter not proven: it was not checked.")
    expect(page.get_by_role("button", name="Release batch")).to_have_count(0)
    offline = page.locator(".verdict").inner_text()
    place.up()
    expect(page.locator(".kit-line")).to_have_count(0, timeout=30_000)
    assert page.locator(".verdict").inner_text() == offline
