"""Moving a sample on a phone among sixty batches: found by its code, and nothing that was typed is lost."""

from datetime import timedelta

import pytest

from tests.browser.test_accessibility import looked_at, ready
from webapp.store import results, samples

pytestmark = pytest.mark.browser


def test_it_is_moved_by_its_code_among_sixty_batches(tablet, address, bench):
    noon = (bench.now - timedelta(days=1)).replace(hour=10)
    made = [bench.batch(f"T-{no:02}", at=noon - timedelta(seconds=no)) for no in range(60)]
    target = bench.batch("OLD-1", at=bench.now - timedelta(days=90))
    sample = bench.sample(made[7].id, "whole", [56.0, 56.1, 56.0])
    page = tablet("roaster", size="phone")
    page.goto(f"{address}/batches/{made[7].id}")
    page.get_by_role("link", name="Move to another batch").click()
    ready(page)
    assert page.locator(".batch-line").count() == 59
    assert not looked_at(page, "move")
    page.get_by_label("Reason").fill("Read from the other tray")
    page.get_by_label("Find another batch by its code").fill("OLD")
    # Enter looks for the code: it stores nothing.
    page.keyboard.press("Enter")
    page.get_by_text("Found by code").wait_for()
    assert samples.get_sample(bench.db, sample.id).batch_id == made[7].id
    assert page.get_by_label("Reason").input_value() == "Read from the other tray"
    page.get_by_role("radio", name="OLD-1").check()
    page.get_by_role("button", name="Move the sample").click()
    page.locator("[data-changed]").wait_for()
    assert "Whole bean: was not read; now 56.0, in band." in page.locator("[data-changed]").inner_text()
    assert samples.get_sample(bench.db, sample.id).batch_id == target.id
    assert results.rebuild(bench.db) == []
    page.goto(f"{address}/batches/{made[7].id}")
    left = page.locator("[data-left]")
    assert "Read from the other tray" in left.inner_text()
    assert "line-through" in left.locator(".struck").last.evaluate("e => getComputedStyle(e).textDecorationLine")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
