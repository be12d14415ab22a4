"""Readings survive a lock: as a draft on the tablet, and in the form that was sent too late."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.test_capture import Taps, open_readings
from tests.support.roastery import PINS
from tests.support.waiting import until
from webapp.store import methods, results, samples

WHOLE = ("56.1", "56.4", "56.1")


def sign_in(page, name: str, role: str) -> None:
    page.get_by_text(name, exact=True).click()
    for digit in PINS[role]:
        page.locator(f"[data-digit='{digit}']").click()


def fill(page) -> None:
    for index, text in enumerate(WHOLE):
        page.locator(f'[name="fills-0-readings-{index}-value"]').fill(text)


def end_sessions(bench) -> None:
    bench.db.conn.execute("UPDATE session SET ended_at = started_at")


def test_it_keeps_the_draft_through_an_idle_lock(bench, address, tablet):
    page, batch = tablet("roaster"), bench.batch()
    page.clock.install()
    where = f"{address}/batches/{batch.id}/whole"
    page.goto(where)
    page.locator("[data-switch]").click()
    page.locator("[data-done]").click()
    page.locator('[name="fills-0-readings-0-value"]').fill("56.1")
    page.locator('[name="fills-0-readings-1-value"]').fill("56")
    page.clock.fast_forward("10:01")
    page.wait_for_url(f"{address}/sign-in**")
    sign_in(page, "Ravi", "roaster")
    page.wait_for_url(where)
    expect(page.locator('[name="fills-0-readings-0-value"]')).to_have_value("56.1")
    expect(page.locator('[name="fills-0-readings-1-value"]')).to_have_value("56")
    assert not samples.get_samples(bench.db, batch.id)


@pytest.mark.parametrize(("name", "role"), [("Ravi", "roaster"), ("Ada", "lead")])
def test_it_stores_readings_sent_after_the_session_ended(bench, address, tablet, name, role):
    page, batch = tablet("roaster"), bench.batch()
    page.goto(f"{address}/batches/{batch.id}/whole")
    page.locator("[data-switch]").click()
    page.locator("[data-done]").click()
    fill(page)
    end_sessions(bench)
    page.locator("[data-readings] .actions .primary").click()
    page.wait_for_url(f"{address}/sign-in**")
    expect(page.locator("[data-saved]")).to_contain_text("Needs a PIN: 1")
    assert not samples.get_samples(bench.db, batch.id)
    sign_in(page, name, role)
    page.wait_for_url(re.compile("/ground$"))
    # A busy server may still be at it when the page goes on.
    until(page, lambda: "whole" in results.get_parts(bench.db, batch.id))
    assert results.get_parts(bench.db, batch.id)["whole"].value == pytest.approx(56.2)
    # Who read it stays who read it, whoever signs in to send it.
    [made] = samples.get_samples(bench.db, batch.id)
    assert (made.person_id, made.sent_by) == (bench.people["roaster"], bench.people[role])


def test_it_stores_them_without_scripts_as_well(bench, address, tablet):
    page, batch = tablet("roaster", java_script_enabled=False), bench.batch()
    page.goto(f"{address}/batches/{batch.id}/whole")
    for tick in page.locator("[data-tick] input").all():
        tick.check()
    fill(page)
    end_sessions(bench)
    page.locator("[data-readings] .actions .primary").click()
    page.get_by_label("Ravi").check()
    page.get_by_label("PIN").fill(PINS["roaster"])
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("button", name="Go on").click()
    assert page.url.endswith("/ground")
    assert results.get_parts(bench.db, batch.id)["whole"].value == pytest.approx(56.2)


def test_a_running_capture_finishes_on_the_version_of_the_method_that_it_began_with(bench, address, tablet):
    """The method is edited while somebody reads; the page is loaded again before they have finished."""
    page, batch = tablet("roaster"), bench.batch()
    open_readings(page, address, batch)
    Taps(page).number("56.2")
    old = bench.versions["whole"]
    methods.add_version(
        bench.db, old.method_id, "another dish", old.planned_readings, old.planned_fills, None, old.steps[:3],
        "Fewer steps.", bench.who("lead"), bench.now,
    )  # fmt: skip
    page.reload()
    page.wait_for_url(f"**version={old.id}")
    expect(page.locator("[name=method_version]")).to_have_value(old.id)
    expect(page.locator("#fills-0-readings-0-value")).to_have_value("56.2")
    for text in ("56.1", "56.3"):
        Taps(page).number(text)
    page.get_by_role("button", name="Store, go on later").click()
    page.wait_for_url(f"{address}/")
    [made] = samples.get_samples(bench.db, batch.id)
    assert made.method_version_id == old.id
    assert len(made.steps) == len(old.steps)
