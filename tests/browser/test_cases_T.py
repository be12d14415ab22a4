"""The bugs that users of offline capture have met elsewhere, T01 to T28, each held against this tablet. Those of the
service worker stand in test_offline_worker.py and tests/sync."""

import pytest
from playwright.sync_api import expect

from tests.browser.test_capture import WHOLE, Taps, open_readings
from tests.support.fake_server import SIGN_IN, FakeServer, as_json, broken, plain
from tests.support.roastery import PINS
from tests.support.waiting import call, entries, flush, put, record, states, until
from webapp.store import batches, samples
from webapp.store.times import local_day

CHIP = "[data-saved]"
HEAR = """() => {
  window.heard = [];
  const chip = document.querySelector("[data-saved] span");
  const observer = new MutationObserver(() => window.heard.push(chip.textContent));
  observer.observe(chip, { childList: true, characterData: true, subtree: true });
}"""


@pytest.fixture
def page(address, tablet):
    """A page with nothing on it but the corner, on a tablet whose server may fail."""
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


def test_T01_an_answer_that_never_comes_back_stores_it_once(page, fake, ravi):
    def lost(route, records):
        """The server stores it, and the answer is lost on its way."""
        fake.stored.update({r["id"]: r for r in records})
        route.abort("connectionreset")

    [id] = put(page, record(ravi))
    fake.script = [lost] * 9
    for tried in range(1, 10):
        until(page, lambda tried=tried: flush(page) and len(fake.posts) >= tried)
    assert states(page)
    until(page, lambda: flush(page) == "done" and not entries(page))
    assert {name for names in fake.posts for name in names} == {id}
    assert len(fake.posts) >= 10


def test_T02_two_taps_on_store_are_one_sample(bench, address, tablet):
    page, batch = tablet("roaster"), bench.batch()
    open_readings(page, address, batch)
    for text in WHOLE:
        Taps(page).number(text)
    page.evaluate("""() => {
      const button = document.querySelector("[data-readings] .actions .primary");
      button.click(); button.click(); button.form.requestSubmit(button);
    }""")
    page.wait_for_url("**/ground")
    assert len(samples.get_samples(bench.db, batch.id)) == 1
    assert entries(page) == []


def test_T03_a_record_without_a_number_is_never_called_saved(page, fake, ravi):
    nameless = record(ravi) | {"id": ""}
    for bad in (nameless, {k: v for k, v in nameless.items() if k != "id"}, nameless | {"id": "1"}):
        with pytest.raises(Exception, match="without its number"):
            put(page, bad)
    assert entries(page) == []
    expect(page.locator(CHIP)).to_be_hidden()


def test_T04_the_number_belongs_to_the_form_and_not_to_the_attempt(bench, address, tablet):
    page, batch = tablet("roaster", failing=True), bench.batch()
    fake = FakeServer(page)
    open_readings(page, address, batch)
    number = page.locator('[name="id"]').input_value()
    Taps(page).number("56.1")
    expect(page.locator(CHIP)).to_have_text("Kept on this tablet")
    page.reload()
    expect(page.locator("form.guided")).to_be_visible()
    assert page.locator('[name="id"]').input_value() == number
    for text in WHOLE[1:]:
        Taps(page).number(text)
    fake.script = [plain(502), broken(), plain(200, SIGN_IN), as_json(500, {"error": "broken"})]
    page.locator("[data-readings] .actions .primary").click()
    page.wait_for_url("**/ground", timeout=30_000)
    assert entries(page) == []
    assert {id for ids in fake.posts for id in ids} == {number}
    assert len(fake.posts) >= 5


def test_T05_a_record_sent_again_after_it_was_stored_is_no_second_one(bench, address, tablet, ravi):
    """Another tablet took it in from a file, and sends it days later."""
    page = tablet("roaster", failing=True)
    page.goto(f"{address}/batches/new")
    page.wait_for_load_state("networkidle")
    page.locator('label:has-text("Lantern House")').click()
    page.context.set_offline(True)
    page.locator('button:has-text("Go on to the sample")').click()
    until(page, lambda: len(entries(page)) == 1)
    [copy] = entries(page)
    page.context.set_offline(False)
    page.wait_for_url("**/whole")
    page.wait_for_load_state("networkidle")
    page.goto(f"{address}/me")
    assert entries(page) == []
    call(page, "offline/transfer", "takeIn", [copy])
    # The page's own look at its start may be under way still.
    until(page, lambda: flush(page) == "done")
    assert entries(page) == []
    assert [b.id for b in batches.find_by_code(bench.db, copy["form"]["code"])] == [copy["id"]]


