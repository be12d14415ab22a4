"""Sending what waits: one tab at a time, in order, by itself, and soon; with both kinds of missing network."""


import pytest
from playwright.sync_api import expect

from tests.support.fake_server import FakeServer, as_json, broken
from tests.support.offline import placed
from tests.support.outbox import roast
from tests.support.waiting import call, entries, flush, put, record, states, until
from webapp.store import batches, samples

CHIP = "[data-saved]"


@pytest.fixture
def page(address, tablet):
    opened = tablet("roaster", failing=True)
    opened.goto(f"{address}/me")
    opened.wait_for_load_state("networkidle")
    return opened


@pytest.fixture
def fake(page):
    return FakeServer(page)


@pytest.fixture
def ravi(bench) -> str:
    return bench.people["roaster"]


def away(fake: FakeServer) -> None:
    fake.token_script = [broken("connectionrefused")] * 9999


def test_it_sends_in_the_order_in_which_things_were_finished(page, fake, ravi):
    ids = put(page, *[record(ravi, kind) for kind in ("batch", "sample", "decision", "sample")])
    assert flush(page) == "done"
    assert fake.posts == [ids]
    assert fake.requests[0]["build"] == call(page, "offline/outbox", "BUILD")


def test_it_lets_one_tab_send(page, fake, ravi, address):
    """Two tabs that both try: every record is in one request alone."""
    other = page.context.new_page()
    other.goto(f"{address}/me")
    other.wait_for_load_state("networkidle")
    slow = lambda route, records: (page.wait_for_timeout(300), fake.take(route, records))  # noqa: E731
    fake.script = [slow] * 9
    ids = put(page, *[record(ravi) for _ in range(5)])
    for tab in (page, other):
        tab.evaluate("() => void dispatchEvent(new Event('online'))")
    until(page, lambda: not entries(page))
    assert sorted(id for names in fake.posts for id in names) == sorted(ids)
    expect(other.locator(CHIP)).to_contain_text("Stored")


def test_a_second_tab_takes_over_when_the_first_is_gone(page, fake, ravi, address):
    other = page.context.new_page()
    other.goto(f"{address}/me")
    other.wait_for_load_state("networkidle")
    away(fake)
    put(other, record(ravi))
    flush(other)
    other.close()
    fake.token_script = []
    until(page, lambda: flush(page) and not entries(page))
    assert len(fake.stored) == 1


def test_the_other_tab_shows_what_happens_in_this_one(page, fake, ravi, address):
    away(fake)
    other = page.context.new_page()
    other.goto(f"{address}/me")
    put(page, record(ravi))
    expect(other.locator(CHIP)).to_have_text("Saved on this tablet")


@pytest.mark.parametrize("sign", ["online", "visible", "start", "hand"])
def test_it_tries_at_once_on_a_sign(page, fake, ravi, address, sign):
    """However long the next try by itself would be away."""
    away(fake)
    put(page, record(ravi))
    flush(page)
    call(page, "offline/store", "put", "outbox", None, entries(page)[0] | {"next_at": 9e12, "tries": 20})
    page.wait_for_timeout(1500)
    fake.token_script = []
    page.wait_for_timeout(1500)
    assert len(entries(page)) == 1, "it is not due yet"
    if sign == "online":
        page.evaluate("() => void dispatchEvent(new Event('online'))")
    elif sign == "visible":
        page.evaluate("() => void document.dispatchEvent(new Event('visibilitychange'))")
    elif sign == "start":
        page.goto(f"{address}/me")
    else:
        page.goto(f"{address}/outbox")
        page.get_by_role("button", name="Send now").click()
    until(page, lambda: not entries(page), 5)


def test_it_waits_longer_each_time_and_never_more_than_five_minutes(page, fake, ravi):
    away(fake)
    put(page, record(ravi))
    waits = []
    for _ in range(14):
        until(page, lambda: flush(page) != "busy")
        [entry] = entries(page)
        waits.append(entry["next_at"] - page.evaluate("Date.now()"))
        assert entry["tries"] == len(waits) or entry["tries"] > len(waits) - 1
    assert waits[0] <= 1000
    assert max(waits) <= 300_000
    assert min(waits[10:]) >= 149_000, "half of the most at least: jitter"
    assert len({round(wait, -2) for wait in waits[10:]}) > 1, "jitter"


