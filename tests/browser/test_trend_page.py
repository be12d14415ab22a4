"""A trend's page in the browser: sound by day and night, each mark a link, and not a hundred stops for the keyboard."""

import random
from datetime import timedelta

import pytest

from tests.browser.test_accessibility import looked_at, ready

pytestmark = pytest.mark.browser


@pytest.fixture
def trend(bench, address) -> str:
    """The page of 84 steady batches and one on the dark side."""
    draw = random.Random(3)
    # More than a phone's picture can part: there each mark is a day.
    for no, value in enumerate([*(56 + 0.4 * draw.uniform(-1, 1) for _ in range(84)), 53.0]):
        at = bench.now - timedelta(hours=90 - no)
        bench.sample(bench.batch(f"R-{no:02}", at=at).id, "whole", [round(value, 1)] * 3, at=at + timedelta(minutes=5))
    return f"{address}/trends/{bench.product}/whole"


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_it_finds_nothing_on_a_trend_by_day_and_night(tablet, trend, size):
    page = tablet("trainee", size=size)
    page.goto(trend)
    ready(page)
    assert not looked_at(page, "trend")


def test_it_leads_from_a_mark_to_its_batch_and_keeps_the_keyboard_out_of_the_picture(tablet, trend):
    page = tablet("trainee")
    page.goto(trend)
    marks = page.locator("svg.wide a")
    assert marks.count() == 85
    assert page.locator("svg.slim").is_hidden()
    assert page.evaluate("[...document.querySelectorAll('figure a')].every((link) => link.tabIndex === -1)")
    last = marks.last
    # What is out is a triangle in the page's own colour, day and night.
    colours = []
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        colours.append(last.locator("path").evaluate("(mark) => getComputedStyle(mark).fill"))
    assert colours[0] != colours[1]
    last.click()
    page.wait_for_url("**/batches/*/result")
    assert "out, darker" in page.locator("main").inner_text().lower()
