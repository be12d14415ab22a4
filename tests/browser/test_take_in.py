"""A file of older batches in a real browser: through all steps, with a correction on the way, to a batch's record."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.exchange.taking import GOOD
from tests.support.browser import serving
from webapp.store import sessions


def test_a_file_is_taken_in_step_by_step(app, bench, browser):
    token = sessions.start_session(bench.db, bench.people["lead"], bench.tablet, 12, bench.now)
    app.config["WTF_CSRF_ENABLED"] = True
    with serving(app) as at, browser.new_context(locale="en-GB") as tablet:
        cookies = {"tablet": bench.tablet_secret, "person": token}
        tablet.add_cookies([{"name": name, "value": value, "url": at} for name, value in cookies.items()])
        page = tablet.new_page()
        page.goto(f"{at}/settings")
        page.get_by_role("link", name="Import").click()
        page.get_by_role("button", name="Look at the file").click()
        expect(page.get_by_role("alert")).to_contain_text("Choose the file.")
        page.get_by_label("File", exact=True).set_input_files(
            {"name": "history.csv", "mimeType": "text/csv", "buffer": GOOD}
        )
        page.get_by_role("button", name="Look at the file").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Which column holds what?")
        expect(page.get_by_label("What stands in column Batch code")).to_have_value("code")
        page.get_by_role("button", name="Go on to the numbers").click()
        page.get_by_role("button", name="Look at the result").click()
        expect(page.get_by_role("alert")).to_contain_text("Say whether these are averages.")
        page.get_by_role("radio", name="An average of readings").check()
        for kind in ("whole", "ground"):
            page.locator(f"#meter-{kind}-field").select_option(bench.meter)
            page.locator(f"#method-{kind}-field").select_option(bench.versions[kind].id)
        page.get_by_label("Machine, for rows without one").select_option(bench.machine)
        page.get_by_role("button", name="Look at the result").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("3 batches can be taken in")
        expect(page.get_by_role("cell", name="56.2 · 56.4 · 56.1")).to_be_visible()
        page.get_by_role("button", name="Take in 3 batches").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("3 batches were taken in")
        there = next(bench.db.query("SELECT id FROM batch WHERE code = '0301-01'"))
        page.goto(f"{at}/batches/{there['id']}")
        expect(page.get_by_text("history.csv, row 2, by Ada")).to_be_visible()
