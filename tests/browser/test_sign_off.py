"""A sign-off to its end: two people on two tablets, a lead, and what then becomes of a trainee's samples."""

import re

from playwright.sync_api import expect

from tests.support.comparing import plan_people, read_for_sign_off
from tests.support.offline import prepare
from webapp.store import comparisons, countersigns, results, signoffs

CUPS = 6


def read_cup(page, url, there, value):
    """The next cup as the page leads to it, typed by hand and stored."""
    page.goto(f"{url}/comparisons/{there.id}")
    page.get_by_role("link", name="Read it now").click()
    for fill in range(2):
        for reading in range(2):
            page.locator(f'[name="fills-{fill}-readings-{reading}-value"]').fill(f"{value + 0.1 * fill:.1f}")
    page.locator("form .primary").click()
    page.wait_for_url(re.compile(rf"/comparisons/{there.id}$"))


def test_two_tablets_take_a_sign_off_to_its_end(bench, address, tablet):
    there = plan_people(bench, CUPS)
    for no in range(1, CUPS):
        read_for_sign_off(bench, there, no, 50.0 + no, 50.1 + no)
    trainee, roaster = tablet("trainee", own=True), tablet("roaster", own=True)
    read_cup(trainee, address, there, 56.1)
    expect(trainee.get_by_role("heading", name="You have read all cups")).to_be_visible()
    expect(trainee.locator("main")).to_contain_text(f"Ravi has read {CUPS - 1} of {CUPS}.")
    # The other's cup is no cup of theirs, and shows nothing.
    roaster.goto(f"{address}/comparisons/{there.id}/{CUPS}/b")
    expect(roaster.get_by_role("heading", name="is for Tomas")).to_be_visible()
    read_cup(roaster, address, there, 56.0)
    for page in (trainee, roaster):
        assert not re.search(r"\d\d\.\d", page.locator("main").inner_text())
    samples = comparisons.list_samples(bench.db, there.id)[-2:]
    # Numbers of the tablets' own: they came as records and were not posted.
    assert [(s.person_name, s.side, s.tablet_seq) for s in samples] == [("Tomas", "b", 1), ("Ravi", "a", 1)]

    lead = tablet("lead", own=True)
    lead.goto(f"{address}/studies/sign-offs/{there.id}")
    expect(lead.get_by_role("heading", name="Tomas’s samples match the shop’s.")).to_be_visible()
    lead.get_by_label("6 months").check()
    lead.get_by_role("button", name="Store it").click()
    expect(lead.get_by_role("heading", name="Signed off")).to_be_visible()
    assert signoffs.find_conclusion(bench.db, there.id).evidence.coffees == CUPS
    trainee.goto(f"{address}/me/progress")
    expect(trainee.locator("main")).to_contain_text("signed off since")


def test_one_tap_countersigns_and_then_it_can_be_released(bench, address, tablet):
    batch = bench.batch()
    bench.sample(batch.id, "whole", [56.0, 56.1, 56.0], role="trainee")
    bench.sample(batch.id, "ground", [61.0, 61.1, 61.0], role="trainee")
    page = tablet("roaster")
    page.goto(f"{address}/batches/{batch.id}/result")
    page.wait_for_load_state("networkidle")
    expect(page.get_by_role("button", name="Release batch")).to_have_count(0)
    page.get_by_role("button", name="Countersign").click()
    expect(page.get_by_role("button", name="Release batch")).to_be_visible()
    [sign] = countersigns.list_countersignatures(bench.db, batch.id)
    assert (sign.person_name, sign.tablet_seq) == ("Ravi", 1)
    assert results.get_batch_result(bench.db, batch.id).hands_state is None


def test_a_tablet_by_itself_offers_no_release_while_a_trainees_sample_waits(bench, place, tablet):
    """The roaster has read ground, the trainee whole bean: in band by what the tablet has, and still to be
    countersigned. And a cup that is somebody else's is not offered there either."""
    there = plan_people(bench, CUPS)
    batch = bench.batch()
    bench.sample(batch.id, "whole", [56.0, 56.1, 56.0], role="trainee")
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    place.down()
    page.goto(f"{place.url}/batches/{batch.id}/result")
    said = page.locator("[data-hands]")
    expect(said).to_contain_text("Waits for a countersignature: whole bean read by Tomas before the sign-off.")
    expect(said).to_contain_text("It can be countersigned when the server is there")
    expect(page.get_by_role("button", name="Release batch")).to_have_count(0)
    page.goto(f"{place.url}/comparisons/{there.id}/1/b")
    expect(page.get_by_role("heading", name="Cup 101 is for Tomas")).to_be_visible()
    page.goto(f"{place.url}/comparisons/{there.id}/1/a")
    expect(page.locator("form.study-read h1")).to_have_text("Cup 101")
