"""The service worker in a real browser: what it keeps, what it leaves alone, and how one release follows another.

The numbers T13 to T21 are bugs that users of other software have met.
"""

from __future__ import annotations

import re
import time

import pytest
from playwright.sync_api import Page, expect

from tests.browser.test_capture import WHOLE, Taps
from tests.support.offline import READY, Place, prepare, release
from tests.support.roastery import NAMES

# The newest release's worker is there and waits.
WAITING = """async () => {
  const registration = await navigator.serviceWorker.getRegistration();
  registration.update().catch(() => {});
  for (let tries = 0; tries < 600 && !registration.waiting; tries++) await new Promise((done) => setTimeout(done, 50));
  return Boolean(registration.waiting);
}"""
# The update that is looked for now comes to an end, whichever.
TRIED = """async () => {
  const registration = await navigator.serviceWorker.getRegistration();
  await registration.update().catch(() => {});
  const pause = () => new Promise((done) => setTimeout(done, 50));
  for (let tries = 0; tries < 600 && registration.installing; tries++) await pause();
  return Boolean(registration.waiting);
}"""
KEPT = """async () => {
  const found = {};
  for (const name of await caches.keys()) {
    const cache = await caches.open(name);
    for (const request of await cache.keys()) {
      const response = await cache.match(request);
      found[`${name} ${new URL(request.url).pathname}`] = [...new Uint8Array(await response.arrayBuffer())]
        .map((byte) => String.fromCharCode(byte)).join("");
    }
  }
  return found;
}"""
RELEASE_OF = "async () => (await caches.keys()).sort()"


@pytest.fixture
def address(place: Place) -> str:
    """For the fixture `tablet`."""
    return place.url


@pytest.fixture
def worker_page(place, tablet) -> Page:
    """A roaster's page with the worker in charge."""
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    return page


@pytest.fixture
def next_release(place, tmp_path, path):
    """next_release() puts another release in the place of the one that is there."""

    def deploy(app=None, note: str = "the next release"):
        place.up(app or release(tmp_path, path, note))

    return deploy


class Wrapped:
    """The app, with some requests answered in another way: `answer(environ, start)` gives a body, or None."""

    def __init__(self, app, answer) -> None:
        self.app, self.answer = app, answer

    def __call__(self, environ, start):
        own = self.answer(environ, start)
        return self.app(environ, start) if own is None else own


def plain(start, body: bytes, status: str = "200 OK", kind: str = "text/html", **headers: str) -> list[bytes]:
    start(status, [("Content-Type", kind), ("Content-Length", str(len(body))), *headers.items()])
    return [body]


def start_capture(page: Page, place: Place, batch) -> None:
    """Open the readings and type one: the form now holds something that is not stored."""
    page.goto(f"{place.url}/batches/{batch.id}/whole")
    page.locator("[data-switch]").click()
    page.locator("[data-done]").click()
    Taps(page).number("56.1")
    expect(page.locator("[data-saved]")).to_have_text("Kept on this tablet")


def until(page: Page, true: str) -> None:
    """Wait until a question that takes time to answer is answered by yes."""
    for _ in range(200):
        if page.evaluate(true):
            return
        page.wait_for_timeout(50)
    raise AssertionError(true)


def learn(page: Page, place: Place, path: str) -> None:
    """Open a page whose batch is not in the last kit, until the next kit has come."""
    with page.expect_response("**/kit"):
        page.goto(place.url + path)
    page.wait_for_timeout(300)


def loads(page: Page) -> list[str]:
    """Every document that the page loads from now on."""
    seen = []
    page.on("request", lambda request: request.is_navigation_request() and seen.append(request.url))
    return seen


def test_T13_it_leaves_every_post_alone(bench, place, worker_page):
    """Sent by the browser itself, with its body whole: the worker never takes one up."""
    seen = []
    worker_page.on("response", lambda r: r.request.method == "POST" and seen.append(r))
    batch = bench.batch()
    start_capture(worker_page, place, batch)
    for text in WHOLE[1:]:
        Taps(worker_page).number(text)
    worker_page.locator("[data-readings] .actions .primary").click()
    worker_page.wait_for_url(re.compile("/ground$"))
    sent = [r for r in seen if r.url.endswith("/records")]
    assert sent
    assert all(not r.from_service_worker for r in seen)
    # A form of the browser's own, too.
    with worker_page.expect_response(lambda r: r.request.method == "POST") as posted:
        worker_page.evaluate("""() => {
          const form = document.createElement("form");
          Object.assign(form, { method: "post", action: "/lock" });
          for (const [name, value] of Object.entries({ csrf_token: document.body.dataset.csrf, next: "/" })) {
            form.append(Object.assign(document.createElement("input"), { name, value }));
          }
          document.body.append(form);
          form.submit();
        }""")
    assert posted.value.status == 303
    assert not posted.value.from_service_worker


