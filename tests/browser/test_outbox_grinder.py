"""What is done to a grinder is kept on the tablet and sent like a sample, and disturbs no page without the server."""

import pytest
from playwright.sync_api import expect

from tests.support.offline import Place, prepare
from tests.support.waiting import entries, until
from webapp.store import grinder_log


@pytest.fixture
def address(place: Place) -> str:
    """For the fixture `tablet`."""
    return place.url


def test_an_entry_of_a_grinders_log_waits_for_the_server_and_is_sent_once(bench, place, tablet):
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    page.goto(f"{place.url}/gear/grinders/{bench.grinder}/log?what=burrs")
    page.locator('[name="note"]').fill("from the spare box")
    page.wait_for_load_state("networkidle")
    place.down()
    page.get_by_role("button", name="Add to the log").click()
    until(page, lambda: [e["kind"] for e in entries(page)] == ["grinder_event"])
    # The form leads back to the grinder; going on before it has got there would stop both.
    page.wait_for_url(f"{place.url}/gear/grinders/{bench.grinder}")
    # The bench goes on, and the list says what waits.
    page.goto(f"{place.url}/batches/new")
    page.locator(".shell form[data-module=new-batch]").wait_for()
    page.goto(f"{place.url}/outbox")
    expect(page.locator("[data-what]").first).to_have_text("Grinder log · Grinder 1: The burrs were changed")
    assert grinder_log.list_events(bench.db, bench.grinder) == []
    place.up()
    page.get_by_role("button", name="Send now").click()
    until(page, lambda: entries(page) == [])
    [there] = grinder_log.list_events(bench.db, bench.grinder)
    assert (there.what, there.note, there.person_name) == ("burrs", "from the spare box", "Ravi")
