"""A blend-off from held batches to its end, on a phone and without a script: plain forms, by a lead."""

import re

from playwright.sync_api import expect

from tests.support import blending
from webapp.store import blends, decisions


def test_a_lead_plans_tries_and_carries_it_out_without_scripts(bench, address, tablet):
    dark, light = blending.both_sides(bench)
    page = tablet("lead", size="phone", java_script_enabled=False)
    page.goto(f"{address}/batches/{dark.id}")
    page.get_by_role("link", name="Plan a blend with it").click()
    expect(page.locator(".mass .figure")).to_have_text("20.4")
    # Less of one of them, with a comma.
    page.get_by_label("B-dark, how much there is").fill("5,05")
    page.get_by_role("button", name="Work it out").click()
    expect(page.get_by_label("B-dark, how much there is")).to_have_value("5,05")
    row = page.locator(".shares tr", has_text="B-dark")
    expect(row).to_contain_text("5.0 kg")
    page.get_by_label("How much is mixed as a trial").fill("1")
    page.get_by_label("Reason").fill("Both sides of the band.")
    page.get_by_role("button", name="Store the trial blend").click()
    page.wait_for_url(re.compile(r"/blends/[0-9a-f-]{36}$"))
    expect(page.locator("main")).to_contain_text("The trial is still to be read")
    blend = blends.list_blends(bench.db)[0]
    expect(page.get_by_role("link", name="Read whole bean")).to_have_attribute(
        "href", f"/batches/{blend.batch_id}/whole"
    )

    whole, ground = (round(blend.expected[kind].value, 1) for kind in ("whole", "ground"))
    blending.read(bench, blend, whole, ground)
    blending.released(bench, blend)
    page.reload()
    expect(page.locator("main")).to_contain_text("It reads as expected")
    page.get_by_label("Reason").fill("Mixed and bagged.")
    page.get_by_role("button", name="Carry the blend-off out").click()
    expect(page.get_by_role("heading", name="The blend-off is carried out")).to_be_visible()
    assert {decisions.last_decision(bench.db, batch.id).what for batch in (dark, light)} == {"blend"}
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 1
