"""A lead's word on a sample of a look-back, finished after the network has gone: kept on the tablet, stored once."""

import pytest
from playwright.sync_api import expect

from tests.support.offline import Place, prepare
from tests.support.roastery import later
from tests.support.waiting import entries, until
from webapp.store import look_backs


@pytest.fixture
def address(place: Place) -> str:
    """For the fixture `tablet`."""
    return place.url


def test_a_word_on_a_sample_waits_for_the_server_and_is_stored_once(bench, place, tablet):
    start = later(bench.now, hours=-3)
    bench.check([60.0, 60.1, 60.0], at=start)
    sample = bench.sample(bench.batch("0514-01", at=start).id, "whole", [56.0, 56.1, 56.0], at=later(start, minutes=9))
    check = bench.check([60.6, 60.6, 60.7], [60.0, 60.0, 60.1], at=later(start, hours=1))
    page = tablet("lead", service_workers="allow", failing=True)
    prepare(page, place.url)
    page.goto(f"{place.url}/gear/look-backs/{check.id}/{sample.id}/accepted")
    page.wait_for_load_state("networkidle")
    place.down()
    # Not finished without a reason: the tablet says so by itself.
    page.get_by_role("button", name="Accept").click()
    expect(page.locator(".caution[role=alert]")).to_be_visible()
    page.locator("#reason").fill("Far inside the band.")
    page.get_by_role("button", name="Accept").click()
    until(page, lambda: [e["kind"] for e in entries(page)] == ["look_back_entry"])
    # It goes back to the list by itself: to go elsewhere before it has arrived would cut that off.
    page.wait_for_url(lambda url: url.split("#")[0].endswith(check.id))
    page.goto(f"{place.url}/outbox")
    expect(page.locator("[data-what]").first).to_have_text("Look-back · Meter A · 0514-01")
    assert look_backs.entry_of(bench.db, sample.id) is None
    place.up()
    page.get_by_role("button", name="Send now").click()
    until(page, lambda: entries(page) == [])
    entry = look_backs.entry_of(bench.db, sample.id)
    assert (entry.what, entry.reason, entry.person_name) == ("accepted", "Far inside the band.", "Ada")