def test_T06_equal_readings_are_no_duplicates(bench, address, tablet):
    """Three equal readings, and twice the same sample: both are stored, with all readings."""
    page, batch = tablet("roaster"), bench.batch()
    for _again in range(2):
        open_readings(page, address, batch)
        for _same in range(3):
            Taps(page).number("56.2")
        page.get_by_role("button", name="Store, go on later").click()
        page.wait_for_url(f"{address}/")
    made = samples.get_samples(bench.db, batch.id)
    assert [[r.value for r in sample.readings] for sample in made] == [[5620] * 3] * 2


def test_T07_an_error_or_no_answer_leaves_it_in_the_outbox(page, fake, ravi):
    [id] = put(page, record(ravi))
    for answer in (plain(500, "<h1>no</h1>"), broken("timedout"), plain(503)):
        fake.script = [answer] * 9
        until(page, lambda: flush(page) != "busy")
        assert set(states(page)) == {id}
    fake.script = []
    until(page, lambda: flush(page) == "done" and not entries(page))
    assert set(fake.stored) == {id}


def test_T08_the_one_that_failed_stays_while_the_next_goes(page, fake, ravi):
    bad, good = record(ravi), record(ravi)
    fake.refuse(bad["id"], 409, "other_content")
    put(page, bad, good)
    flush(page)
    assert states(page) == {bad["id"]: "attention"}
    assert set(fake.stored) == {good["id"]}
    flush(page, 1)
    assert states(page) == {bad["id"]: "attention"}


def test_T09_the_server_is_back_and_nobody_touches_the_tablet(address, tablet, ravi):
    """Tries lie at most five minutes apart, for as long as it takes."""
    page = tablet("roaster", failing=True)
    page.clock.install()
    page.goto(f"{address}/strip-free-page-that-is-not-there")
    fake = FakeServer(page)
    tries = []
    page.route("**/csrf", lambda route: (tries.append(route.request.url), route.abort("connectionrefused")))
    put(page, record(ravi))
    flush(page)
    began = page.evaluate("Date.now()")
    while page.evaluate("Date.now()") - began < 3_600_000:

        def more(seen: int = len(tries)) -> bool:
            return len(tries) > seen

        page.clock.fast_forward(300_000)
        # By the page's clock five minutes have passed; the request itself takes its time on a busy machine.
        until(page, more)
    page.unroute("**/csrf")
    page.clock.fast_forward(300_000)
    until(page, lambda: not entries(page))
    assert len(fake.stored) == 1


def test_T10_a_missing_session_asks_for_a_pin_and_keeps_everything(bench, address, tablet):
    page, batch = tablet("roaster"), bench.batch()
    open_readings(page, address, batch)
    for text in WHOLE:
        Taps(page).number(text)
    number = page.locator('[name="id"]').input_value()
    bench.db.conn.execute("UPDATE session SET ended_at = started_at")
    page.locator("[data-readings] .actions .primary").click()
    page.wait_for_url(f"{address}/sign-in**")
    # The PIN page tries once itself.
    until(page, lambda: states(page) == {number: "saved"})
    expect(page.locator(CHIP)).to_contain_text("Needs a PIN: 1")
    page.get_by_text("Ada", exact=True).click()
    for digit in PINS["lead"]:
        page.locator(f"[data-digit='{digit}']").click()
    page.wait_for_url(f"{address}/batches/{batch.id}/ground")
    until(page, lambda: not entries(page))
    [made] = samples.get_samples(bench.db, batch.id)
    assert (made.id, made.person_id, made.sent_by) == (number, bench.people["roaster"], bench.people["lead"])


def test_T11_no_form_token_to_be_had_and_it_is_saved_all_the_same(page, fake, ravi):
    fake.token_script = [broken("internetdisconnected")] * 50
    [id] = put(page, record(ravi))
    assert flush(page) == "unreachable"
    assert states(page) == {id: "saved"}
    assert fake.posts == []
    assert "token" not in str(entries(page)).lower().replace("'token-", "")
    fake.token_script = []
    until(page, lambda: flush(page) == "done" and not entries(page))


