"""What the tablet itself grants: to be installed, to keep what is written, to leave its screen on; and what iOS needs.

A profile that stays, as on a tablet: in a private window browsers neither install an app nor promise to keep anything.
"""

from __future__ import annotations

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.support.browser import ARGUMENTS, chromium
from tests.support.offline import Place, prepare
from webapp.store import sessions

IPAD = "Mozilla/5.0 (iPad; CPU OS 17_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Safari/604.1"
# A screen that can be kept on, and counts how often that was asked for.
WAKE_LOCK = """
  globalThis.asked = 0;
  Object.defineProperty(navigator, "wakeLock", { value: {
    async request(type) {
      globalThis.asked += 1;
      globalThis.held = Object.assign(new EventTarget(), { type, released: false });
      return globalThis.held;
    },
  } });
"""
AWAY_AND_BACK = """() => {
  const seen = (hidden) => {
    Object.defineProperty(document, "hidden", { value: hidden, configurable: true });
    document.dispatchEvent(new Event("visibilitychange"));
  };
  globalThis.held.released = true;
  globalThis.held.dispatchEvent(new Event("release"));
  seen(true);
  const gone = document.querySelector("form.capture").dataset.awake;
  seen(false);
  return gone;
}"""


@pytest.fixture
def address(place: Place) -> str:
    """For the fixture `tablet`."""
    return place.url


@pytest.fixture
def profile(browser, place, bench, tmp_path) -> BrowserContext:
    """A browser of its own with a profile on the disk, and a roaster signed in."""
    context = browser.browser_type.launch_persistent_context(
        tmp_path / "profile", executable_path=chromium(), args=ARGUMENTS, viewport={"width": 1180, "height": 820}
    )
    token = sessions.start_session(bench.db, bench.people["roaster"], bench.tablet, 12, bench.now)
    for name, value in (("tablet", bench.tablet_secret), ("person", token)):
        context.add_cookies([{"name": name, "value": value, "url": place.url}])
    yield context
    context.close()


def test_it_can_be_installed(profile, place):
    page = profile.new_page()
    prepare(page, place.url)
    devtools = profile.new_cdp_session(page)
    assert devtools.send("Page.getInstallabilityErrors")["installabilityErrors"] == []
    manifest = devtools.send("Page.getAppManifest")
    assert manifest["errors"] == []
    assert manifest["url"] == place.url + "/manifest.webmanifest"


def test_it_opens_from_the_disk_after_the_browser_was_closed(browser, profile, place, bench, tmp_path):
    """The tablet has been off, and the server is not there: a form that can be filled in all the same."""
    page = profile.new_page()
    prepare(page, place.url)
    profile.close()
    place.down()
    again = browser.browser_type.launch_persistent_context(
        tmp_path / "profile", executable_path=chromium(), args=ARGUMENTS
    )
    try:
        page = again.new_page()
        page.goto(place.url + "/batches/new")
        expect(page.locator('label:has-text("Lantern House")')).to_be_visible()
        expect(page.locator(".top .person")).to_have_text("Ravi")
    finally:
        again.close()


@pytest.mark.parametrize(
    ("granted", "said"), [(True, "yes, the browser has agreed"), (False, "not promised: the browser may clear it")]
)
def test_it_asks_to_keep_what_is_written_and_shows_the_answer(place, tablet, granted, said):
    page = tablet("roaster", service_workers="allow", failing=True)
    page.add_init_script(f"""
      navigator.storage.persist = async () => (localStorage.kept = "{str(granted).lower()}") === "true";
      navigator.storage.persisted = async () => localStorage.kept === "true";
    """)
    prepare(page, place.url)
    assert page.evaluate("localStorage.kept") == str(granted).lower()
    page.goto(place.url + "/outbox")
    expect(page.locator("[data-storage]")).to_contain_text(said)
    expect(page.locator("[data-opened]")).to_have_text("in the browser")
    expect(page.locator("[data-release]")).not_to_have_text("not yet")
    # The same is said without the server.
    place.down()
    page.goto(place.url + "/outbox")
    expect(page.locator(".shell [data-storage]")).to_contain_text(said)


def test_it_keeps_the_screen_on_during_a_capture_and_after_a_return(bench, place, tablet):
    batch = bench.batch()
    page = tablet("roaster", service_workers="allow", failing=True)
    page.add_init_script(WAKE_LOCK)
    prepare(page, place.url)
    assert page.evaluate("asked") == 0
    for server_is_there in (True, False):
        if not server_is_there:
            place.down()
        page.goto(f"{place.url}/batches/{batch.id}/whole")
        form = page.locator("form.capture.guided")
        expect(form).to_have_attribute("data-awake", "on")
        assert page.evaluate("[asked, held.type]") == [1, "screen"]
        assert page.evaluate(AWAY_AND_BACK) == "off"
        expect(form).to_have_attribute("data-awake", "on")
        assert page.evaluate("asked") == 2


@pytest.mark.parametrize(
    ("stub", "state"),
    [
        ("Object.defineProperty(navigator, 'wakeLock', { value: undefined })", "none"),
        (
            "Object.defineProperty(navigator, 'wakeLock', { value: { request: async () => {"
            " throw new DOMException('low battery', 'NotAllowedError'); } } })",
            "off",
        ),
    ],
)
def test_it_goes_on_where_the_screen_cannot_be_kept_on(bench, place, tablet, stub, state):
    batch = bench.batch()
    page = tablet("roaster")
    page.add_init_script(stub)
    page.goto(f"{place.url}/batches/{batch.id}/whole")
    expect(page.locator("form.capture.guided")).to_have_attribute("data-awake", state)


def notice(page: Page):
    return page.locator(".notice")


def test_it_tells_ios_to_open_it_from_the_home_screen(place, tablet):
    page = tablet("roaster", user_agent=IPAD, has_touch=True)
    page.goto(place.url + "/me")
    expect(notice(page)).to_contain_text("Add the app to the home screen")
    notice(page).get_by_role("button").click()
    expect(notice(page)).to_have_count(0)
    page.reload()
    page.locator("h1").wait_for()
    page.wait_for_timeout(300)
    expect(notice(page)).to_have_count(0)


@pytest.mark.parametrize(
    "stub", ["navigator.standalone = true", "matchMedia = (query) => ({ matches: query.includes('standalone') })"]
)
def test_it_says_nothing_when_it_was_opened_from_there(place, tablet, stub):
    page = tablet("roaster", user_agent=IPAD, has_touch=True)
    page.add_init_script(stub)
    page.goto(place.url + "/me")
    page.wait_for_timeout(500)
    expect(notice(page)).to_have_count(0)


def test_it_says_nothing_about_a_home_screen_elsewhere(place, tablet):
    page = tablet("roaster", has_touch=True)
    page.goto(place.url + "/me")
    page.wait_for_timeout(500)
    expect(notice(page)).to_have_count(0)