def test_T14_it_notices_the_next_release_and_offers_it(worker_page, next_release):
    first = worker_page.evaluate(RELEASE_OF)
    next_release()
    assert worker_page.evaluate(WAITING)
    expect(worker_page.locator(".notice")).to_contain_text("A new version of this app is ready.")
    assert len(worker_page.evaluate(RELEASE_OF)) == 2
    assert first[0] in worker_page.evaluate(RELEASE_OF)


def test_T15_it_has_all_of_the_next_release_before_it_takes_over(bench, place, worker_page, next_release):
    """Pages that this tablet has never opened open offline right after the update."""
    batch = bench.batch()
    learn(worker_page, place, f"/batches/{batch.id}/whole")
    next_release()
    worker_page.evaluate(WAITING)
    with worker_page.expect_navigation():
        worker_page.get_by_role("button", name="Apply it now").click()
    worker_page.evaluate(READY)
    place.down()
    for path, ready in (
        ("/batches/new", "form[data-module=new-batch]"),
        (f"/batches/{batch.id}/ground", "form.capture.guided"),
        ("/outbox", "[data-module=outbox-page]"),
        ("/", "[data-batches]"),
    ):
        worker_page.goto(place.url + path)
        expect(worker_page.locator(f".shell {ready}").first).to_be_attached()
        styled = worker_page.evaluate("getComputedStyle(document.querySelector('.top')).display")
        assert styled == "flex", path


def test_T16_it_asks_past_the_browsers_own_cache(place, tablet, tmp_path, path):
    """What a browser has kept under the address of a file, from wherever, does not get into the release."""
    poisoned = b"body { display: none }"
    asked = []

    def answer(environ, start):
        if not environ["PATH_INFO"].endswith("/css/base.css"):
            return None
        asked.append(environ.get("HTTP_CACHE_CONTROL", ""))
        if asked[-1] == "no-cache":
            return None
        return plain(start, poisoned, kind="text/css", **{"Cache-Control": "public, max-age=31536000, immutable"})

    place.up(Wrapped(release(tmp_path, path), answer))
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    assert "" in asked
    kept = {name.split(" ")[1]: body for name, body in page.evaluate(KEPT).items()}
    [style] = [body for name, body in kept.items() if name.endswith("/css/base.css")]
    assert style.encode("latin-1") == (tmp_path / "static" / "css" / "base.css").read_bytes()


def test_T17_a_page_that_stays_open_gets_the_files_of_its_own_release(bench, place, worker_page, next_release):
    """The next release takes over while something is being typed: nothing is loaded anew, nothing is missing."""
    start_capture(worker_page, place, bench.batch())
    build = worker_page.evaluate("document.querySelector('script[src]').src.split('/')[4]")
    seen = loads(worker_page)
    next_release()
    worker_page.evaluate(WAITING)
    worker_page.evaluate("""async () => {
      const changed = new Promise((done) => navigator.serviceWorker.addEventListener("controllerchange", done));
      (await navigator.serviceWorker.getRegistration()).waiting.postMessage("SKIP_WAITING");
      await changed;
    }""")
    worker_page.wait_for_timeout(500)
    assert seen == []
    expect(worker_page.locator('[name="fills-0-readings-0-value"]')).to_have_value("56.1")
    place.down()
    # A module of the release before, asked for the first time now, with nobody there but the worker.
    late = "(build) => import(`/static/${build}/js/people/pin-pad.mjs`).then(() => 'there')"
    assert worker_page.evaluate(late, build) == "there"


def test_T17_the_server_answers_for_the_release_before(place, worker_page, next_release, tmp_path):
    build = worker_page.evaluate("document.querySelector('script[src]').src.split('/')[4]")
    next_release()
    text = worker_page.request.get(f"{place.url}/static/{build}/js/app.mjs").text()
    assert text == (tmp_path / "static" / "js" / "app.mjs").read_text()


def test_T18_it_loads_the_page_once_and_not_for_ever(worker_page, place, next_release, tmp_path, path):
    """Two servers that give two releases in turn."""
    next_release()
    worker_page.evaluate(WAITING)
    seen = loads(worker_page)
    with worker_page.expect_navigation():
        worker_page.get_by_role("button", name="Apply it now").click()
    worker_page.evaluate(READY)
    releases = [release(tmp_path, path), release(tmp_path / "other", path)]
    for turn in range(4):
        next_release(releases[turn % 2])
        worker_page.evaluate(TRIED)
    worker_page.wait_for_timeout(1000)
    assert len(seen) == 1


