"""What was called saved is on the disk: through a killed browser, a full tablet, and a database that is not there."""

import os
import signal
import subprocess

import pytest
from playwright.sync_api import expect

from tests.browser.test_capture import WHOLE, Taps, figure, open_readings
from tests.support.browser import ARGUMENTS, chromium
from tests.support.fake_server import FakeServer, broken
from tests.support.waiting import call, entries, flush, put, record, states, until
from webapp.store import samples, sessions

# What the tablet's storage answers: every write fails with this error, or every open.
NO_WRITE = """(name) => {
  const real = IDBObjectStore.prototype.put;
  window.mend = () => (IDBObjectStore.prototype.put = real);
  IDBObjectStore.prototype.put = function (...args) {
    if (this.name !== "outbox") return real.apply(this, args);
    throw new DOMException("made up for a test", name);
  };
}"""
NO_DATABASE = """() => {
  IDBFactory.prototype.open = () => { throw new DOMException("made up for a test", "SecurityError"); };
}"""
NO_ANSWER = "() => { IDBFactory.prototype.open = () => ({}); }"
STORE = "[data-readings] .actions .primary"


def test_it_keeps_what_it_called_saved_when_the_browser_is_killed(browser, address, bench, tmp_path):
    """kill -9 right after the promise; the same profile opened again has them all, and sends them."""
    ids = []
    for again in (False, True):
        context = browser.browser_type.launch_persistent_context(
            str(tmp_path / "profile"), executable_path=chromium(), args=ARGUMENTS, service_workers="block"
        )
        token = sessions.start_session(bench.db, bench.people["roaster"], bench.tablet, 12, bench.now)
        for name, value in (("tablet", bench.tablet_secret), ("person", token)):
            context.add_cookies([{"name": name, "value": value, "url": address}])
        page = context.pages[0]
        fake = FakeServer(page)
        fake.token_script = [] if again else [broken()] * 999
        page.goto(f"{address}/me")
        if again:
            until(page, lambda page=page: not entries(page))
            assert set(fake.stored) == set(ids)
            context.close()
        else:
            for _ in range(20):
                ids += put(page, record(bench.people["roaster"]))
            kill(tmp_path / "profile")


def kill(profile) -> None:
    """The browser with this profile, and nothing else, at once."""
    found = subprocess.run(
        ["pgrep", "-f", f"user-data-dir={profile}"], capture_output=True, text=True, check=True
    ).stdout.split()
    for process in found:
        try:
            os.kill(int(process), signal.SIGKILL)
        except ProcessLookupError:
            continue


@pytest.fixture
def reading(bench, address, tablet):
    """A sample typed to its end, not stored yet, on a tablet whose requests may fail: (page, batch)."""
    page, batch = tablet("roaster", failing=True), bench.batch()
    open_readings(page, address, batch)
    for text in WHOLE:
        Taps(page).number(text)
    return page, batch


@pytest.mark.parametrize(
    ("error", "words"), [("QuotaExceededError", "This tablet is full"), ("NotReadableError", "cannot keep it just now")]
)
def test_it_says_that_it_cannot_keep_it_and_leaves_everything_on_the_screen(reading, bench, error, words):
    page, batch = reading
    page.evaluate(NO_WRITE, error)
    page.context.set_offline(True)
    page.locator(STORE).click()
    expect(page.get_by_role("alert").filter(has_text=words)).to_be_visible()
    assert not page.locator("[data-saved]").filter(has_text="Saved on this tablet").count()
    for index, text in enumerate(WHOLE):
        expect(page.locator(f'[name="fills-0-readings-{index}-value"]')).to_have_value(text)
    assert figure(page).inner_text() == "56.2"
    assert entries(page) == []
    # Room again, and the same tap saves it.
    page.evaluate("void mend()")
    page.locator(STORE).click()
    until(page, lambda: len(entries(page)) == 1)
    page.context.set_offline(False)
    page.wait_for_url("**/ground")
    assert len(samples.get_samples(bench.db, batch.id)) == 1


