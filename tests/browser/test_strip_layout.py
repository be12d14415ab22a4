"""Eighty batches on a tablet, and the same on a phone: nothing on top of anything else, nothing cut off."""

from __future__ import annotations

import pytest

from tests.strip.days import DAY, batch, measured, product, read

# Boxes of what a picture shows, each with the batch it belongs to.
BOXES = """(selector) => [...document.querySelectorAll(selector)].filter((e) => e.checkVisibility()).map((e) => {
  const { left, top, right, bottom } = e.getBoundingClientRect();
  return { left, top, right, bottom, owner: e.closest("li")?.querySelector("a, div")?.id ?? "", text: e.textContent };
})"""


@pytest.fixture
def eighty(bench) -> list:
    """A day of eighty batches of six products, some far out, some unread."""
    names = ["Paper Boat", "Slow Decaf", "A Name That Goes On And On For Sixty Letters Or Nearly So", "Quay"]
    products = [bench.product, *(product(bench, n, n[:3].upper(), whole=True, ground=True) for n in names)]
    made = []
    for n in range(80):
        it = batch(bench, f"{6 + n // 6:02d}:{n % 6 * 10:02d}", product=products[n * n % 11 % len(products)])
        made.append(it)
        if n % 9:
            read(bench, it, whole=(n % 7 - 3) / 2.2, **({"ground": 9 - n % 19} if n % 4 else {}))
    return made


def overlapping(boxes: list[dict], slack: float = 0.5) -> list[tuple]:
    """Pairs of boxes of different batches that share more than `slack` pixels in both directions."""
    found = []
    boxes = sorted(boxes, key=lambda b: b["left"])
    for n, a in enumerate(boxes):
        for b in boxes[n + 1 :]:
            if b["left"] >= a["right"] - slack:
                break
            if a["owner"] != b["owner"] and min(a["bottom"], b["bottom"]) - max(a["top"], b["top"]) > slack:
                found.append((a["text"] or a["owner"], b["text"] or b["owner"]))
    return found


def open_day(tablet, address, size, scale=None, **options):
    page = tablet("roaster", size=size, **options)
    page.goto(f"{address}/days/{DAY}")
    page.wait_for_load_state("networkidle")
    if scale:
        page.evaluate("(size) => { document.documentElement.style.fontSize = size }", scale)
    return page


@pytest.mark.parametrize("scale", [None, "225%"], ids=["plain", "large text"])
@pytest.mark.parametrize("size", ["tablet", "upright"])
def test_it_overlaps_nothing_across(eighty, address, tablet, size, scale):
    page = open_day(tablet, address, size, scale)
    for selector in (".plot .mark, .plot .ghost", ".plot .number", ".cells .time", ".cells .note", ".run"):
        boxes = page.evaluate(BOXES, selector)
        assert boxes, selector
        assert overlapping(boxes) == [], selector
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0


def test_it_scrolls_sideways_in_its_card_by_keyboard_too(eighty, address, tablet):
    page = open_day(tablet, address, "tablet")
    across = page.locator(".across")
    assert across.evaluate("e => e.scrollWidth > 2 * e.clientWidth")
    before = across.evaluate("e => e.scrollLeft")
    across.focus()
    page.keyboard.press("ArrowLeft")
    page.wait_for_timeout(500)
    assert across.evaluate("e => e.scrollLeft") < before


def test_it_gives_every_batch_a_target_for_a_glove(eighty, address, tablet):
    for size, selector in (("tablet", ".cell > a"), ("phone", ".lanes a")):
        page = open_day(tablet, address, size)
        boxes = page.evaluate(BOXES, selector)
        assert len(boxes) == 80
        assert all(b["right"] - b["left"] >= 44 and b["bottom"] - b["top"] >= 44 for b in boxes)


