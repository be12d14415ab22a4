"""The strip follows what other tablets store, without a jump: in a real browser, under the page's own policy."""

from __future__ import annotations

import re
import time
from datetime import timedelta

import pytest

from tests.strip.days import DAY, at, batch, decide, measured, read
from webapp.store import times

WITHIN_MS = 5000


@pytest.fixture
def afternoon(monkeypatch):
    """The app's present moment: the afternoon of DAY."""
    monkeypatch.setattr(times, "now", lambda: at("15:00"))


def heading(page) -> str:
    return " ".join(page.locator("h1").inner_text().split())


def until(page, expression: str, timeout_ms: int = WITHIN_MS) -> None:
    """Wait until it holds. (Playwright's own wait evaluates text inside the page, which the page's policy forbids.)"""
    ends = time.monotonic() + timeout_ms / 1000
    while not page.evaluate(expression):
        assert time.monotonic() < ends, expression
        page.wait_for_timeout(50)


def watch(page) -> list[int]:
    """The status of every answer to the page's own questions from now on."""
    found = []
    page.on("response", lambda answer: answer.request.resource_type == "xhr" and found.append(answer.status))
    return found


def long_day(bench, count=40):
    made = []
    for n in range(count):
        made.append(batch(bench, f"{6 + n // 6:02d}:{n % 6 * 10:02d}"))
    return made


def test_it_shows_within_five_seconds_what_another_tablet_stored(bench, address, tablet, afternoon):
    first = measured(bench, "07:00", whole=0, ground=0)
    page = tablet("roaster")
    page.goto(address + "/")
    page.evaluate("window.sameDocument = true")
    assert heading(page) == "1 batch · 1 in band"
    new = batch(bench, "07:30")
    page.locator(f"#b{new.id}").wait_for(timeout=WITHIN_MS)
    assert heading(page) == "2 batches · 1 in band · 1 not finished"
    read(bench, new, whole=5, ground=5)
    page.get_by_text("1 batch waits for a decision").wait_for(timeout=WITHIN_MS)
    decide(bench, new, "reject")
    page.get_by_text("rejected").first.wait_for(timeout=WITHIN_MS)
    assert page.locator("a.wait").count() == 0
    assert page.locator("#said").inner_text().strip().startswith("2 batches")
    assert page.locator(f"#b{first.id}").count() == 1
    assert page.evaluate("window.sameDocument")


def test_it_asks_cheaply_while_nothing_changes_and_touches_nothing(bench, address, tablet, afternoon):
    measured(bench, "07:00", whole=0, ground=0)
    page = tablet("roaster")
    page.goto(address + "/")
    page.evaluate("document.querySelectorAll('[data-part]').forEach((e) => { e.seen = true })")
    answers = watch(page)
    page.wait_for_timeout(7000)
    assert len(answers) >= 2
    assert set(answers) == {304}
    assert page.evaluate("[...document.querySelectorAll('[data-part]')].every((e) => e.seen)")


def test_it_replaces_only_what_differs(bench, address, tablet, afternoon):
    measured(bench, "07:00", whole=0, ground=0)
    page = tablet("roaster")
    page.goto(address + "/")
    page.evaluate("document.querySelectorAll('[data-part]').forEach((e) => { e.seen = true })")
    batch(bench, "07:00", day="2026-05-01")
    answers = watch(page)
    page.wait_for_timeout(4500)
    assert 200 in answers  # another day was written to: the page was drawn again, and nothing in it differed
    assert page.evaluate("[...document.querySelectorAll('[data-part]')].every((e) => e.seen)")


def test_it_keeps_the_focus_and_what_was_opened(bench, address, tablet, afternoon):
    made = measured(bench, "07:00", whole=0, ground=0)
    page = tablet("roaster")
    page.goto(address + "/")
    page.locator("#as-table summary").click()
    page.locator(f"#b{made.id}").focus()
    new = batch(bench, "08:00")
    page.locator(f"#b{new.id}").wait_for(timeout=WITHIN_MS)
    assert page.evaluate("document.activeElement.id") == f"b{made.id}"
    assert page.locator("#as-table").evaluate("e => e.open")
    assert page.locator("#table tbody tr").count() == 2


def test_it_leaves_a_half_typed_day_alone(bench, address, tablet, afternoon):
    measured(bench, "07:00", whole=0, ground=0)
    page = tablet("roaster")
    page.goto(address + "/")
    page.locator("#day-field").fill("2026-05-01")
    new = batch(bench, "08:00")
    page.locator(f"#b{new.id}").wait_for(timeout=WITHIN_MS)
    assert page.locator("#day-field").input_value() == "2026-05-01"


def test_it_does_not_take_away_what_is_being_copied(bench, address, tablet, afternoon):
    measured(bench, "07:00", whole=0, ground=0)
    page = tablet("roaster")
    page.goto(address + "/")
    page.locator("#as-table summary").click()
    page.evaluate("getSelection().selectAllChildren(document.querySelector('#table tbody'))")
    new = batch(bench, "08:00")
    page.wait_for_timeout(4500)
    assert "Lantern House" in page.evaluate("String(getSelection())")
    page.evaluate("getSelection().removeAllRanges()")
    page.locator(f"#b{new.id}").wait_for(timeout=WITHIN_MS)