def test_it_hands_it_to_the_server_at_once_where_the_tablet_cannot_keep_it(reading, bench):
    page, batch = reading
    page.evaluate(NO_WRITE, "QuotaExceededError")
    page.locator(STORE).click()
    page.wait_for_url("**/ground")
    assert len(samples.get_samples(bench.db, batch.id)) == 1


@pytest.mark.parametrize("script", [NO_DATABASE, NO_ANSWER], ids=["refused", "no answer"])
def test_it_reads_and_stores_without_a_database(bench, address, tablet, script):
    """A browser in private mode, or one whose database hangs: the bench works with the server there."""
    page, batch = tablet("roaster", failing=True), bench.batch()
    page.add_init_script(f"({script})()")
    page.goto(f"{address}/batches/{batch.id}/whole")
    expect(page.locator("form.guided")).to_be_visible(timeout=15_000)
    page.locator("[data-switch]").click()
    page.locator("[data-done]").click()
    for text in WHOLE:
        Taps(page).number(text)
    assert figure(page).inner_text() == "56.2"
    page.locator(STORE).click()
    page.wait_for_url("**/ground", timeout=30_000)
    assert len(samples.get_samples(bench.db, batch.id)) == 1


def test_it_saves_while_the_database_is_closed_again_and_again(address, tablet, bench):
    page = tablet("roaster", failing=True)
    page.goto(f"{address}/me")
    page.wait_for_load_state("networkidle")
    FakeServer(page).token_script = [broken()] * 99
    page.evaluate("""() => {
      const real = IDBDatabase.prototype.transaction;
      let calls = 0;
      IDBDatabase.prototype.transaction = function (...args) {
        if (++calls % 2) this.close();
        return real.apply(this, args);
      };
    }""")
    ids = [put(page, record(bench.people["roaster"]))[0] for _ in range(10)]
    assert set(states(page)) == set(ids)


def test_it_gives_way_to_a_tab_with_a_newer_build(address, tablet, bench):
    """The newer build's database has a higher number; the tab with the older build goes on with it."""
    page = tablet("roaster", failing=True)
    page.goto(f"{address}/me")
    page.wait_for_load_state("networkidle")
    fake = FakeServer(page)
    fake.token_script = [broken()] * 99
    put(page, record(bench.people["roaster"]))
    page.evaluate("""() => new Promise((resolve, reject) => {
      const opening = indexedDB.open("drumside", 3);
      opening.onupgradeneeded = () => opening.result.createObjectStore("of_the_next_build");
      opening.onsuccess = () => (opening.result.close(), resolve());
      opening.onerror = reject;
      opening.onblocked = () => reject(new Error("the old tab holds on to it"));
    })""")
    put(page, record(bench.people["roaster"]))
    assert len(entries(page)) == 2
    page.reload()
    fake.token_script = []
    until(page, lambda: flush(page) and not entries(page))
    assert len(fake.stored) == 2


def test_it_numbers_what_it_saves(address, tablet, bench):
    """Each has the tablet's next number and the build that made it, whoever saved before."""
    page = tablet("roaster", failing=True)
    page.goto(f"{address}/me")
    fake = FakeServer(page)
    # The page sends by itself when something is put there: not yet.
    fake.script = [broken()] * 50
    put(page, *[record(bench.people["roaster"]) for _ in range(3)])
    build = call(page, "offline/outbox", "BUILD")
    assert build in page.content()
    assert {entry["build"] for entry in entries(page)} == {build}
    fake.script = []
    until(page, lambda: flush(page) and not entries(page))
    put(page, record(bench.people["roaster"]))
    until(page, lambda: flush(page) and not entries(page))
    assert sorted(stored["seq"] for stored in fake.stored.values()) == [1, 2, 3, 4]
    assert all("state" not in stored and "who" not in stored for stored in fake.stored.values())
