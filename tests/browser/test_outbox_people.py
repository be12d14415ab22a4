"""People without a network: the lock, a change of person by a claim, and the PIN that confirms it later."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.test_accessibility import looked_at
from tests.browser.test_capture import WHOLE, Taps
from tests.support.offline import Place, prepare
from tests.support.outbox import decision_record, roast
from tests.support.roastery import NAMES, PINS
from tests.support.waiting import call, entries, flush, put, record, until
from webapp.store import claims, decisions, samples, sessions

LOCKED = "Locked. The server cannot be reached. Trying again."
STORE = "[data-readings] .actions .primary"


@pytest.fixture
def address(place: Place) -> str:
    """For the fixture `tablet`: a server that can go away."""
    return place.url


def idle(page, minutes: int = 11) -> None:
    """Nobody touches the tablet for so long."""
    page.clock.fast_forward(minutes * 60_000)
    page.clock.run_for(3000)


def type_pin(page, role: str) -> None:
    for digit in PINS[role]:
        page.locator(f"[data-digit='{digit}']").click()


@pytest.fixture
def ready(place, tablet):
    """A tablet that could go on without the server, with a clock of the test's own."""
    page = tablet("roaster", failing=True, service_workers="allow")
    prepare(page, place.url)
    page.clock.install()
    return page


def test_it_locks_without_the_server_and_keeps_everything(ready, place, bench):
    page, batch = ready, bench.batch()
    page.goto(f"{place.url}/batches/{batch.id}/whole")
    page.locator("[data-switch]").click()
    page.locator("[data-done]").click()
    Taps(page).number("56.1")
    [id] = put(page, record(bench.people["roaster"]))
    place.down()
    idle(page)
    expect(page.get_by_text(LOCKED)).to_be_visible()
    expect(page.locator("#main")).to_be_hidden()
    assert "56.1" not in page.evaluate("document.body.innerText")
    assert [entry["id"] for entry in entries(page)] == [id]
    expect(page.get_by_text("1 wait on this tablet and stay here.")).to_be_visible()
    kept = call(page, "offline/store", "get", "drafts", f"{batch.id}/whole")
    assert kept["fields"]["fills-0-readings-0-value"] == "56.1"
    assert call(page, "offline/claims", "atTablet") is None


FORMS = """
  globalThis.forms = 0;
  new MutationObserver(() => (globalThis.forms += document.querySelectorAll("form.capture").length))
    .observe(document, { childList: true, subtree: true });
"""


def test_it_shows_no_form_to_whoever_comes_after_a_long_time(place, bench, tablet):
    """The tablet was left alone and its browser closed: who is here is asked first, and the form comes after that."""
    page, batch = tablet("roaster", failing=True, service_workers="allow"), bench.batch()
    prepare(page, place.url)
    place.down()
    page.evaluate("localStorage.setItem('drumside-touched', String(Date.now() - 11 * 60_000))")
    page.add_init_script(FORMS)
    page.goto(f"{place.url}/batches/{batch.id}/whole")
    expect(page.get_by_text(LOCKED)).to_be_visible()
    assert page.evaluate("globalThis.forms") == 0
    page.get_by_role("button", name=NAMES["roaster"]).click()
    page.locator("form.capture.guided").wait_for()
    assert page.evaluate("globalThis.forms") > 0


def test_it_offers_names_and_no_pin(ready, place):
    place.down()
    idle(ready)
    expect(ready.get_by_role("button", name="Ada")).to_be_visible()
    expect(ready.get_by_role("button", name="Tomas")).to_be_visible()
    assert ready.locator("input:visible").count() == 0
    held = ready.evaluate("""async () => {
      const base = document.querySelector("script[type=module]").src.replace(/app\\.mjs$/, "");
      const { all } = await import(`${base}offline/store.mjs`);
      return JSON.stringify(await Promise.all(["kit", "here", "claims", "drafts", "shown"].map((name) => all(name))));
    }""")
    for secret in (*PINS.values(), "argon2", "hash", "pin_"):
        assert secret not in held


