"""The page of what waits: what it shows, what can be done about each entry, and the file to another tablet."""

import json

import pytest
from playwright.sync_api import expect

from tests.browser.test_accessibility import looked_at
from tests.browser.test_capture import WHOLE, Taps, open_readings
from tests.support.fake_server import FakeServer, broken
from tests.support.outbox import roast
from tests.support.waiting import call, entries, flush, put, record, states, until
from webapp.store import batches, samples

ENTRY = "[data-entries] > li"


@pytest.fixture
def page(address, tablet):
    opened = tablet("roaster", failing=True)
    opened.goto(f"{address}/outbox")
    opened.wait_for_load_state("networkidle")
    return opened


@pytest.fixture
def ravi(bench) -> str:
    return bench.people["roaster"]


def away(page) -> FakeServer:
    fake = FakeServer(page)
    fake.token_script = [broken("connectionrefused")] * 9999
    return fake


def test_it_says_that_nothing_waits(page):
    expect(page.locator("[data-summary]")).to_have_text("Everything from this tablet is stored.")
    expect(page.locator(ENTRY)).to_have_count(0)
    expect(page.locator("h1")).to_have_text("What waits on this tablet")


def test_it_lists_what_waits_with_state_age_who_and_what(page, ravi):
    away(page)
    page.clock.install()
    put(page, record(ravi), record(ravi, "batch", about="Copper Kettle · 0302-02", who="Ada"))
    flush(page)
    page.clock.fast_forward(12 * 60_000)
    expect(page.locator("[data-summary]")).to_have_text("2 wait, the oldest for 12 min.")
    first, second = page.locator(ENTRY).all()
    for text in ("Whole bean · Lantern House · 0302-01", "saved on this tablet", "by Ravi", "12 min"):
        expect(first).to_contain_text(text)
    for text in ("Batch · Copper Kettle · 0302-02", "by Ada"):
        expect(second).to_contain_text(text)
    expect(first.locator("[data-choices]")).to_be_hidden()


def test_send_now_says_how_it_went(page, ravi):
    fake = away(page)
    put(page, record(ravi))
    page.get_by_role("button", name="Send now").click()
    expect(page.locator("[data-said]")).to_contain_text("The server cannot be reached.")
    expect(page.locator(ENTRY)).to_have_count(1)
    fake.token_script = []
    page.get_by_role("button", name="Send now").click()
    expect(page.locator("[data-summary]")).to_have_text("Everything from this tablet is stored.")
    expect(page.locator(ENTRY)).to_have_count(0)


def test_it_opens_the_form_again_and_the_same_number_is_stored(bench, address, tablet):
    """Refused for one field; put right in the form with all that was typed."""
    page, batch = tablet("roaster", failing=True), bench.batch()
    open_readings(page, address, batch)
    for text in WHOLE:
        Taps(page).number(text)
    number = page.locator('[name="id"]').input_value()
    fake = FakeServer(page)
    fake.refuse(number, 422, "not_on_the_page", "This meter was retired.")
    page.locator("[data-readings] .actions .primary").click()
    page.wait_for_url(f"{address}/outbox")
    expect(page.locator(ENTRY)).to_contain_text("This meter was retired.")
    expect(page.locator(ENTRY)).to_contain_text("needs attention")
    page.get_by_role("button", name="Open the form again").click()
    page.wait_for_url("**/whole?meter=**")
    expect(page.locator('[name="fills-0-readings-0-value"]')).to_have_value("56.1")
    assert page.locator('[name="id"]').input_value() == number
    assert states(page) == {number: "attention"}
    page.context.unroute("**/records")
    page.context.unroute("**/csrf")
    page.locator("[data-readings] .actions .primary").click()
    page.wait_for_url("**/ground")
    until(page, lambda: not entries(page))
    assert [s.id for s in samples.get_samples(bench.db, batch.id)] == [number]


