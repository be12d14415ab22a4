"""Above the strip: which of today's products walk, or cannot hold their band, once each, and what is known of it."""

import uuid
from datetime import timedelta

import pytest

from tests.support.pages import Page
from webapp.store import signal_notes, standings
from webapp.store.times import local_day

STEADY = [56.2, 55.9, 56.1, 56.0, 55.8, 56.2, 56.0, 55.9, 56.1, 55.8] * 2


@pytest.fixture
def walked(bench):
    """Twenty steady batches of yesterday and before, then one far on the dark side today."""
    made = []
    for no, value in enumerate([*STEADY, 54.0]):
        at = bench.now - timedelta(hours=(len(STEADY) - no) * 2)
        batch = bench.batch(f"W-{no:03}", at=at)
        bench.sample(batch.id, "whole", [value] * 3, at=at)
        made.append(batch)
    return made


def cards(client, path="/"):
    """(look, address) of the cards above the strip, and the text of all of them."""
    page = Page(client.get(path).text)
    there = next((e for e in page.elements if e.attrs.get("id") == "trending"), None)
    inside = [e for e in page.elements if e.tag == "a" and "stands" in e.attrs.get("class", "").split()]
    return [(e.attrs["class"].split()[-1], e.attrs["href"]) for e in inside], " ".join(there.text.split())


def test_it_names_what_walks_and_leads_to_its_trend(walked, sign_in, bench):
    found, text = cards(sign_in("trainee"))
    assert found == [("changed", f"/trends/{bench.product}/whole")]
    assert text == "Lantern House went darker W-020 lies further out than chance explains."


def test_it_says_nothing_on_another_day(walked, sign_in, bench):
    yesterday = local_day(bench.now - timedelta(days=1), "Europe/Vienna")
    assert cards(sign_in("lead"), f"/days/{yesterday}") == ([], "")


def test_it_says_nothing_of_a_product_that_was_not_roasted_today(walked, bench):
    tomorrow = local_day(bench.now + timedelta(days=1), "Europe/Vienna")
    assert standings.of_day(bench.db, tomorrow) == []


def test_it_says_what_is_known(walked, sign_in, bench):
    client = sign_in("lead")
    tag = client.get("/").headers["etag"]
    note = signal_notes.NewNote(
        str(uuid.uuid4()), bench.product, "whole", walked[-1].id, 1, "darker", "coffee", "New crop.", "", True
    )
    signal_notes.add_note(bench.db, note, bench.who(), bench.now)
    # A strip that asks again is told: it is not the page that it has.
    assert client.get("/", headers={"If-None-Match": tag}).status_code == 200
    found, text = cards(client)
    assert [look for look, _url in found] == ["known"]
    assert "Known: another coffee." in text


def test_it_is_told_anew_when_the_next_batch_changes_it(walked, sign_in, bench):
    client = sign_in("lead")
    tag = client.get("/").headers["etag"]
    assert client.get("/", headers={"If-None-Match": tag}).status_code == 304
    batch = bench.batch("W-next", at=bench.now)
    bench.sample(batch.id, "whole", [53.9] * 3, at=bench.now)
    answer = client.get("/", headers={"If-None-Match": tag})
    assert (answer.status_code, "Lantern House" in answer.text) == (200, True)


def test_it_stands_on_the_wall(walked, client):
    text = client.get("/wall").text
    assert "Lantern House went darker" in text
