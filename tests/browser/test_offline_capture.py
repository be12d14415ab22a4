"""A roaster's day at the bench without a network: from a cold start to the position of both kinds, and then sent."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.test_capture import GROUND, WHOLE, Taps
from tests.support.offline import Place, prepare
from webapp.store import batches, results, samples


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


def begin(page, url: str) -> None:
    """A new batch, to the first step of its first sample."""
    page.goto(url + "/batches/new")
    page.locator('label:has-text("Lantern House")').click()
    page.locator('button:has-text("Go on to the sample")').click()
    page.wait_for_url(re.compile("/whole$"))


def read_both(page) -> None:
    """Both samples, from the whole beans' steps to the result."""
    for readings, then in ((WHOLE, "/ground$"), (GROUND, "/result$")):
        read(page, readings)
        page.locator("[data-readings] .actions .primary").click()
        page.wait_for_url(re.compile(then))


def test_it_starts_cold_without_a_server_and_goes_on_to_the_result(bench, place, tablet):
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    context = page.context
    page.close()
    place.down()
    page = context.new_page()
    begin(page, place.url)
    read_both(page)
    expect(page.locator("h1")).to_contain_text("In band.")
    expect(page.locator("#part-whole + p .figure")).to_have_text("56.2")
    expect(page.locator("#part-ground + p .figure")).to_have_text("61.0")
    offline = page.locator(".verdict").inner_text(), parts(page)
    expect(page.locator(".kit-line")).to_contain_text("Without the server.")
    # Nothing tells the tablet that the server is back. Once it has all of it, its own page takes over.
    place.up()
    expect(page.locator(".kit-line")).to_have_count(0, timeout=30_000)
    expect(page.locator("[data-saved]")).to_contain_text("Stored")
    assert (page.locator(".verdict").inner_text(), parts(page)) == offline
    [batch] = batches.search(bench.db, "")
    taken = samples.get_samples(bench.db, batch.id)
    assert [[r.typed for r in s.readings] for s in taken] == [list(WHOLE), list(GROUND)]
    assert {s.person_name for s in taken} == {"Ravi"}
    assert results.get_batch_result(bench.db, batch.id).verdict == "inside"


def parts(page) -> list[str]:
    """What the cards of the result say, but for the one about the batch."""
    return page.locator(".part:not(.about)").all_inner_texts()


def test_it_shows_a_batch_that_the_server_does_not_have_yet(bench, place, tablet):
    """The server is back, and asked for a batch before that batch has been sent."""
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    place.down()
    begin(page, place.url)
    path = page.url.removeprefix(place.url)
    page.route("**/records", lambda route: route.abort())
    place.up()
    page.goto(place.url + path.replace("/whole", "/result"))
    expect(page.locator("h1")).to_have_text("Not read yet")
    assert "/shell?at=" in page.url
    page.goto(place.url + path)
    expect(page.locator("form.capture.guided")).to_be_visible()
    page.goto(place.url + path.replace("/whole", "/result"))
    expect(page.locator("h1")).to_have_text("Not read yet")
    page.unroute("**/records")
    page.wait_for_url(place.url + path.replace("/whole", "/result"), timeout=30_000)
    expect(page.locator("h1")).to_have_text("Not read yet")
    page.goto(f"{place.url}/batches/{'0' * 8}-0000-4000-8000-{'0' * 12}/result")
    expect(page.locator("h1")).to_have_text("There is nothing here")


def test_it_walks_a_trainee_step_by_step_without_a_server(bench, place, tablet):
    batch = bench.batch()
    page = tablet("trainee", service_workers="allow", failing=True)
    prepare(page, place.url)
    place.down()
    page.goto(f"{place.url}/batches/{batch.id}/whole")
    for step in bench.versions["whole"].steps:
        expect(page.get_by_role("heading", name=step.title)).to_be_visible()
        expect(page.locator("[data-step]:visible")).to_have_count(1)
        assert page.locator("[data-switch]").count() == 0
        page.locator("[data-done]").click()
    for text in WHOLE:
        Taps(page).number(text)
    expect(page.locator("[data-standing]")).to_contain_text("In band, give or take")
    page.locator("[data-readings] .actions .primary").click()
    page.wait_for_url(re.compile("/ground$"))
    page.goto(f"{place.url}/batches/{batch.id}/result")
    expect(page.locator("h1")).to_have_text("Not complete yet.")
    expect(page.locator(".part.missing.ground")).to_be_visible()
    # A trainee decides nothing.
    assert page.locator(".actions form, .actions a[href*=decision]").count() == 0


