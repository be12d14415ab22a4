"""A precision study on two tablets at once: planned, read by two people, one of them without the server for a while."""

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from tests.browser.test_offline_same_pages import both, differences
from tests.support.offline import Place, placed, prepare
from tests.support.studying import plan
from tests.support.waiting import entries, until
from webapp.store import ledger, methods, precision, spreads
from webapp.store.precision import Study

FIELD = '[name="readings-{}-value"]'
# What is read: nobody may find these anywhere while the study is open. No other number on these pages has 58 in it.
READ = {
    "Ada": [("58.1", "58,2"), ("58.4", "58.3"), ("58.0", "58.2")],
    "Ravi": [("58.6", "58.5"), ("58,9", "58.8"), ("58.4", "58.5")],
}


@pytest.fixture
def address(place: Place) -> str:
    """For the fixture `tablet`."""
    return place.url


@pytest.fixture
def other_place(place: Place) -> Iterator[Place]:
    """The same server as another tablet reaches it, or does not."""
    with placed(place.app) as found:
        yield found


def planned(page: Page, place: Place, bench) -> Study:
    """Two people, three fills each, two readings of each: the least that says anything."""
    page.goto(f"{place.url}/studies/precision/new")
    page.get_by_label("Name").fill("Ground, spring")
    page.get_by_label("Coffee", exact=True).fill("Lantern House, one batch")
    page.get_by_label("Method").select_option(bench.versions["ground"].id)
    page.get_by_label("Meter", exact=True).select_option(bench.meter)
    for name in READ:
        page.get_by_label(name, exact=True).check()
    page.get_by_label("Fills of each person").fill("2")
    page.get_by_label("Readings of each fill").fill("2")
    page.get_by_role("button", name="Show what it takes").click()
    expect(page.locator(".problems")).to_contain_text("at least 2 persons with 3 fills each")
    page.get_by_label("Fills of each person").fill("3")
    page.get_by_role("button", name="Show what it takes").click()
    expect(page.get_by_role("heading", name="It takes about")).to_be_visible()
    page.get_by_role("button", name="Store the plan").click()
    page.wait_for_url(re.compile("/studies/precision/[0-9a-f-]{36}$"))
    [study] = precision.list_studies(bench.db)
    return study


def read(page: Page, values: tuple[str, str]) -> None:
    """The fill that is open, all of it."""
    for no, text in enumerate(values):
        page.locator(FIELD.format(no)).fill(text)
    page.get_by_role("button", name="Store these readings").click()


def begin(page: Page, place: Place, study: Study) -> None:
    """From the study's page to one's next fill."""
    page.goto(f"{place.url}/studies/precision/{study.id}")
    page.get_by_role("link", name="Read it now").click()
    page.locator(FIELD.format(0)).wait_for()
    page.wait_for_load_state("networkidle")
    assert "58" not in re.sub(r"[0-9a-f-]{36}", "", page.locator("main").inner_text())


def read_on(page: Page, place: Place, study: Study, values: tuple[str, str]) -> None:
    """One's next fill with the server there."""
    begin(page, place, study)
    read(page, values)
    page.wait_for_url(f"{place.url}/studies/precision/{study.id}")


def whole_study(bench, place: Place, other_place: Place, tablet) -> tuple[Study, Page, Page]:
    """Planned and read by both, each on their own tablet; Ravi's has no server in between, and is interrupted."""
    ada = tablet("lead", own=True, service_workers="allow", failing=True)
    ravi = tablet("roaster", own=True, service_workers="allow", failing=True)
    study = planned(ada, place, bench)
    prepare(ravi, other_place.url)
    read_on(ada, place, study, READ["Ada"][0])
    begin(ravi, other_place, study)
    other_place.down()
    # Interrupted after the first reading: what is typed is there again when the page is.
    ravi.locator(FIELD.format(0)).fill(READ["Ravi"][0][0])
    expect(ravi.locator("[data-kept]")).to_contain_text("Kept on this tablet")
    ravi.reload()
    ravi.locator(".shell form").wait_for()
    expect(ravi.locator(FIELD.format(0))).to_have_value(READ["Ravi"][0][0])
    read(ravi, READ["Ravi"][0])
    expect(ravi.locator(".shell h1")).to_have_text("Ravi, fill 2 of 3")
    read_on(ada, place, study, READ["Ada"][1])
    # Not finished with one reading of two, and closed.
    read(ravi, (READ["Ravi"][1][0], ""))
    expect(ravi.locator(FIELD.format(1))).to_be_focused()
    context = ravi.context
    ravi.close()
    ravi = context.new_page()
    ravi.goto(other_place.url)
    # What waits here is not offered again.
    link = ravi.locator("[data-gear] a", has_text="Your next fill")
    expect(link).to_have_text("Your next fill: 2 of 3")
    link.click()
    expect(ravi.locator(FIELD.format(0))).to_have_value(READ["Ravi"][1][0])
    read(ravi, READ["Ravi"][1])
    expect(ravi.locator(".shell h1")).to_have_text("Ravi, fill 3 of 3")
    assert len(entries(ravi)) == 2
    read_on(ada, place, study, READ["Ada"][2])
    expect(ada.locator("main")).to_contain_text("3 of 6 fills are read")
    expect(ada.locator("main")).to_contain_text("Next: Ravi")
    other_place.up()
    until(ravi, lambda: entries(ravi) == [], seconds=30)
    read(ravi, READ["Ravi"][2])
    ravi.wait_for_url(f"{other_place.url}/")
    return study, ada, ravi


