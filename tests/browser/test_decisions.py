"""From the strip to what waits, to a batch, to its decision, and back; on a tablet and on a phone."""

import uuid

import pytest
from playwright.sync_api import expect

from tests.support.browser import SIZES
from webapp.store import decisions, waiting


def put(bench, batch, what, role, reason=""):
    decision_id = str(uuid.uuid4())
    decisions.add_decision(bench.db, decision_id, batch.id, what, reason, bench.who(role), bench.now)
    return decision_id


def roast(bench, whole, ground, code):
    batch = bench.batch(code)
    bench.sample(batch.id, "whole", [whole, whole + 0.1, whole])
    bench.sample(batch.id, "ground", [ground, ground + 0.1, ground])
    return batch


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_a_lead_goes_from_the_strip_to_what_waits_and_decides(bench, address, tablet, size):
    page, batch = tablet("lead"), roast(bench, 59.5, 64.5, "OUT-1")
    page.set_viewport_size(dict(zip(("width", "height"), SIZES[size], strict=True)))
    page.goto(address)
    page.get_by_role("link", name="1 waits, all days").click()
    expect(page.locator("h1")).to_have_text("1 batch waits")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.get_by_role("link", name="OUT-1").click()
    page.get_by_role("link", name="Release by concession").click()
    page.wait_for_load_state("networkidle")
    page.fill('[name="reason"]', "Cupped, clean.")
    page.fill('[name="customer"]', "Corner Café")
    # Meanwhile a roaster at another tablet has held it: the page asks, with what was typed.
    if size == "tablet":
        put(bench, batch, "hold", "roaster", "ask Ada")
        page.get_by_role("button", name="Release by concession").click()
        expect(page.locator(".problems")).to_contain_text("Meanwhile somebody else has decided: On hold by Ravi")
        expect(page.locator('[name="reason"]')).to_have_value("Cupped, clean.")
        page.wait_for_load_state("networkidle")
    page.get_by_role("button", name="Release by concession").click()
    expect(page.locator(".decided").first).to_contain_text("For Corner Café.")
    page.get_by_role("link", name="To the day strip").click()
    expect(page.get_by_role("link", name="Nothing waits")).to_be_visible()
    assert waiting.all_waiting(bench.db) == {}


def test_a_roaster_ticks_and_releases_with_one_tap(bench, address, tablet):
    page = tablet("roaster")
    first, second, third = (roast(bench, 56.0, 61.0, code) for code in ("IN-1", "IN-2", "IN-3"))
    page.goto(f"{address}/decisions")
    for code in ("IN-1", "IN-3"):
        page.locator("li", has_text=code).locator(".option").click()
    page.get_by_role("button", name="Release the ticked ones").click()
    expect(page.locator(".said")).to_have_text("2 batches released.")
    page.locator("li", has_text="IN-2").get_by_role("button", name="Release").click()
    expect(page.locator(".said")).to_have_text("1 batch released.")
    released = [decisions.last_decision(bench.db, batch.id).what for batch in (first, second, third)]
    assert released == ["release"] * 3