def test_it_starts_at_the_newest_and_stays_where_one_has_scrolled_to(bench, address, tablet, afternoon):
    made = long_day(bench)
    page = tablet("roaster")
    page.goto(address + "/")
    scroller = page.locator(".across")
    until(page, "document.querySelector('.across').scrollLeft > 0")
    assert in_view(page, made[-1].id)
    new = batch(bench, "14:00")
    page.locator(f"#b{new.id}").wait_for(timeout=WITHIN_MS)
    assert in_view(page, new.id)
    scroller.evaluate("e => { e.scrollLeft = 200 }")
    page.wait_for_timeout(200)
    newer = batch(bench, "14:30")
    page.locator(f"#b{newer.id}").wait_for(timeout=WITHIN_MS)
    assert scroller.evaluate("e => e.scrollLeft") == 200


def in_view(page, batch_id) -> bool:
    return page.locator(f"#b{batch_id}").evaluate(
        """e => {
          const [a, b] = [e.getBoundingClientRect(), e.closest(".across").getBoundingClientRect()];
          return a.left >= b.left && a.right <= b.right + 1;
        }"""
    )


def test_it_frames_in_the_small_picture_what_is_in_view_and_jumps_there(bench, address, tablet, afternoon):
    long_day(bench)
    page = tablet("roaster")
    page.goto(address + "/")
    until(page, "document.querySelector('.across').scrollLeft > 0")
    # The frame follows the strip with the next picture that the browser paints.
    frame = "document.querySelector('.overview .window')"
    until(page, f"Math.abs({frame}.x.baseVal.value + {frame}.width.baseVal.value - 1000) < 30")
    box = page.locator(".overview").bounding_box()
    page.mouse.click(box["x"] + 5, box["y"] + 20)
    until(page, "document.querySelector('.across').scrollLeft < 10")
    until(page, f"{frame}.x.baseVal.value < 10")


def test_it_says_plainly_when_it_has_lost_the_server(bench, address, tablet, afternoon):
    measured(bench, "07:00", whole=0, ground=0)
    # The browser itself reports the failed request to its console: a page without the console's watch.
    page = tablet("roaster").context.new_page()
    page.goto(address + "/")
    news = page.locator("#news")
    assert news.inner_text() == "As of 15:00"
    page.context.set_offline(True)
    until(page, "document.getElementById('news').textContent.startsWith('No news since ')", 9000)
    assert "lost" in news.get_attribute("class")
    page.context.set_offline(False)
    until(page, "document.getElementById('news').textContent.startsWith('As of ')", 9000)
    assert "lost" not in news.get_attribute("class")


def test_it_rests_while_nobody_sees_it_and_asks_at_once_when_seen_again(bench, address, tablet, afternoon):
    page = tablet("roaster")
    page.goto(address + "/")
    page.evaluate("Object.defineProperty(document, 'hidden', {value: true, configurable: true, writable: true})")
    page.wait_for_timeout(500)
    answers = watch(page)
    page.wait_for_timeout(7000)
    assert answers == []
    page.evaluate("document.hidden = false; document.dispatchEvent(new Event('visibilitychange'))")
    page.wait_for_timeout(1000)
    assert len(answers) == 1


def test_it_asks_for_the_pin_when_the_shift_is_over(bench, address, tablet, afternoon, monkeypatch):
    page = tablet("roaster")
    page.goto(address + "/")
    bench.db.conn.execute("UPDATE session SET ended_at = ended_at")  # nothing yet: the page goes on
    page.wait_for_timeout(3500)
    assert page.url == address + "/"
    bench.db.conn.execute("UPDATE session SET ended_at = started_at")
    page.wait_for_url(re.compile("/sign-in"), timeout=WITHIN_MS)


def test_the_wall_follows_by_itself_with_nobody_signed_in(bench, address, tablet, afternoon):
    page = tablet(None)
    page.goto(address + "/wall")
    assert heading(page) == "No batch yet today"
    measured(bench, "07:00", whole=0, ground=0)
    until(page, "document.querySelector('h1').textContent.includes('1 in band')")
    assert page.locator("li.cell").count() == 1


def test_the_wall_turns_to_the_new_day_at_midnight(bench, address, tablet, monkeypatch):
    monkeypatch.setattr(times, "now", lambda: at("23:59"))
    measured(bench, "07:00", whole=0, ground=0)
    page = tablet(None)
    page.goto(address + "/wall")
    assert "Thursday 14 May" in page.locator(".top-line").inner_text()
    monkeypatch.setattr(times, "now", lambda: at("23:59") + timedelta(minutes=2))
    page.get_by_text("Friday 15 May").wait_for(timeout=WITHIN_MS)
    assert heading(page) == "No batch yet today"


def test_a_day_long_past_is_followed_too(bench, address, tablet):
    made = batch(bench, "07:00")
    page = tablet("roaster")
    page.goto(f"{address}/days/{DAY}")
    started = time.monotonic()
    read(bench, made, whole=0, ground=0)
    until(page, "document.querySelector('h1').textContent.includes('1 in band')")
    assert time.monotonic() - started < WITHIN_MS / 1000