def test_another_person_takes_over_by_a_claim_and_their_records_name_it(ready, place, bench):
    page = ready
    place.down()
    idle(page)
    page.get_by_role("button", name="Ada").click()
    page.wait_for_url(f"{place.url}/")
    expect(page.locator(".person")).to_contain_text("Ada")
    [claim] = entries(page)
    assert (claim["kind"], claim["person_id"]) == ("claim", bench.people["lead"])
    page.goto(f"{place.url}/batches/new")
    page.locator('label:has-text("Lantern House")').click()
    page.get_by_role("button", name="Go on to the sample").click()
    page.wait_for_url(re.compile("/whole$"))
    batch = entries(page)[-1]
    assert (batch["person_id"], batch["claim_id"]) == (bench.people["lead"], claim["id"])


def test_the_session_that_was_locked_is_ended_before_anything_else_happens(ready, place, bench):
    """The server comes back: nothing goes out by the session of whoever was there, and no page of theirs is shown."""
    page = ready
    put(page, record(bench.people["roaster"], "batch"))
    place.down()
    idle(page)
    page.get_by_role("button", name="Ada").click()
    page.wait_for_url(f"{place.url}/")
    place.up()
    page.goto(f"{place.url}/me")
    page.wait_for_url(f"{place.url}/sign-in**")
    assert all(row["ended_at"] for row in bench.db.query("SELECT ended_at FROM session"))
    assert not list(bench.db.query("SELECT 1 FROM person_claim"))
    assert len(entries(page)) == 2


def test_a_form_posted_plainly_is_never_stored_in_the_name_of_whoever_was_there_before(ready, place, bench):
    """Ada took over; the server is back just when it has to be asked in its own page. It asks for a PIN first."""
    page = ready
    place.down()
    idle(page)
    page.get_by_role("button", name="Ada").click()
    page.wait_for_url(f"{place.url}/")
    page.goto(f"{place.url}/batches/new")
    page.locator('label:has-text("Lantern House")').click()
    code = page.locator('[name="code"]').input_value()
    kit = call(page, "offline/store", "get", "kit", "kit")
    kit["batches"].append({"id": bench.product, "code": code})
    call(page, "offline/store", "put", "kit", "kit", kit)
    place.up()
    page.get_by_role("button", name="Go on to the sample").click()
    expect(page.get_by_text("What you typed is not stored yet.")).to_be_visible()
    assert not list(bench.db.query("SELECT 1 FROM batch"))
    assert all(row["ended_at"] for row in bench.db.query("SELECT ended_at FROM session"))


def test_the_pin_page_comes_by_itself_when_the_server_is_back(ready, place, bench):
    place.down()
    idle(ready)
    expect(ready.get_by_text(LOCKED)).to_be_visible()
    place.up()
    ready.clock.fast_forward(6000)
    ready.wait_for_url(f"{place.url}/sign-in**")
    assert all(row["ended_at"] for row in bench.db.query("SELECT ended_at FROM session"))


def test_a_claim_is_confirmed_by_the_pin_and_the_decision_goes(ready, place, bench):
    """Ada takes over, decides, signs in later; her PIN on the list confirms the claim, and what waited for it goes."""
    page = ready
    place.down()
    idle(page)
    page.get_by_role("button", name="Ada").click()
    page.wait_for_url(f"{place.url}/")
    claim = entries(page)[0]["id"]
    roasted = roast(bench, "lead", claim_id=claim)
    put(page, *roasted, decision_record(bench, roasted[0]["id"], "hold", "Wait", "lead", claim_id=claim))
    place.up()
    page.goto(f"{place.url}/sign-in?next=/outbox")
    page.get_by_text("Ada", exact=True).click()
    type_pin(page, "lead")
    page.wait_for_url(f"{place.url}/outbox")
    until(page, lambda: [entry["kind"] for entry in entries(page)] == ["decision"], 15)
    expect(page.locator("[data-entries]")).to_contain_text("It waits until Ada confirms with their PIN")
    assert len(samples.get_samples(bench.db, roasted[0]["id"])) == 2
    assert claims.get_claim(bench.db, claim).confirmed_at is None
    page.locator("input[data-pin]").fill("000000")
    page.get_by_role("button", name="It was me").click()
    expect(page.locator("[data-wrong]")).to_be_visible()
    page.locator("input[data-pin]").fill(PINS["lead"])
    page.get_by_role("button", name="It was me").click()
    until(page, lambda: not entries(page))
    assert claims.get_claim(bench.db, claim).confirmed_at
    assert [d.what for d in decisions.get_decisions(bench.db, roasted[0]["id"])] == ["hold"]
    expect(page.locator("[data-claims]")).to_be_hidden()