def test_two_people_read_a_study_on_two_tablets(bench, place, other_place, tablet):
    study, ada, ravi = whole_study(bench, place, other_place, tablet)
    for page, at in ((ada, place), (ravi, other_place)):
        page.goto(f"{at.url}/studies/precision/{study.id}")
        expect(page.get_by_role("heading", name="All fills are read")).to_be_visible()
        assert "58" not in re.sub(r"[0-9a-f-]{36}", "", page.locator("main").inner_text())
    assert precision.values(bench.db, study) == {
        bench.people[role]: [[float(text.replace(",", ".")) for text in fill] for fill in READ[name]]
        for role, name in (("lead", "Ada"), ("roaster", "Ravi"))
    }
    fills = precision.list_fills(bench.db, study.id)
    assert len(fills) == 6
    # All of them came as records, each from its own person.
    assert all(fill.tablet_seq and fill.sent_by == fill.person_id for fill in fills)
    assert list(ledger.faults(bench.db)) == []
    accepted(bench, study, ada, ravi, other_place)
    planned_anew(bench, ada)
    assert list(ledger.faults(bench.db)) == []


def accepted(bench, study: Study, ada: Page, ravi: Page, other_place: Place) -> None:
    """The lead looks at the result and accepts it; from then on everybody sees it and samples rest on it."""
    result = f"{other_place.url}/studies/precision/{study.id}/result"
    ravi.goto(result)
    expect(ravi.get_by_role("heading", name="The numbers are not shown yet")).to_be_visible()
    assert bench.sample(bench.batch().id, "ground", [61.0, 61.1, 61.0]).sigmas.source == "assumed"
    ada.get_by_role("link", name="Look at the result").click()
    expect(ada.get_by_role("heading", level=1)).to_have_text(
        "Most of what moves this number seems to be who prepares the sample."
    )
    # Six fills of two readings, each with its mean: none is left out.
    expect(ada.locator("svg.dots rect.dot")).to_have_count(12)
    expect(ada.locator("svg.dots .fill-mean")).to_have_count(6)
    ada.get_by_role("button", name="Store the outcome").click()
    expect(ada.locator(".problems")).to_contain_text("Choose the outcome.")
    ada.get_by_role("radio", name="Accept").check()
    ada.get_by_label("Reason").fill("Two of us, one coffee.")
    ada.get_by_role("button", name="Store the outcome").click()
    expect(ada.get_by_role("heading", name="Accepted")).to_be_visible()
    ravi.goto(result)
    expect(ravi.get_by_role("heading", name="Where the variation comes from")).to_be_visible()
    assert bench.sample(bench.batch().id, "ground", [61.0, 61.1, 61.0]).sigmas.source == "study"


def planned_anew(bench, ada: Page) -> None:
    """From the result to the planner, and a plan that becomes the method's next version by the same study."""
    ada.get_by_role("link", name="How many fills and readings?").click()
    ada.get_by_label("Give or take that you want").fill("0,4")
    ada.get_by_role("button", name="Work it out").click()
    expect(ada.locator(".plan.best input")).to_be_checked()
    expect(ada.locator(".plan.now")).to_contain_text("now")
    best = ada.locator(".plan.best input").get_attribute("value")
    ada.get_by_label("Why is it changed?").fill("Surer.")
    ada.get_by_role("button", name="Make it version 2").click()
    expect(ada.locator("main")).to_contain_text("It was made with version 1, which prepares samples in the same way.")
    version = methods.version_in_force(bench.db, bench.methods["ground"])
    assert f"{version.planned_fills}x{version.planned_readings}" == best
    assert spreads.sigmas_for(bench.db, version.id, bench.scale, "ground", 150.0).source == "study"


def without(tree, *names: str):
    """A page's tree without attributes that differ: where one goes from here is another place without the server."""
    if isinstance(tree, str):
        return tree
    return [tree[0], {k: v for k, v in tree[1].items() if k not in names}, *(without(c, *names) for c in tree[2:])]


def test_it_fills_the_form_of_a_fill_and_says_whose_it_is_as_the_server_does(bench, place, tablet):
    study = plan(bench, readings=3)
    page = tablet("roaster", service_workers="allow", failing=True)
    prepare(page, place.url)
    where = f"/studies/precision/{study.id}"
    online, own, *titles = both(page, place, f"{where}/2", "form", "form h1")
    assert differences(without(online, "data-next", "href"), without(own, "data-next", "href")) == []
    assert titles[0] == titles[1]
    online, own, *titles = both(page, place, f"{where}/1", ".page", "[data-change]")
    assert differences(without(online, "href"), without(own, "href")) == []
    assert titles[0] == titles[1]
    expect(page.locator("[data-own]")).to_have_attribute("href", f"{where}/2")
