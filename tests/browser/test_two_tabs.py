"""Two tabs of one tablet, and people who come and go between them."""

import pytest
from playwright.sync_api import expect

from tests.browser.test_capture import WHOLE, Taps
from tests.support.offline import Place, prepare
from tests.support.roastery import PINS
from tests.support.waiting import call, entries, until
from webapp.store import sessions

STORE = "[data-readings] .actions .primary"
FIRST = '[name="fills-0-readings-0-value"]'


@pytest.fixture
def address(place: Place) -> str:
    """For the fixture `tablet`: a server that can go away."""
    return place.url


@pytest.fixture
def tabs(place, tablet):
    """tabs(path): the same page in two tabs of a tablet that could go on without the server."""

    def opened(path: str, role: str = "roaster"):
        one = tablet(role, failing=True, service_workers="allow")
        prepare(one, place.url)
        two = one.context.new_page()
        for page in (two, one):
            page.goto(place.url + path)
        # A browser slows down what is behind another tab, as on a tablet: whoever taps has their tab in front.
        one.bring_to_front()
        return one, two

    return opened


def read(page, readings=WHOLE) -> None:
    page.bring_to_front()
    page.locator("form.guided").wait_for()
    switch = page.locator("[data-switch]:visible")
    if switch.count() and switch.inner_text() == "Short checklist":
        switch.click()
    while page.locator("[data-done]").is_visible():
        page.locator("[data-done]").click()
    for text in readings:
        Taps(page).number(text)


def pin(page, role: str) -> None:
    for digit in PINS[role]:
        page.locator(f"[data-digit='{digit}']").click()


def test_the_same_form_finished_twice_with_two_contents_is_two_records(tabs, place, bench):
    batch = bench.batch()
    one, two = tabs(f"/batches/{batch.id}/whole")
    place.down()
    read(one, ("56.1", "56.1", "56.1"))
    # Loaded again the second tab would show what the first has typed.
    read(two, ("56.3", "56.3", "56.3"))
    number = one.locator('[name="id"]').input_value()
    assert two.locator('[name="id"]').input_value() != "" != number
    two.locator('[name="id"]').evaluate("(field, id) => (field.value = id)", number)
    for page in (one, two):
        page.bring_to_front()
        page.locator(STORE).click()
        page.wait_for_url("**/ground")
    kept = {entry["form"]["fills-0-readings-0-value"]: entry["id"] for entry in entries(one)}
    assert set(kept) == {"56.1", "56.3"}
    assert kept["56.1"] == number != kept["56.3"]
    assert all(entry["form"]["id"] == entry["id"] for entry in entries(one))
    place.up()
    until(one, lambda: not entries(one), seconds=30)
    first = bench.db.query("SELECT typed FROM reading WHERE no = 1 ORDER BY typed")
    assert [reading["typed"] for reading in first] == ["56.1", "56.3"]


def test_the_same_form_finished_twice_with_one_content_is_one_record(tabs, place, bench):
    batch = bench.batch()
    one, _two = tabs(f"/batches/{batch.id}/whole")
    place.down()
    read(one)
    one.locator(STORE).click()
    one.wait_for_url("**/ground")
    [entry] = entries(one)
    again = {**entry, "form": {**entry["form"], "made_at": "2026-11-25T08:00:00.000Z"}}
    kept = call(one, "offline/outbox", "put", again)
    assert kept["id"] == entry["id"]
    [still] = entries(one)
    # It may have been tried again in between.
    assert (still["id"], still["form"]) == (entry["id"], entry["form"])


def test_a_person_who_signs_in_on_one_tab_is_at_the_other_too(tabs, place, bench):
    batch = bench.batch()
    one, two = tabs(f"/batches/{batch.id}/whole")
    read(one, ("56.1",))
    expect(one.locator("[data-saved]")).to_have_text("Kept on this tablet")
    two.bring_to_front()
    two.goto(f"{place.url}/sign-in?next=/")
    two.get_by_text("Tomas", exact=True).click()
    pin(two, "trainee")
    two.wait_for_url(f"{place.url}/")
    expect(one.locator(".top .person")).to_contain_text("Tomas")
    # Begun the short way by somebody else: a trainee walks the steps, and the reading is still there.
    expect(one.locator("[data-step]:visible")).to_have_count(1)
    read(one, WHOLE[1:])
    expect(one.locator(FIRST)).to_have_value("56.1")
    one.locator(STORE).click()
    one.wait_for_url("**/ground")
    [row] = bench.db.query("SELECT person_id, checklist FROM sample")
    assert row == {"person_id": bench.people["trainee"], "checklist": "walked"}


def test_a_lock_on_one_tab_leaves_nothing_on_the_other(tabs, place, bench):
    batch = bench.batch()
    bench.sample(batch.id, "whole", [56.1, 56.4, 56.1])
    one, two = tabs(f"/batches/{batch.id}/result")
    two.bring_to_front()
    two.goto(f"{place.url}/sign-in?next=/")
    two.get_by_role("button", name="Lock", exact=True).click()
    one.wait_for_url(f"{place.url}/sign-in**")
    assert "56.2" not in one.content()
    # Locked is locked: without the server too nobody is at the tablet.
    until(one, lambda: call(one, "offline/claims", "atTablet") is None)
    place.down()
    one.goto(f"{place.url}/batches/{batch.id}/result")
    expect(one.locator(".lock-screen")).to_be_visible()


def test_a_claim_on_one_tab_is_heard_by_the_other(tabs, place, bench):
    batch = bench.batch()
    one, two = tabs(f"/batches/{batch.id}/whole")
    place.down()
    for page in (one, two):
        page.reload()
    expect(one.locator(".top .person")).to_contain_text("Ravi")
    two.bring_to_front()
    two.locator(".top .person").click()
    two.get_by_role("button", name="Ada").click()
    expect(one.locator(".top .person")).to_contain_text("Ada")
    # At the day, or at the page that was there, made anew for her: how soon the tab heard of it decides.
    assert one.url in {f"{place.url}/", f"{place.url}/batches/{batch.id}/whole"}


def test_a_pin_is_not_sent_into_nothing(tabs, place):
    """The server goes while somebody types a PIN: no error page of the browser, but the locked tablet and its names."""
    one, _two = tabs("/sign-in?next=/me")
    one.get_by_text("Ada", exact=True).click()
    place.down()
    pin(one, "lead")
    expect(one.get_by_text("Who is at the tablet?")).to_be_visible(timeout=10_000)
    one.get_by_role("button", name="Ada").click()
    expect(one.locator(".top .person")).to_contain_text("Ada")


def test_a_lock_is_not_sent_into_nothing(tabs, place):
    one, _two = tabs("/sign-in?next=/")
    place.down()
    one.get_by_role("button", name="Lock", exact=True).click()
    expect(one.locator(".lock-screen")).to_be_visible(timeout=10_000)


def test_a_tablet_that_was_revoked_says_so_when_it_locks(tabs, place, bench):
    one, _two = tabs("/batches/new")
    one.clock.install()
    one.goto(f"{place.url}/batches/new")
    sessions.revoke_tablet(bench.db, bench.tablet, bench.who("lead"), bench.now)
    one.clock.fast_forward(11 * 60_000)
    one.clock.run_for(3000)
    expect(one.locator("h1")).to_contain_text("not enrolled", ignore_case=True, timeout=10_000)