def test_T12_a_stale_token_is_fetched_anew_once(page, fake, ravi):
    stale = as_json(400, {"error": "csrf_stale"})
    fake.script = [stale]
    put(page, record(ravi))
    assert flush(page) == "done"
    assert entries(page) == []
    assert len(set(fake.sent_tokens)) == 2
    fake.script = [stale] * 50
    [id] = put(page, record(ravi))
    before = len(fake.posts)
    assert flush(page) == "unreachable"
    assert len(fake.posts) == before + 2
    assert states(page) == {id: "saved"}


def test_T12_a_token_of_a_lost_cookie_is_replaced_by_the_real_server(bench, address, tablet):
    page, batch = tablet("roaster"), bench.batch()
    open_readings(page, address, batch)
    for text in WHOLE:
        Taps(page).number(text)
    page.context.clear_cookies(name="form")
    page.locator("[data-readings] .actions .primary").click()
    page.wait_for_url("**/ground")
    assert len(samples.get_samples(bench.db, batch.id)) == 1


def test_T22_whether_the_server_is_there_is_never_answered_from_a_cache(page, fake, ravi):
    def cached(route, _records):
        fake.tokens += 1
        as_json(200, {"token": f"token-{fake.tokens}"}, **{"Cache-Control": "public, max-age=86400"})(route, [])

    fake.token_script = [cached] * 3
    for count in range(1, 4):
        put(page, record(ravi))
        flush(page)
        assert fake.tokens == count
    assert len(set(fake.sent_tokens)) == 3
    # A page with status 200 is no sign of our server either.
    fake.token_script = [plain(200, SIGN_IN)] * 9
    put(page, record(ravi))
    assert flush(page) == "unreachable"
    assert len(fake.posts) == 3


def test_T23_the_database_is_closed_under_the_app(page, fake, ravi):
    """As a tablet's system does in the background: the connection is gone, and the next record is saved as ever."""
    put(page, record(ravi))
    page.evaluate("""async () => {
      const base = document.querySelector("script[type=module]").src.replace(/app\\.mjs$/, "");
      const { within } = await import(`${base}offline/store.mjs`);
      await within(["outbox"], "readonly", (store) => (store.transaction.db.close(), undefined)).catch(() => {});
    }""")
    put(page, record(ravi))
    assert len(entries(page)) == 2


def test_T24_an_older_database_keeps_what_it_had(bench, address, tablet, ravi):
    """Version 1 had only drafts; and entries of today's format with fields that a later build does not know."""
    page = tablet("roaster")
    batch = bench.batch()
    page.goto(f"{address}/static/none")
    page.evaluate("""async (key) => {
      const db = await new Promise((resolve, reject) => {
        const opening = indexedDB.open("drumside", 1);
        opening.onupgradeneeded = () => opening.result.createObjectStore("drafts");
        opening.onsuccess = () => resolve(opening.result);
        opening.onerror = reject;
      });
      const reading = { "fills-0-readings-0-value": "56.1", "fills-0-readings-0-sure": true };
      const fields = { id: "11111111-1111-4111-8111-111111111111", ...reading };
      await new Promise((done) => {
        const transaction = db.transaction("drafts", "readwrite");
        transaction.objectStore("drafts").put({ fields, at: "2026-03-01T08:00:00Z" }, key);
        transaction.oncomplete = done;
      });
      db.close();
    }""", f"{batch.id}/whole")
    page.goto(f"{address}/batches/{batch.id}/whole")
    expect(page.locator('[name="fills-0-readings-0-value"]')).to_have_value("56.1")
    assert page.locator('[name="id"]').input_value() == "11111111-1111-4111-8111-111111111111"
    assert page.evaluate("indexedDB.databases().then((all) => all.map((db) => db.version))") == [2]
    fake = FakeServer(page)
    old = record(ravi) | {"state": "saved", "saved_at": "2026-03-01T08:00:00.000Z", "seq": 7, "of_an_old_build": True}
    call(page, "offline/store", "put", "outbox", None, old)
    # The page sends by itself as well, and only one is at it at a time.
    until(page, lambda: flush(page) == "done" and not entries(page))
    assert set(fake.stored) == {old["id"]}


