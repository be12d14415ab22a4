"""The advice beside a result: its sign stands before its words, whatever else on the page is called the same."""

from __future__ import annotations

from datetime import timedelta

import pytest

STEADY = [56.2, 55.9, 56.1, 56.0, 55.8, 56.2, 56.0, 55.9] * 3


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_it_has_its_sign_beside_its_words(bench, address, tablet, size):
    for no, value in enumerate([*STEADY, 59.6]):
        at = bench.now - timedelta(hours=len(STEADY) - no + 1)
        batch = bench.batch(f"A-{no:02}", at=at)
        bench.sample(batch.id, "whole", [value] * 3, at=at + timedelta(minutes=5))
    page = tablet("roaster", size=size)
    page.goto(f"{address}/batches/{batch.id}/result")
    assert "changed" in page.locator("[data-advice]").get_attribute("class").split()
    sign = page.locator("[data-advice] .sign").bounding_box()
    words = page.locator("[data-advice] > div").bounding_box()
    assert (sign["width"], sign["height"]) == (36, 36)
    assert sign["x"] + sign["width"] <= words["x"]
    assert abs(sign["y"] - words["y"]) < sign["height"]
