"""Practice at the tablet: it feels like a sample and leaves nothing, with the server there, gone, and back again."""

import pytest
from playwright.sync_api import expect

from tests.browser.test_accessibility import looked_at
from tests.support.offline import Place, prepare
from tests.support.practising import everything, path_of

# All that the tablet's own database holds, by store.
KEPT = """() => new Promise((resolve, reject) => {
  const opening = indexedDB.open("drumside");
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = async () => {
    const db = opening.result;
    const read = (name) => new Promise((done) => {
      const asked = db.transaction(name).objectStore(name).getAll();
      asked.onsuccess = () => done([name, asked.result]);
    });
    const all = Object.fromEntries(await Promise.all([...db.objectStoreNames].map(read)));
    db.close();
    resolve(all);
  };
})"""


@pytest.fixture
def address(place: Place) -> str:
    """For the fixture `tablet`."""
    return place.url


def walk_and_read(page, shown: str) -> list[str]:
    """Every step, then the readings that the practice meter shows; returns them."""
    page.locator("form.guided").wait_for()
    while page.locator("[data-done]").is_visible():
        page.locator("[data-done]").click()
    numbers = page.locator(shown).all_text_contents()[:3]
    for number in numbers:
        for key in number:
            page.locator(f'[data-key="{key}"]').click()
    return numbers


def nothing_kept(page) -> None:
    """Neither a draft nor a record, and nowhere the number that the form goes by."""
    kept = page.evaluate(KEPT)
    assert kept["drafts"] == []
    assert kept["outbox"] == []
    assert "practice-" not in str(kept)


def test_it_leaves_nothing_on_the_tablet_with_the_server_gone_and_back(bench, place, tablet):
    page = tablet("trainee", service_workers="allow", failing=True)
    prepare(page, place.url)
    before = everything(bench.db)
    page.goto(place.url + "/practice")
    page.get_by_role("button", name="Begin to practise").click()
    numbers = walk_and_read(page, '[data-fill="1"] .practice-meter strong')
    expect(page.locator("[data-summary]")).to_contain_text("mean of 3")
    # One more, if these disagree; tapped once, the answer comes or the page asks.
    if page.locator('[data-fill="1"] [data-row]:visible').count() > 3:
        page.locator('[data-fill="1"] [data-row]:visible input[type=text]').last.fill(numbers[0])
    nothing_kept(page)
    place.down()
    finish = page.get_by_role("button", name="Finish and see the answer")
    finish.click()
    expect(page.locator("[data-gone]")).to_be_visible()
    typed = page.locator('[data-fill="1"] input[type=text]')
    assert [typed.nth(index).input_value() for index in range(3)] == numbers
    nothing_kept(page)
    place.up()
    finish.click()
    expect(page.get_by_role("heading", name="What to look at")).to_be_visible()
    nothing_kept(page)
    assert everything(bench.db) == before
    place.down()
    page.goto(place.url + "/practice")
    expect(page.get_by_role("heading", level=1)).to_have_text("The server cannot be reached")
    nothing_kept(page)


def test_it_works_without_a_script_and_keeps_what_was_typed(bench, place, tablet):
    page = tablet("trainee", java_script_enabled=False, failing=True)
    page.goto(place.url + path_of(bench))
    for tick in page.locator("[data-tick] input").all():
        tick.check()
    rows = page.locator('[data-fill="1"] [data-row] input[type=text]')
    for row, text in zip(rows.all(), ("56.1", "562", "56.2"), strict=False):
        row.fill(text)
    finish = page.get_by_role("button", name="Finish and see the answer")
    finish.click()
    expect(page.locator(".problems")).to_be_visible()
    assert [rows.nth(index).input_value() for index in range(3)] == ["56.1", "562", "56.2"]
    # A tap on the suggestion takes it, as with a sample.
    page.get_by_role("button", name="Take 56.2").click()
    expect(page.get_by_role("heading", name="What to look at")).to_be_visible()
    expect(page.locator("main")).to_contain_text("You ticked the steps on one long page.")


def test_axe_finds_nothing_on_a_reason_the_readings_and_the_answer(bench, place, tablet):
    """The pages before are among those of tests/browser/test_accessibility.py."""
    page = tablet("trainee", size="phone")
    page.goto(place.url + path_of(bench, dish="invented"))
    page.locator("form.guided").wait_for()
    page.locator("[data-step]:not([hidden]) summary").click()
    found = looked_at(page, "why")
    walk_and_read(page, '[data-fill="1"] .practice-meter strong')
    found += looked_at(page, "practice readings")
    page.get_by_role("button", name="Read a new fill").click()
    page.locator('[data-fill="2"] [data-row] input[type=text]').first.fill("50")
    tick = page.locator("[name=fewer], [name=no_more]")
    for one in tick.all():
        one.evaluate("box => { box.checked = true; box.closest('[hidden]')?.removeAttribute('hidden'); }")
    for sure in page.locator("[data-sure]:visible input").all():
        sure.check()
    page.get_by_role("button", name="Finish and see the answer").click()
    page.get_by_role("heading", name="What to look at").wait_for()
    found += looked_at(page, "practice answer")
    assert not found, "\n".join(found)