def test_it_stands_upright_on_a_phone_with_lighter_to_the_right(bench, address, tablet):
    lighter = measured(bench, "07:00", whole=0.8, ground=0.6)
    darker = measured(bench, "08:00", whole=-0.8, ground=-0.6)
    page = open_day(tablet, address, "phone")
    assert not page.locator(".across").is_visible()
    boxes = page.evaluate(BOXES, ".lane ellipse")
    assert [b["owner"] for b in boxes] == [f"u{lighter.id}", f"u{darker.id}"]
    assert boxes[0]["left"] > boxes[1]["right"]
    labels = page.evaluate(BOXES, ".lane-words span")
    assert labels[0]["right"] < labels[2]["left"]
    assert (labels[0]["text"], labels[2]["text"]) == ("darker", "lighter")


def test_it_stands_below_itself_on_a_phone_without_overlap(eighty, address, tablet):
    page = open_day(tablet, address, "phone")
    for selector in (".lane .mark, .lane .ghost", ".lane .number", ".lanes .when", ".lanes .code"):
        assert overlapping(page.evaluate(BOXES, selector)) == [], selector
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0


def test_it_puts_lighter_above_on_a_tablet(bench, address, tablet):
    measured(bench, "07:00", whole=0.8, ground=-0.8)
    page = open_day(tablet, address, "tablet")
    (oval,), (square,) = (page.evaluate(BOXES, f".plot {shape}") for shape in ("ellipse.mark", "rect.mark"))
    assert oval["bottom"] < square["top"]
    words = page.evaluate(BOXES, ".axis-words text")
    assert [w["text"] for w in words] == ["lighter", "target", "darker"]
    assert words[0]["top"] < words[1]["top"] < words[2]["top"]


def test_the_marks_stand_against_the_rails_as_the_numbers_say(bench, address, tablet):
    measured(bench, "07:00", whole=1, ground=-1)
    page = open_day(tablet, address, "tablet")
    (oval,), (square,) = (page.evaluate(BOXES, f".plot {shape}") for shape in ("ellipse.mark", "rect.mark"))
    band = page.evaluate(
        """() => {
          const cells = document.querySelector(".cells");
          const style = getComputedStyle(cells, "::before");
          const top = cells.getBoundingClientRect().top + parseFloat(style.top) + parseFloat(style.marginTop);
          return [top + 1.5, top + parseFloat(style.height) - 1.5];
        }"""
    )
    assert (oval["top"] + oval["bottom"]) / 2 == pytest.approx(band[0], abs=2)
    assert (square["top"] + square["bottom"]) / 2 == pytest.approx(band[1], abs=2)


def test_the_small_picture_gives_way_where_all_batches_stand_side_by_side(bench, address, tablet):
    for n in range(16):
        batch(bench, f"{7 + n // 4:02d}:{n % 4 * 15:02d}")
    page = open_day(tablet, address, "tablet")
    assert not page.locator(".overview").is_visible()
    assert page.locator(".across").evaluate("e => e.scrollWidth <= e.clientWidth")
    page.set_viewport_size({"width": 820, "height": 1180})
    assert page.locator(".overview").is_visible()
    assert page.locator(".across").evaluate("e => e.scrollWidth > e.clientWidth")


def test_the_wall_fits_a_wide_screen_whatever_the_day_holds(eighty, address, tablet, monkeypatch):
    from tests.strip.days import at
    from webapp.store import times

    monkeypatch.setattr(times, "now", lambda: at("23:00"))
    page = tablet(None)
    page.set_viewport_size({"width": 1920, "height": 1080})
    page.goto(address + "/wall")
    assert page.locator(".across").evaluate("e => e.scrollWidth <= e.clientWidth + 1")
    assert overlapping(page.evaluate(BOXES, ".cells .time")) == []
    time_of_day = page.locator(".cells .time").first.evaluate("e => parseFloat(getComputedStyle(e).fontSize)")
    assert time_of_day >= 22
    assert page.locator("h1").evaluate("e => parseFloat(getComputedStyle(e).fontSize)") >= 40
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