def test_it_shows_both_versions_and_keeps_mine_under_a_number_of_its_own(page, ravi):
    fake = FakeServer(page)
    one = record(ravi)
    ours = {"readings": [{"typed": "56.2"}], "note": "", "person": {"id": ravi, "name": "Ravi"}}
    theirs = ours | {"readings": [{"typed": "57.0"}, {"typed": "57.1"}]}
    fake.refuse(one["id"], 409, "other_content", "Stored already, with other content.", ours=ours, theirs=theirs)
    put(page, one)
    flush(page)
    rows = page.locator("[data-versions] tbody tr")
    expect(rows).to_have_count(1)
    expect(rows.first).to_have_text("Readings56.257.0, 57.1")
    expect(page.get_by_role("button", name="Open the form again")).to_be_hidden()
    page.get_by_role("button", name="Store mine as one more").click()
    until(page, lambda: not entries(page))
    [(id, stored)] = fake.stored.items()
    assert id != one["id"]
    assert stored["form"] == one["form"] | {"id": id}


def test_it_sets_aside_and_takes_up_again_and_nothing_is_lost(page, ravi):
    fake = FakeServer(page)
    one = record(ravi)
    fake.refuse(one["id"], 422, "invalid")
    put(page, one)
    flush(page)
    page.get_by_role("button", name="Set aside").click()
    expect(page.locator(ENTRY)).to_contain_text("set aside")
    expect(page.locator("[data-summary]")).to_have_text("Everything from this tablet is stored.")
    expect(page.locator("[data-saved]")).not_to_contain_text("attention")
    asked = len(fake.posts)
    flush(page, 2)
    assert len(fake.posts) == asked
    fake.verdicts.clear()
    page.get_by_role("button", name="Take it up again").click()
    until(page, lambda: not entries(page))
    assert set(fake.stored) == {one["id"]}


def test_what_was_read_is_shown_to_nobody_while_nobody_is_at_the_tablet(page, address, ravi):
    fake = FakeServer(page)
    one = record(ravi)
    fake.refuse(one["id"], 409, "other_content", "Secret 56.2", ours={"note": "57.9"}, theirs={"note": "56.2"})
    put(page, one)
    flush(page)
    expect(page.locator(ENTRY)).to_contain_text("Secret 56.2")
    page.locator(".top .person").click()
    page.get_by_role("button", name="Lock", exact=True).click()
    page.wait_for_url(f"{address}/sign-in**")
    until(page, lambda: call(page, "offline/claims", "atTablet") is None)
    page.goto(f"{address}/outbox")
    expect(page.locator(ENTRY)).to_contain_text("needs attention")
    expect(page.locator(ENTRY)).not_to_contain_text("56.2", timeout=8000)
    expect(page.locator("[data-choices]")).to_be_hidden()


def test_it_goes_on_where_somebody_was_going_once_that_is_stored(page, address, bench):
    batch, *_samples = roast(bench)
    fake = away(page)
    put(page, batch)
    page.goto(f"{address}/outbox?next=/batches/{batch['id']}/whole")
    expect(page.locator(ENTRY)).to_have_count(1)
    fake.token_script = []
    page.context.unroute("**/records")
    page.context.unroute("**/csrf")
    page.get_by_role("button", name="Send now").click()
    page.wait_for_url(f"{address}/batches/{batch['id']}/whole")


@pytest.mark.parametrize(
    "elsewhere", ["https://example.org/", "//example.org/", "/\\example.org", "javascript:alert(1)"]
)
def test_it_leads_to_no_other_site(page, address, elsewhere):
    page.goto(f"{address}/outbox?next={elsewhere}")
    page.wait_for_timeout(800)
    assert page.url.startswith(f"{address}/outbox")


def test_a_file_brings_everything_to_another_tablet_and_both_may_send_it(bench, address, tablet, tmp_path):
    first = tablet("roaster", failing=True)
    first.goto(f"{address}/outbox")
    first.wait_for_load_state("networkidle")
    away(first)
    records = roast(bench)
    put(first, *records)
    with first.expect_download() as saved:
        first.get_by_role("button", name="Save to a file").click()
    assert saved.value.suggested_filename.endswith(".jsonl")
    path = tmp_path / "waiting.jsonl"
    saved.value.save_as(path)
    assert len(entries(first)) == 3, "saving to a file takes nothing out"
    lines = [json.loads(line) for line in path.read_text().splitlines()]
    assert lines[0]["count"] == 3
    assert [line["record"]["id"] for line in lines[1:-1]] == [r["id"] for r in records]
    second = tablet("lead", own=True)
    second.goto(f"{address}/outbox")
    second.wait_for_load_state("networkidle")
    second.locator("[data-take-file]").set_input_files(path)
    expect(second.locator("[data-said]")).to_have_text("Taken in: 3. The others were here already.")
    until(second, lambda: not entries(second))
    assert len(samples.get_samples(bench.db, records[0]["id"])) == 2
    assert batches.get_batch(bench.db, records[0]["id"]).person_id == bench.people["roaster"]
    # The first tablet comes back and sends the same.
    first.context.unroute("**/csrf")
    first.context.unroute("**/records")
    until(first, lambda: flush(first) and not entries(first))
    assert len(samples.get_samples(bench.db, records[0]["id"])) == 2