def test_a_claim_cannot_be_confirmed_without_the_server(ready, place):
    page = ready
    place.down()
    idle(page)
    page.get_by_role("button", name="Ada").click()
    page.wait_for_url(f"{place.url}/")
    page.goto(f"{place.url}/outbox")
    page.locator("input[data-pin]").fill(PINS["lead"])
    page.get_by_role("button", name="It was me").click()
    expect(page.locator("[data-wrong]")).to_contain_text("The server cannot be reached.")
    expect(page.locator("input[data-pin]")).to_have_value("")


def test_who_captured_stays_who_captured_whoever_signs_in(ready, place, bench):
    """Ravi reads without a network, Ada signs in when it is back: stored as his, sent by her session."""
    page = ready
    place.down()
    records = roast(bench)
    put(page, *records)
    idle(page)
    place.up()
    page.clock.fast_forward(6000)
    page.wait_for_url(f"{place.url}/sign-in**")
    page.get_by_text("Ada", exact=True).click()
    type_pin(page, "lead")
    until(page, lambda: not entries(page), 15)
    for made in samples.get_samples(bench.db, records[0]["id"]):
        assert (made.person_id, made.sent_by) == (bench.people["roaster"], bench.people["lead"])


def test_a_lock_that_the_server_hears_of_asks_for_no_claim(ready, place, bench):
    idle(ready)
    ready.wait_for_url(f"{place.url}/sign-in**")
    assert call(ready, "offline/claims", "owed") is None
    assert call(ready, "offline/claims", "atTablet") is None
    assert not entries(ready)


def test_the_next_person_sees_nothing_that_others_have_read(ready, place, bench):
    """What this tablet knows of its own batches, for the result without a server, is the reader's alone."""
    page = ready
    for who in ("roaster", "lead"):
        call(page, "offline/store", "put", "shown", f"batch of {who}", {"person_id": bench.people[who], "value": 56.2})
    place.down()
    idle(page)
    page.get_by_role("button", name="Ada").click()
    page.wait_for_url(f"{place.url}/")
    kept = call(page, "offline/store", "all", "shown")
    assert {one["person_id"] for one in kept} <= {bench.people["lead"]}


def test_a_draft_goes_on_under_the_next_person(ready, place, bench):
    """A change of shift in the middle of a sample: the readings stay, the record is of whoever finishes it."""
    page = ready
    page.goto(f"{place.url}/batches/new")
    page.locator('label:has-text("Lantern House")').click()
    page.get_by_role("button", name="Go on to the sample").click()
    page.wait_for_url(re.compile("/whole$"))
    page.wait_for_load_state("networkidle")
    page.locator("[data-switch]").click()
    page.locator("[data-done]").click()
    Taps(page).number(WHOLE[0])
    where = page.url
    place.down()
    idle(page)
    page.get_by_role("button", name="Ada").click()
    page.wait_for_url(f"{place.url}/")
    page.goto(where)
    expect(page.locator('[name="fills-0-readings-0-value"]')).to_have_value(WHOLE[0])


def test_an_old_mark_does_not_lock_a_new_session(ready, place, bench):
    """Locked without the server, then signed in by PIN on another page: the new session stays."""
    page = ready
    place.down()
    idle(page)
    expect(page.get_by_text(LOCKED)).to_be_visible()
    assert call(page, "offline/claims", "owed")
    page.close()
    place.up()
    context = ready.context
    token = sessions.start_session(bench.db, bench.people["roaster"], bench.tablet, 12, bench.now)
    context.add_cookies([{"name": "person", "value": token, "url": place.url}])
    fresh = context.new_page()
    fresh.goto(f"{place.url}/me")
    fresh.wait_for_load_state("networkidle")
    assert fresh.url == f"{place.url}/me"
    assert call(fresh, "offline/claims", "owed") is None
    flush(fresh)


def test_axe_finds_nothing_on_the_locked_tablet(ready, place):
    place.down()
    idle(ready)
    expect(ready.get_by_role("button", name="Ada")).to_be_visible()
    assert looked_at(ready, "the locked tablet") == []
