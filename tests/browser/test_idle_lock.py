"""A tablet that nobody touches locks itself, after telling the page, so that drafts are kept."""

from datetime import timedelta

import pytest
from playwright.sync_api import expect

from webapp.store import sessions
from webapp.store.site import Site, put_site
from webapp.store.who import SYSTEM

BAR = ".idle-bar"


def session_ended(bench) -> bool:
    return all(row["ended_at"] for row in bench.db.query("SELECT ended_at FROM session"))


@pytest.fixture
def page(address, tablet):
    opened = tablet("roaster")
    opened.clock.install()
    opened.goto(f"{address}/me?from=here")
    opened.wait_for_load_state("networkidle")
    return opened


def test_it_warns_half_a_minute_before_and_stays_when_told(page, bench):
    page.clock.fast_forward("09:25")
    expect(page.locator(BAR)).to_have_count(0)
    page.clock.fast_forward(6_000)
    expect(page.get_by_text("Locking in 30 s").or_(page.get_by_text("Locking in 29 s"))).to_be_visible()
    assert page.locator(f"{BAR} [role=status]").count() == 1
    box = page.get_by_role("button", name="Stay").bounding_box()
    assert box["height"] >= 64
    page.get_by_role("button", name="Stay").click()
    expect(page.locator(BAR)).to_have_count(0)
    page.clock.fast_forward("09:00")
    expect(page.locator(BAR)).to_have_count(0)
    assert not session_ended(bench)


def test_it_locks_here_and_on_the_server(page, address, bench):
    page.clock.fast_forward("10:01")
    page.wait_for_url(f"{address}/sign-in?next=/me?from%3Dhere")
    assert session_ended(bench)
    assert not [c for c in page.context.cookies() if c["name"] == "person"]
    page.goto(f"{address}/me")
    expect(page.locator("h1")).to_have_text("Who is at the tablet?")


def test_it_locks_at_once_when_the_tablet_wakes_up(page, address):
    page.clock.fast_forward("08:00:00")
    page.wait_for_url(f"{address}/sign-in**")


@pytest.mark.parametrize("sign", ["pointer", "key", "wheel"])
def test_it_waits_from_the_last_touch(page, sign):
    page.clock.fast_forward("09:00")
    if sign == "pointer":
        page.mouse.click(5, 700)
    elif sign == "key":
        page.keyboard.press("Shift")
    else:
        page.mouse.wheel(0, 10)
    page.clock.fast_forward("09:00")
    expect(page.locator(BAR)).to_have_count(0)


def test_it_waits_until_the_page_has_kept_its_draft(page, address):
    page.evaluate("""() => document.addEventListener("drumside:before-lock", (event) => event.detail.waitUntil(
      new Promise((done) => setTimeout(() => { localStorage.setItem("kept", "yes"); done(); }, 500))))""")
    page.clock.fast_forward("10:01")
    page.clock.run_for(3_000)
    page.wait_for_url(f"{address}/sign-in**")
    assert page.evaluate("localStorage.getItem('kept')") == "yes"


def test_it_locks_although_a_draft_is_never_kept(page, address):
    page.evaluate("""() => document.addEventListener("drumside:before-lock",
      (event) => event.detail.waitUntil(new Promise(() => {})))""")
    page.clock.fast_forward("10:01")
    page.clock.run_for(3_000)
    page.wait_for_url(f"{address}/sign-in**")


def test_it_lets_nobody_go_on_while_the_server_cannot_be_reached(browser, address, bench):
    """In a context of its own: a failed request is no error here."""
    context = browser.new_context()
    token = sessions.start_session(bench.db, bench.people["roaster"], bench.tablet, 12, bench.now)
    for name, value in (("tablet", bench.tablet_secret), ("person", token)):
        context.add_cookies([{"name": name, "value": value, "url": address}])
    page = context.new_page()
    page.clock.install()
    page.goto(f"{address}/me")
    page.wait_for_load_state("networkidle")
    page.route("**/lock", lambda route: route.abort())
    page.clock.fast_forward("10:01")
    expect(page.get_by_text("Locked. The server cannot be reached. Trying again.")).to_be_visible()
    assert page.evaluate("document.querySelector('main').inert")
    page.unroute("**/lock")
    page.clock.fast_forward(6_000)
    page.wait_for_url(f"{address}/sign-in**")
    assert session_ended(bench)
    context.close()


def test_it_tells_the_server_that_somebody_is_typing(page, bench):
    before = bench.now - timedelta(minutes=5)
    bench.db.conn.execute("UPDATE session SET last_seen_at = ?", (before.isoformat(),))
    page.clock.fast_forward("02:00")
    with page.expect_response("**/stay") as answer:
        page.keyboard.press("Shift")
    assert answer.value.status == 204
    seen = next(bench.db.query("SELECT last_seen_at FROM session ORDER BY started_at DESC"))["last_seen_at"]
    assert seen > before.isoformat()


def test_it_leaves_a_busy_tab_alone(page, address, bench):
    """Two tabs of one browser: the idle one does not lock what is used in the other."""
    other = page.context.new_page()
    other.goto(f"{address}/me")
    other.wait_for_load_state("networkidle")
    page.context.clock.fast_forward("09:00")
    other.mouse.click(5, 700)
    page.context.clock.fast_forward("05:00")
    page.wait_for_timeout(500)
    assert page.url == f"{address}/me?from=here"
    expect(page.locator(BAR)).to_have_count(0)
    assert not session_ended(bench)


def test_it_takes_the_sites_minutes(address, tablet, bench):
    put_site(bench.db, Site("Test roastery", "Europe/Vienna", 2, 12), SYSTEM, bench.now)
    page = tablet("roaster")
    page.clock.install()
    page.goto(f"{address}/me")
    page.wait_for_load_state("networkidle")
    page.clock.fast_forward("02:01")
    page.wait_for_url(f"{address}/sign-in**")
