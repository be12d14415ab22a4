"""A compared coffee read on the tablet: through the outbox, as a sample goes."""

import re

from tests.support.comparing import plan
from webapp.store import comparisons


def test_it_goes_through_the_outbox_and_on_to_the_comparison(bench, address, tablet):
    there, page = plan(bench), tablet("trainee")
    page.goto(f"{address}/comparisons/{there.id}/1/a")
    page.wait_for_load_state("networkidle")
    for no, text in enumerate(("56,1", "56.2")):
        page.locator(f'[name="fills-0-readings-{no}-value"]').fill(text)
    page.locator("form .primary").click()
    page.wait_for_url(re.compile(rf"/comparisons/{there.id}$"))
    [sample] = comparisons.list_samples(bench.db, there.id)
    # A number of the tablet's own: it came as a record and was not posted.
    assert (sample.person_name, sample.tablet_seq) == ("Tomas", 1)
    assert [r.typed for r in sample.readings] == ["56,1", "56.2"]


def test_it_shows_the_servers_words_beside_the_field(bench, address, tablet):
    there, page = plan(bench), tablet("trainee")
    page.goto(f"{address}/comparisons/{there.id}/1/a")
    page.wait_for_load_state("networkidle")
    page.locator('[name="fills-0-readings-0-value"]').fill("562")
    page.locator('[name="fills-0-readings-1-value"]').fill("56.2")
    page.locator("form .primary").click()
    page.locator(".reading.wrong .error").wait_for()
    assert "This scale runs from 0.0 to 150.0." in page.locator(".reading.wrong .error").inner_text()
    assert page.locator('[name="fills-0-readings-0-value"]').input_value() == "562"
    assert comparisons.list_samples(bench.db, there.id) == []