def test_T19_it_never_interrupts_what_is_being_typed(bench, place, tablet, worker_page, next_release):
    start_capture(worker_page, place, bench.batch())
    seen = loads(worker_page)
    number = worker_page.locator('[name="id"]').input_value()
    next_release()
    assert worker_page.evaluate(WAITING)
    expect(worker_page.locator(".notice")).to_have_count(0)
    # Another page of the same tablet is idle: it offers the update, and sees that this one is busy.
    other = worker_page.context.new_page()
    other.goto(place.url)
    other.get_by_role("button", name="Apply it now").click()
    expect(other.locator(".notice")).to_contain_text("Another page of this tablet has something")
    worker_page.wait_for_timeout(500)
    assert seen == []
    assert worker_page.locator('[name="id"]').input_value() == number
    # Stored: now it can be applied, and both pages get it.
    for text in WHOLE[1:]:
        Taps(worker_page).number(text)
    worker_page.locator("[data-readings] .actions .primary").click()
    worker_page.wait_for_url(re.compile("/ground$"))
    with worker_page.expect_navigation(), other.expect_navigation():
        other.get_by_role("button", name="Apply it now").click()
    other.evaluate(READY)
    expect(other.locator(".notice")).to_have_count(0)
    [sample] = bench.db.query("SELECT id FROM sample")
    assert sample["id"] == number


def test_T20_it_keeps_nothing_of_anybody(bench, place, tablet, worker_page):
    """A day's use, a lock, another person: then everything that is kept is searched for names, codes and readings."""
    batch = bench.batch("1125-77")
    start_capture(worker_page, place, batch)
    for text in WHOLE[1:]:
        Taps(worker_page).number(text)
    worker_page.locator("[data-readings] .actions .primary").click()
    worker_page.wait_for_url(re.compile("/ground$"))
    record = f"/batches/{batch.id}"
    for path in ("/", f"{record}/result", record, "/me", "/products", "/batches?code=1125", "/kit"):
        worker_page.goto(place.url + path)
    place.down()
    worker_page.goto(f"{place.url}/batches/{batch.id}/result")
    expect(worker_page.locator("h1")).to_be_visible()
    place.up()
    worker_page.goto(place.url + "/sign-in")
    kept = worker_page.evaluate(KEPT)
    assert len(kept) > 60
    addresses = {name.split(" ")[1] for name in kept}
    assert {a for a in addresses if not a.startswith("/static/")} == {
        "/shell", "/shell/new-batch", "/shell/capture", "/offline",
    }  # fmt: skip
    secrets = [*NAMES.values(), "Lantern House", "1125-77", "Machine 1", "Meter A", batch.id, bench.people["roaster"]]
    secrets += ["56.4", "csrf", bench.tablet, "Bench tablet", "Test roastery"]
    texts = {name: body for name, body in kept.items() if not name.endswith((".png", ".ico"))}
    # Words that the app itself says may contain a short name.
    found = {(secret, name) for secret in secrets for name, body in texts.items() if re.search(rf"\b{secret}\b", body)}
    assert {f for f in found if not (f[0] == "csrf" and f[1].endswith(".mjs"))} == set()


def test_T21_only_a_page_is_answered_by_a_page(place, worker_page):
    """Offline, a picture, a script or data that is not there is an error, never our page with status 200."""
    place.down()
    for path in ("/kit", "/csrf", "/static/0123456789ab/pictures/none.svg", "/batches?code=1", "/batches/new"):
        failed = worker_page.evaluate("(path) => fetch(path).then((r) => `${r.status}`, (e) => e.name)", path)
        assert failed == "TypeError", path
    worker_page.goto(place.url + "/products")
    expect(worker_page.get_by_role("heading", name="The server cannot be reached")).to_be_visible()
    worker_page.goto(place.url + "/batches/new")
    expect(worker_page.locator(".shell form")).to_be_visible()


def test_it_goes_on_by_itself_within_4_s_when_the_server_hangs(bench, place, worker_page):
    """Connections are taken, and no answer comes. To a form that can be filled in; pages of the server take longer."""
    capture = f"/batches/{bench.batch().id}/whole"
    learn(worker_page, place, capture)
    place.hang()
    for path, ready in (("/batches/new", "form[data-module=new-batch]"), (capture, "form.capture")):
        begun = time.monotonic()
        worker_page.goto(place.url + path, wait_until="commit")
        shown = time.monotonic() - begun
        expect(worker_page.locator(f".shell {ready}")).to_be_visible()
        print(f"{path}: shell after {shown:.2f} s, form after {time.monotonic() - begun:.2f} s")
        assert shown < 4
    begun = time.monotonic()
    worker_page.context.set_default_navigation_timeout(20_000)
    worker_page.goto(place.url + "/products")
    expect(worker_page.get_by_role("heading", name="The server cannot be reached")).to_be_visible()
    assert time.monotonic() - begun < 15