def test_it_is_saved_with_the_network_off_and_sent_with_it_on(page, bench):
    """The browser knows that it is offline."""
    batch, *_samples = roast(bench)
    page.context.set_offline(True)
    assert page.evaluate("navigator.onLine") is False
    put(page, batch)
    assert flush(page) == "unreachable"
    expect(page.locator(CHIP)).to_have_text("Saved on this tablet")
    page.context.set_offline(False)
    until(page, lambda: not entries(page))
    assert batches.get_batch(bench.db, batch["id"]).code == batch["form"]["code"]


def test_it_is_saved_with_a_dead_server_and_sent_when_that_is_back(app, bench, tablet, address):
    """The browser thinks that it is online."""
    with placed(app) as place:
        page = tablet("roaster", failing=True)
        page.context.add_cookies([{**cookie, "url": place.url} | {} for cookie in cookies(page)])
        page.goto(f"{place.url}/me")
        page.wait_for_load_state("networkidle")
        place.down()
        records = roast(bench)
        put(page, *records)
        assert flush(page) == "unreachable"
        assert page.evaluate("navigator.onLine") is True
        expect(page.locator(CHIP)).to_contain_text("Saved on this tablet: 3")
        place.up()
        until(page, lambda: not entries(page), 20)
    assert len(samples.get_samples(bench.db, records[0]["id"])) == 2


def cookies(page) -> list[dict]:
    return [{"name": c["name"], "value": c["value"]} for c in page.context.cookies()]


def test_it_sends_200_entries(page, bench):
    """Batches with both samples, to the real server. How fast that is: tests/benchmarks/offline.py."""
    records = [one for _ in range(67) for one in roast(bench)][:200]
    call(page, "offline/transfer", "toText", [])
    page.context.set_offline(True)
    call(page, "offline/transfer", "takeIn", [r | {"saved_at": r["made_at"], "seq": n} for n, r in enumerate(records)])
    assert len(entries(page)) == 200
    page.context.set_offline(False)
    until(page, lambda: not entries(page), 60)
    count = next(bench.db.query("SELECT (SELECT count(*) FROM batch) + (SELECT count(*) FROM sample) AS n"))["n"]
    assert count == 200


def test_a_sample_waits_for_its_batch_without_troubling_anybody(page, fake, ravi):
    """The batch cannot be stored yet for a reason of the server's; its sample is no case for a person."""
    batch = record(ravi, "batch")
    sample = record(ravi, batch_id=batch["id"])
    fake.verdicts[batch["id"]] = {"status": 500, "stored": False, "error": "broken"}
    fake.refuse(sample["id"], 404, "no_batch")
    put(page, batch, sample)
    flush(page)
    assert set(states(page).values()) == {"saved"}
    fake.verdicts.clear()
    until(page, lambda: flush(page) and not entries(page))


def test_a_sample_goes_once_its_batch_was_put_right(page, fake, ravi):
    batch = record(ravi, "batch")
    sample = record(ravi, batch_id=batch["id"])
    fake.refuse(batch["id"], 422, "invalid")
    fake.refuse(sample["id"], 404, "no_batch")
    put(page, batch, sample)
    flush(page)
    flush(page, 2)
    assert states(page) == {batch["id"]: "attention", sample["id"]: "attention"}
    fake.verdicts.clear()
    put(page, batch)
    until(page, lambda: flush(page) and not entries(page))
    assert set(fake.stored) == {batch["id"], sample["id"]}


@pytest.mark.parametrize(
    ("answer", "corner", "words"),
    [
        (as_json(401, {"error": "sign_in"}), "Needs a PIN: 1", "asks for a PIN"),
        (as_json(403, {"error": "not_enrolled"}), "Saved on this tablet", "does not know this tablet"),
        (as_json(403, {"error": "origin"}), "Saved on this tablet", "does not take it at the moment"),
    ],
    ids=["no session", "not enrolled", "refused"],
)
def test_it_pauses_until_somebody_is_there(page, fake, ravi, address, answer, corner, words):
    [id] = put(page, record(ravi))
    fake.script = [answer] * 99
    assert flush(page) == "paused"
    asked = len(fake.posts)
    page.wait_for_timeout(3000)
    assert len(fake.posts) == asked, "it goes on asking while nobody can answer"
    expect(page.locator(CHIP)).to_contain_text(corner)
    page.goto(f"{address}/outbox")
    expect(page.locator("[data-pause-text]")).to_contain_text(words)
    until(page, lambda: states(page) == {id: "saved"})
    fake.script = []
    page.reload()
    until(page, lambda: not entries(page))
    expect(page.locator("[data-pause]")).to_be_hidden()
