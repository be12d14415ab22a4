"""Sign-in by touch, by keyboard, and without scripts."""

import re

import pytest
from playwright.sync_api import expect

from tests.support.roastery import PINS
from webapp.store import people, pin_guard
from webapp.store.who import SYSTEM


def tap(page, digits: str) -> None:
    for digit in digits:
        page.locator(f"[data-digit='{digit}']").tap()


def test_it_signs_in_with_seven_taps(address, tablet):
    page = tablet(None, has_touch=True)
    page.goto(f"{address}/me")
    page.get_by_text("Ravi").tap()
    expect(page.locator("h1")).to_have_text("Ravi")
    tap(page, PINS["roaster"])
    page.wait_for_url(f"{address}/me")
    expect(page.locator("h1")).to_have_text("Ravi")


def test_it_does_not_raise_the_systems_keyboard_over_the_pad(address, tablet):
    page = tablet(None, has_touch=True)
    page.goto(f"{address}/sign-in")
    page.get_by_text("Ravi").tap()
    tap(page, "31")
    assert page.evaluate("document.activeElement.id") != "pin"


def test_it_takes_digits_back(address, tablet):
    page = tablet(None, has_touch=True)
    page.goto(f"{address}/sign-in")
    page.get_by_text("Ravi").tap()
    tap(page, "999")
    expect(page.get_by_role("status")).to_have_text("3 of 6 digits")
    page.get_by_role("button", name="Back one").tap()
    assert page.locator("#pin").input_value() == "99"
    page.get_by_role("button", name="Clear").tap()
    expect(page.get_by_role("status")).to_have_text("Six digits")
    assert page.locator("#pin").input_value() == ""


def test_it_goes_back_to_the_names(address, tablet):
    page = tablet(None, has_touch=True)
    page.goto(f"{address}/sign-in")
    page.get_by_text("Tomas").tap()
    tap(page, "31")
    page.get_by_role("button", name="Somebody else").tap()
    page.get_by_text("Ravi").tap()
    expect(page.locator("#pin")).to_have_value("")
    tap(page, PINS["roaster"])
    page.wait_for_url(f"{address}/")


def test_it_says_beside_the_pad_that_a_pin_is_wrong_and_takes_the_next_try(address, tablet):
    page = tablet(None, has_touch=True)
    page.goto(f"{address}/sign-in?next=/me")
    page.get_by_text("Ravi").tap()
    with page.expect_navigation():
        tap(page, "808172")
    expect(page.get_by_text("That is not the PIN of Ravi. 4 more tries")).to_be_visible()
    assert page.title().startswith("Error: ")
    expect(page.locator("h1")).to_have_text("Ravi")
    tap(page, PINS["roaster"])
    page.wait_for_url(f"{address}/me")


def test_it_turns_the_pad_off_during_a_wait_and_on_after_it(address, tablet, bench):
    page = tablet(None, has_touch=True)
    for _ in range(4):
        pin_guard.check_pin(bench.db, bench.people["roaster"], bench.tablet, "808172", bench.now)
    page.clock.install()
    page.goto(f"{address}/sign-in")
    page.get_by_text("Ravi").tap()
    with page.expect_navigation():
        tap(page, "808172")
    expect(page.get_by_text("Wait 30 seconds, or ask a lead.")).to_be_visible()
    expect(page.locator("[data-digit='1']")).to_be_disabled()
    page.clock.fast_forward(31_000)
    expect(page.locator("[data-digit='1']")).to_be_enabled()
    # Not the corner: with the clock put forward it may find that the tablet's disk took too long.
    expect(page.locator("[data-part='said']")).to_have_text("You can try again now.")


def test_it_lets_somebody_else_sign_in_during_a_wait(address, tablet, bench):
    page = tablet(None, has_touch=True)
    for _ in range(4):
        pin_guard.check_pin(bench.db, bench.people["roaster"], bench.tablet, "808172", bench.now)
    page.goto(f"{address}/sign-in?next=/me")
    page.get_by_text("Ravi").tap()
    with page.expect_navigation():
        tap(page, "808172")
    page.get_by_role("button", name="Somebody else").tap()
    page.get_by_text("Tomas").tap()
    tap(page, PINS["trainee"])
    page.wait_for_url(f"{address}/me")