def test_it_waits_longer_for_a_server_that_it_has_just_heard(place, worker_page):
    """A slow one: the shell hands over to it, and does not come back because its page takes five seconds."""
    app = place.app
    place.down()
    worker_page.goto(place.url)
    expect(worker_page.get_by_role("heading", name="What this tablet has")).to_be_visible()
    asked = []

    def slowly(environ, _start):
        if environ["PATH_INFO"] == "/":
            asked.append(time.monotonic())
            time.sleep(5)

    place.up(Wrapped(app, slowly))
    expect(worker_page.locator("#strip")).to_be_visible(timeout=30_000)
    assert len(asked) == 1


@pytest.mark.parametrize("status", ["502 Bad Gateway", "503 Service Unavailable", "504 Gateway Timeout"])
def test_it_takes_a_proxy_without_a_server_for_no_server(place, worker_page, status):
    place.up(Wrapped(place.app, lambda _environ, start: plain(start, b"<h1>proxy</h1>", status)))
    worker_page.goto(place.url + "/batches/new")
    expect(worker_page.locator(".shell form")).to_be_visible()


def test_it_shows_what_the_server_itself_says(place, worker_page):
    """Not found, refused, broken: those are answers."""
    app = place.app
    for status in ("404 Not Found", "403 Forbidden", "500 Internal Server Error"):
        place.up(Wrapped(app, lambda _environ, start, s=status: plain(start, f"<h1>{s}</h1>".encode(), s)))
        answer = worker_page.goto(place.url + "/batches/new")
        assert answer.status == int(status[:3])
        expect(worker_page.locator("h1")).to_have_text(status)


def test_it_never_shows_half_a_page(place, worker_page):
    """The connection breaks in the middle of an answer."""

    def half(_environ, start):
        start("200 OK", [("Content-Type", "text/html; charset=utf-8"), ("Content-Length", "100000")])
        return [b"<!doctype html><title>half</title><h1>half</h1>" + b" " * 3000]

    place.up(Wrapped(place.app, half))
    worker_page.goto(place.url + "/batches/new")
    expect(worker_page.locator(".shell form")).to_be_visible()


def test_it_stays_with_the_old_release_when_a_file_of_the_new_one_is_missing(place, worker_page, tmp_path, path):
    before = worker_page.evaluate(RELEASE_OF)
    missing = Wrapped(
        release(tmp_path, path, "the next release"),
        lambda environ, start: plain(start, b"none", "404 Not Found")
        if environ["PATH_INFO"].endswith("/css/strip.css")
        else None,
    )
    place.up(missing)
    assert worker_page.evaluate(TRIED) is False
    assert worker_page.evaluate(RELEASE_OF) == before
    place.down()
    worker_page.goto(place.url + "/batches/new")
    expect(worker_page.locator(".shell form")).to_be_visible()


def test_it_stays_with_the_old_release_when_a_file_is_not_what_it_should_be(place, worker_page, tmp_path, path):
    """A captive portal's page with status 200, or a file of another release."""
    before = worker_page.evaluate(RELEASE_OF)
    portal = Wrapped(
        release(tmp_path, path, "the next release"),
        lambda environ, start: plain(start, b"<h1>Welcome to our network</h1>")
        if environ["PATH_INFO"].endswith("/js/app.mjs")
        else None,
    )
    place.up(portal)
    assert worker_page.evaluate(TRIED) is False
    assert worker_page.evaluate(RELEASE_OF) == before


def test_it_keeps_this_release_and_the_one_before(worker_page, next_release):
    first = worker_page.evaluate(RELEASE_OF)
    for number in range(2):
        next_release(note=f"release {number}")
        worker_page.evaluate(WAITING)
        with worker_page.expect_navigation():
            worker_page.get_by_role("button", name="Apply it now").click()
        worker_page.evaluate(READY)
    until(worker_page, "async () => (await caches.keys()).length === 2")
    assert first[0] not in worker_page.evaluate(RELEASE_OF)


def test_it_goes_away_when_it_is_switched_off_and_leaves_what_was_written(bench, place, worker_page, tmp_path, path):
    batch = bench.batch()
    start_capture(worker_page, place, batch)
    app = place.app
    app.config["WORKER"] = False
    place.up(app)
    worker_page.evaluate("async () => (await navigator.serviceWorker.getRegistration()).update()")
    until(worker_page, "async () => !(await navigator.serviceWorker.getRegistration())")
    until(worker_page, "async () => !(await caches.keys()).length")
    worker_page.goto(f"{place.url}/batches/{batch.id}/whole")
    expect(worker_page.locator('[name="fills-0-readings-0-value"]')).to_have_value("56.1")
    assert worker_page.evaluate("navigator.serviceWorker.controller") is None
    worker_page.wait_for_timeout(500)
    assert worker_page.evaluate("async () => (await navigator.serviceWorker.getRegistrations()).length") == 0