def test_a_files_records_are_what_the_server_takes(bench, page, ravi):
    """The record of each line, posted as it is: another way in when no tablet is at hand."""
    away(page)
    records = roast(bench)
    put(page, *records)
    text = call(page, "offline/transfer", "toText", entries(page))
    taken = [json.loads(line)["record"] for line in text.splitlines()[1:-1]]
    page.context.unroute("**/csrf")
    answer = page.evaluate(
        """async (records) => {
          const { token } = await (await fetch("/csrf")).json();
          const headers = { "Content-Type": "application/json", "X-CSRFToken": token };
          return (await fetch("/records?", { method: "POST", headers, body: JSON.stringify({ records }) })).json();
        }""",
        taken,
    )
    assert answer["stored"] == [r["id"] for r in records]


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda text: text.replace("56.2", "57.2"), "not whole"),
        (lambda text: "\n".join(text.splitlines()[:2]), "not whole"),
        (lambda text: text.replace('"count":2', '"count":3'), "not whole"),
        (lambda text: "a,b,c\n1,2,3\n", "no file of waiting records"),
        (lambda text: "", "no file of waiting records"),
    ],
    ids=["changed", "cut off", "miscounted", "another file", "empty"],
)
def test_a_file_that_is_not_whole_is_refused_as_a_whole(page, ravi, tmp_path, spoil, words):
    away(page)
    text = call(page, "offline/transfer", "toText", [record(ravi), record(ravi)])
    path = tmp_path / "waiting.jsonl"
    path.write_text(spoil(text))
    page.locator("[data-take-file]").set_input_files(path)
    expect(page.locator("[data-said]")).to_contain_text(words)
    assert entries(page) == []


def test_taking_in_the_same_file_twice_adds_nothing_and_changes_nothing(page, ravi, tmp_path):
    away(page)
    mine = record(ravi)
    path = tmp_path / "waiting.jsonl"
    path.write_text(call(page, "offline/transfer", "toText", [mine, record(ravi)]))
    put(page, mine | {"form": mine["form"] | {"note": "typed since"}})
    for said in ("Taken in: 1.", "Taken in: 0."):
        page.locator("[data-take-file]").set_input_files(path)
        expect(page.locator("[data-said]")).to_contain_text(said)
    assert len(states(page)) == 2
    [kept] = [entry for entry in entries(page) if entry["id"] == mine["id"]]
    assert kept["form"]["note"] == "typed since"


@pytest.mark.parametrize(("size", "dark"), [("tablet", False), ("phone", True)])
def test_axe_finds_nothing_on_a_full_list_and_everything_can_be_touched(address, tablet, ravi, size, dark):
    page = tablet("roaster", size=size, dark=dark, failing=True)
    page.goto(f"{address}/outbox")
    page.wait_for_load_state("networkidle")
    fake = FakeServer(page)
    both, wrong, held = (record(ravi) for _ in range(3))
    fake.refuse(both["id"], 409, "other_content", ours={"note": "a"}, theirs={"note": "b"})
    fake.refuse(wrong["id"], 422, "invalid")
    fake.verdicts[held["id"]] = {"status": 500, "stored": False, "error": "broken"}
    call(page, "offline/store", "put", "claims", "c", {"id": "c", "name": "Ada", "claimed_at": "2026-03-02T08:00:00Z"})
    call(page, "offline/store", "put", "here", "remarks", [{"about": "0302-01", "text": "A remark."}])
    put(page, both, wrong, held)
    flush(page)
    expect(page.locator(ENTRY).filter(has_text="needs attention")).to_have_count(2)
    assert looked_at(page, "/outbox") == []