def test_it_works_by_keyboard_alone(address, tablet):
    page = tablet(None)
    page.goto(f"{address}/sign-in?next=/me")
    page.locator("#person-1").focus()
    page.keyboard.press("Space")
    page.keyboard.press("ArrowDown")
    expect(page.locator("#person-2")).to_be_checked()
    expect(page.locator("[data-part=people]")).to_be_visible()
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text("Ravi")
    page.keyboard.type(PINS["roaster"])
    page.wait_for_url(f"{address}/me")


def test_it_takes_a_pasted_pin(address, tablet):
    page = tablet(None)
    page.goto(f"{address}/sign-in?next=/me")
    page.get_by_text("Ravi").click()
    expect(page.locator("#pin")).to_be_visible()
    page.locator("#pin").focus()
    page.keyboard.insert_text(PINS["roaster"])
    page.wait_for_url(f"{address}/me")


def test_it_sends_a_pin_typed_before_its_script_had_come(address, tablet):
    page, held = tablet(None), []
    page.route("**/pin-pad*.mjs", lambda route: held.append(route))
    page.goto(f"{address}/sign-in?next=/me", wait_until="commit")
    page.get_by_text("Ravi").click()
    page.locator("#pin").fill(PINS["roaster"])
    held[0].continue_()
    page.wait_for_url(f"{address}/me")


def test_it_sends_the_pin_once(address, tablet):
    page, sent = tablet(None, has_touch=True), []
    page.on("request", lambda request: request.method == "POST" and sent.append(request.url))
    page.goto(f"{address}/sign-in?next=/me")
    page.get_by_text("Ravi").tap()
    with page.expect_response(lambda response: response.request.method == "POST"):
        page.locator("#pin").evaluate("(e) => { for (let n = 0; n < 3; n++) e.form.requestSubmit(); }")
    page.wait_for_load_state()
    page.wait_for_timeout(300)
    assert len(sent) == 1


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_it_works_without_scripts(address, tablet, size):
    page = tablet(None, size=size, java_script_enabled=False)
    page.goto(f"{address}/me")
    page.get_by_label("Ravi").check()
    page.get_by_label("PIN").fill(PINS["roaster"])
    page.get_by_role("button", name="Sign in").click()
    assert page.url == f"{address}/me"


def test_it_keeps_a_form_through_the_pin(address, tablet, bench):
    page = tablet("roaster", has_touch=True)
    page.goto(f"{address}/me")
    page.get_by_label("Set the point by itself").check()
    bench.db.conn.execute("UPDATE session SET ended_at = started_at")
    page.get_by_role("button", name="Store").tap()
    expect(page.get_by_text("What you typed is not stored yet.")).to_be_visible()
    page.get_by_text("Ravi").tap()
    tap(page, PINS["roaster"])
    expect(page.locator("h1")).to_have_text("Welcome back")
    page.get_by_role("button", name="Go on").tap()
    page.wait_for_url(re.compile("/me$"))
    expect(page.get_by_label("Set the point by itself")).to_be_checked()
    assert people.get_person(bench.db, bench.people["roaster"]).auto_point


@pytest.mark.parametrize("size", ["tablet", "upright"])
def test_it_shows_25_people_without_scrolling(address, tablet, bench, size):
    for n in range(22):
        name = f"Person {n:02d} of a rather long family name" if n % 5 == 0 else f"Person {n:02d}"
        people.add_person(bench.db, name, "roaster", "835170", SYSTEM, bench.now)
    page = tablet(None, size=size)
    page.goto(f"{address}/sign-in")
    page.wait_for_load_state("networkidle")
    assert page.locator(".crew-one").count() == 25
    assert page.evaluate("document.documentElement.scrollHeight <= innerHeight")