def test_it_keeps_a_draft_over_a_reload_without_a_server(bench, place, tablet):
    batch = bench.batch()
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    place.down()
    page.goto(f"{place.url}/batches/{batch.id}/whole")
    page.locator("[data-switch]").click()
    page.locator("[data-done]").click()
    Taps(page).number("56.1")
    Taps(page).number("56")
    expect(page.locator("[data-saved]")).to_have_text("Kept on this tablet")
    number = page.locator('[name="id"]').input_value()
    page.reload()
    expect(page.locator('[name="fills-0-readings-0-value"]')).to_have_value("56.1")
    expect(page.locator('[name="fills-0-readings-1-value"]')).to_have_value("56")
    assert page.locator('[name="id"]').input_value() == number


def test_it_does_the_same_with_the_network_switched_off(bench, place, tablet):
    """The other kind of offline: the browser itself knows that there is no network."""
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    page.context.set_offline(True)
    page.goto(place.url + "/batches/new")
    page.locator('label:has-text("Lantern House")').click()
    page.locator('button:has-text("Ground first")').click()
    page.wait_for_url(re.compile("/ground$"))
    read(page, GROUND)
    page.locator("[data-readings] .actions .primary").click()
    page.wait_for_url(re.compile("/whole$"))
    page.goto(place.url)
    expect(page.get_by_role("heading", name="What this tablet has")).to_be_visible()
    expect(page.locator("[data-batches] li")).to_have_count(1)
    expect(page.locator("[data-batches] li")).to_contain_text("Lantern House still to read: whole bean")
    page.context.set_offline(False)
    # Sent as soon as the network is back, and shown by the server from then on.
    expect(page.locator("#strip .cell")).to_have_count(1, timeout=30_000)
    [batch] = batches.search(bench.db, "")
    assert [[r.typed for r in s.readings] for s in samples.get_samples(bench.db, batch.id)] == [list(GROUND)]


def test_it_says_how_old_the_kit_is_and_when_it_is_too_old(bench, place, tablet):
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    place.down()
    page.goto(place.url + "/batches/new")
    expect(page.locator(".kit-line")).to_contain_text(re.compile(r"from \d\d:\d\d\."))
    for hours, text, old in ((11, "11 hours old", False), (13, "13 hours old", True)):
        page.evaluate(AGE, hours)
        page.reload()
        expect(page.locator(".kit-line")).to_contain_text(text)
        assert ("old" in page.locator(".kit-line").get_attribute("class")) == old
        assert ("Targets or methods may have changed" in page.locator(".kit-line").inner_text()) == old


AGE = """(hours) => new Promise((resolve, reject) => {
  const opening = indexedDB.open("drumside");
  opening.onsuccess = () => {
    const transaction = opening.result.transaction("kit", "readwrite");
    const store = transaction.objectStore("kit");
    store.get("kit").onsuccess = ({ target }) => {
      const then = new Date(Date.now() - hours * 3_600_000 - 60_000).toISOString();
      store.put({ ...target.result, fetched_at: then }, "kit");
    };
    transaction.oncomplete = () => (opening.result.close(), resolve());
    transaction.onabort = reject;
  };
})"""


def test_it_asks_who_is_there_when_nobody_is(bench, place, tablet):
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    place.down()
    page.goto(place.url + "/batches/new")
    page.locator(".top .person").click()
    expect(page.locator(".lock-screen")).to_contain_text("Who is at the tablet?")
    expect(page.locator("main")).to_be_hidden()
    page.get_by_role("button", name="Tomas").click()
    expect(page.locator(".top .person")).to_have_text("Tomas trainee")


def test_T20_it_shows_nobodys_readings_to_the_next_person(bench, place, tablet):
    """Read without a server, then another name is tapped: not on the page, not by the back button."""
    batch = bench.batch()
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    place.down()
    page.goto(f"{place.url}/batches/{batch.id}/whole")
    read(page, WHOLE)
    page.locator("[data-readings] .actions .primary").click()
    page.wait_for_url(re.compile("/ground$"))
    page.goto(f"{place.url}/batches/{batch.id}/result")
    expect(page.locator("#part-whole + p .figure")).to_have_text("56.2")
    page.locator(".top .person").click()
    page.get_by_role("button", name="Tomas").click()
    expect(page.locator(".top .person")).to_have_text("Tomas trainee")
    page.goto(f"{place.url}/batches/{batch.id}/result")
    expect(page.locator(".part.whole")).to_contain_text("Read by somebody else.")
    assert "56.2" not in page.content()
    for _ in range(3):
        page.go_back()
        page.locator(".top .person, .lock-screen").first.wait_for()
        page.wait_for_timeout(300)
        assert not re.search(r"56\.[124]", page.locator("body").inner_text()), page.url