@pytest.mark.parametrize(
    ("status", "error"), [(422, "invalid"), (409, "other_content"), (404, "not_found"), (403, "role")]
)
def test_T25_a_bad_one_at_the_head_blocks_nobody(page, fake, ravi, status, error):
    bad, *good = [record(ravi) for _ in range(4)]
    fake.refuse(bad["id"], status, error, "Look at this one.")
    put(page, bad, *good)
    flush(page)
    assert states(page) == {bad["id"]: "attention"}
    assert set(fake.stored) == {one["id"] for one in good}
    expect(page.locator(CHIP)).to_contain_text("1 needs attention")


def test_T25_a_record_that_breaks_the_whole_request_blocks_nobody(page, fake, ravi):
    bad, *good = [record(ravi) for _ in range(30)]
    fails = lambda route, records: (  # noqa: E731
        plain(500, "<h1>Something broke</h1>")(route, records)
        if bad["id"] in [r["id"] for r in records]
        else fake.take(route, records)
    )
    fake.script = [fails] * 60
    put(page, bad, *good)
    flush(page)
    until(page, lambda: set(states(page)) == {bad["id"]}, seconds=30)
    assert set(fake.stored) == {one["id"] for one in good}


def test_T26_two_batches_with_one_code_are_both_stored(bench, address, tablet):
    """Two tablets without a network propose the same code. The key is the number, not the name."""
    page = tablet("roaster", failing=True)
    day = local_day(bench.now, "Europe/Vienna")
    code = batches.propose_code(bench.db, day)
    page.goto(f"{address}/batches/new")
    page.wait_for_load_state("networkidle")
    page.locator('label:has-text("Lantern House")').click()
    mine = page.locator('[name="id"]').input_value()
    bench.batch(code)
    page.context.set_offline(True)
    page.locator('button:has-text("Go on to the sample")').click()
    until(page, lambda: len(entries(page)) == 1)
    page.context.set_offline(False)
    page.wait_for_url("**/whole")
    page.wait_for_load_state("networkidle")
    assert {b.id for b in batches.find_by_code(bench.db, code)} > {mine}
    page.goto(f"{address}/outbox")
    expect(page.locator("[data-remark-list]")).to_contain_text(f"Another batch has the code {code} too")


def test_T27_saved_is_never_called_sent_and_sent_is_never_called_stored(page, fake, ravi):
    page.evaluate(HEAR)
    fake.token_script = [broken("internetdisconnected")] * 99
    put(page, record(ravi))
    flush(page)
    page.wait_for_timeout(1500)
    assert set(page.evaluate("heard")) == {"Saved on this tablet"}
    # It goes out, and no answer comes: on its way, and then only saved again.
    fake.token_script = []
    fake.script = [lambda route, _records: (page.wait_for_timeout(400), route.abort("connectionreset"))]
    page.evaluate("heard.length = 0")
    until(page, lambda: flush(page) != "busy" and fake.posts)
    page.wait_for_timeout(100)
    said = page.evaluate("heard")
    assert "Sent: 1" in said
    assert said[said.index("Sent: 1") + 1] == "Saved on this tablet"
    page.evaluate("heard.length = 0")
    until(page, lambda: flush(page) == "done" and not entries(page))
    expect(page.locator(CHIP)).to_contain_text("Stored")
    assert page.evaluate("heard").index("Sent: 1") < len(page.evaluate("heard")) - 1


def test_T28_what_waits_for_a_month_is_still_there(address, tablet, ravi):
    page = tablet("roaster", failing=True)
    page.clock.install()
    page.goto(f"{address}/a-page-that-is-not-there")
    fake = FakeServer(page)
    fake.token_script = [broken("internetdisconnected")] * 999
    ids = put(page, record(ravi), record(ravi, "decision"))
    flush(page)
    page.clock.fast_forward(30 * 86_400_000)
    page.wait_for_timeout(500)
    assert set(states(page)) == set(ids)
    expect(page.locator(CHIP)).to_have_text("Saved on this tablet: 2, oldest 30 days")
    page.reload()
    assert set(states(page)) == set(ids)
    fake.token_script = []
    page.reload()
    until(page, lambda: not entries(page))
    assert set(fake.stored) == set(ids)
