"""Rearranging the steps of a method: on the page with scripts, through the server without, alike."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from webapp.store import methods


def titles(page: Page) -> list[str]:
    """The titles of the steps, in the order of the page."""
    return page.eval_on_selector_all("[data-step] input[name$=-title]", "all => all.map(e => e.value)")


@pytest.fixture
def edit(address, bench) -> str:
    """Where the whole-bean method is changed."""
    return f"{address}/methods/{bench.methods['whole']}/edit"


@pytest.mark.parametrize("scripts", [True, False])
def test_it_moves_adds_and_removes_and_stores_the_order(tablet, edit, bench, db, scripts):
    page = tablet("lead", java_script_enabled=scripts)
    page.goto(edit)
    before = titles(page)
    page.fill("#steps-2-body", "Half a senten")
    page.click("#step-3 button[name=up]")
    expect(page.locator("#steps-1-title")).to_have_value(before[2])
    expect(page.locator("#steps-1-body")).to_have_value("Half a senten")
    page.click("#step-1 button[name=add]")
    expect(page.locator("#steps-1-title")).to_have_value("")
    page.fill("#steps-1-title", "Wipe the dish")
    page.select_option("#steps-1-picture", "fill-deep")
    page.click("#step-4 button[name=remove]")
    wanted = [before[0], "Wipe the dish", before[2], *before[3:]]
    expect(page.locator("#steps-3-title")).to_have_value(before[3])
    assert titles(page) == wanted
    assert len(methods.list_versions(db, bench.methods["whole"])) == 1
    page.fill("#reason", "A clean dish")
    # The Enter key stores; it does not press the first step's button.
    page.press("#reason", "Enter")
    page.wait_for_url(f"**/methods/{bench.methods['whole']}")
    stored = methods.version_in_force(db, bench.methods["whole"])
    assert [step.title for step in stored.steps] == wanted
    assert stored.steps[1].picture == "fill-deep"
    assert stored.steps[2].body == "Half a senten"


def test_it_numbers_everything_anew_and_says_so(tablet, edit):
    page = tablet("lead")
    page.goto(edit)
    page.click("#step-2 button[name=down]")
    expect(page.locator("[data-say]")).to_have_text("Now step 3 of 7")
    expect(page.locator("#step-3 button[name=down]")).to_be_focused()
    assert page.eval_on_selector_all("legend[data-legend]", "all => all.map(e => e.textContent)") == [
        f"Step {no}" for no in range(1, 8)
    ]
    names = page.eval_on_selector_all("[data-step] [name^=steps-]", "all => all.map(e => e.name)")
    assert len(names) == len(set(names))
    assert page.locator("#step-1 button[name=up]").is_disabled()
    assert page.locator("#step-7 button[name=down]").is_disabled()


def test_it_takes_one_step_for_two_quick_taps_and_puts_it_back(tablet, edit):
    page = tablet("lead")
    page.goto(edit)
    before = titles(page)
    remove = page.locator("#step-2 button[name=remove]")
    remove.scroll_into_view_if_needed()
    spot = remove.bounding_box()
    for _ in range(2):
        page.mouse.click(spot["x"] + spot["width"] / 2, spot["y"] + spot["height"] / 2)
    assert len(titles(page)) == 6
    page.click("text=Put step 2 back")
    assert titles(page) == before


def test_it_shows_the_picture_that_was_chosen(tablet, edit):
    page = tablet("lead")
    held = []
    page.route("**/gear/method-steps.mjs", lambda route: held.append(route))
    with page.expect_request("**/gear/method-steps.mjs"):
        page.goto(edit, wait_until="domcontentloaded")
    shown = page.locator("#step-1 [data-preview] img")
    folder = page.locator("[data-pictures]").get_attribute("data-pictures")

    def shows(name: str) -> None:
        """The step's own picture, and what goes wrong without it."""
        expect(shown).to_have_count(2)
        for picture, its in zip(shown.all(), (name, f"{name}-wrong"), strict=True):
            expect(picture).to_have_attribute("src", f"{folder}{its}.svg")
            expect(picture).not_to_have_js_property("naturalWidth", 0)

    # On a slow line somebody chooses before the script is there.
    page.select_option("#steps-0-picture", "grinder-purge")
    held[0].continue_()
    shows("grinder-purge")
    page.select_option("#steps-0-picture", "fill-deep")
    shows("fill-deep")
    page.select_option("#steps-0-picture", "")
    expect(shown).to_have_count(0)


def test_it_stays_at_the_step_without_scripts(tablet, edit):
    page = tablet("lead", java_script_enabled=False)
    page.goto(edit)
    page.click("#step-5 button[name=up]")
    page.wait_for_url("**#step-4")
    box = page.locator("#step-4").bounding_box()
    assert -10 < box["y"] < page.viewport_size["height"] / 2
