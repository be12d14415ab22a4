"""The list of what waits: oldest first, over all time, in words, with what nobody has released yet."""

import re
import uuid
from datetime import timedelta

import pytest

from tests.decisions.test_decide import READINGS
from tests.decisions.test_supersede import put
from tests.support.roastery import later
from webapp.store import decisions, waiting


def read(bench, verdict, days=0, code=""):
    """A batch of so many days ago that reads so."""
    at = bench.now - timedelta(days=days)
    batch = bench.batch(code, at=at)
    whole, ground = READINGS[verdict]
    bench.sample(batch.id, "whole", whole, at=at)
    if ground:
        bench.sample(batch.id, "ground", ground, at=at)
    return batch


def listed(client, query=""):
    """(codes of what waits, codes of what is not released yet, the page)."""
    html = client.get(f"/decisions{query}").get_data(as_text=True)
    above, below = html.split('id="ready"')
    codes = r'<span class="num nowrap">([^<]+)</span>'
    return re.findall(codes, above), re.findall(codes, below), html


def test_it_says_what_will_be_there_while_nothing_is(client, sign_in):
    waits, ready, html = listed(sign_in("trainee"))
    assert (waits, ready) == ([], [])
    assert "Nothing waits" in html
    assert "stands here until somebody has decided" in html


def test_it_has_the_oldest_first_however_old(bench, sign_in):
    for days, code in ((3, "C"), (400, "A"), (0, "D"), (30, "B")):
        read(bench, "outside", days, code)
    assert listed(sign_in("trainee"))[0] == ["A", "B", "C", "D"]


def test_it_says_why_each_waits_and_who_decided_what(bench, sign_in):
    held = read(bench, "undecided", 1)
    put(bench, held, "hold", "roaster", "ask Ada")
    read(bench, "outside")
    html = listed(sign_in("lead"))[2]
    assert "On hold by Ravi" in html
    assert "“ask Ada”" in html
    assert "beyond the light limit" in html
    assert f'href="/batches/{held.id}/result"' in html


def test_it_can_be_narrowed_to_one_reason(bench, sign_in):
    put(bench, read(bench, "inside", code="H"), "hold", "roaster")
    read(bench, "outside", code="O")
    read(bench, "undecided", code="U")
    client = sign_in("lead")
    assert listed(client, "?why=outside")[0] == ["O"]
    assert listed(client, "?why=hold")[0] == ["H"]
    # What nobody waits for, or what is no reason at all, shows everything.
    assert len(listed(client, "?why=changed")[0]) == len(listed(client, "?why=x")[0]) == 3


@pytest.mark.parametrize(("query", "codes"), [("", 100), ("?page=2", 7), ("?page=9", 7), ("?page=x", 100)])
def test_it_has_a_hundred_on_a_page(bench, sign_in, query, codes):
    batches = [bench.batch(f"M-{no:03}", at=later(bench.now, minutes=no)) for no in range(107)]
    with bench.db.conn:
        bench.db.conn.executemany("INSERT INTO batch_waiting VALUES (?, 'hold')", [(b.id,) for b in batches])
    waits, _ready, html = listed(sign_in("lead"), query)
    assert (len(waits), waits[0]) == (codes, "M-000" if codes == 100 else "M-100")
    assert "107 batches wait" in html


def test_it_has_what_is_in_band_and_not_released_of_two_weeks(bench, sign_in):
    read(bench, "inside", 15, "OLD")
    put(bench, read(bench, "inside", 1, "GONE"), "release", "roaster", "")
    read(bench, "inside", 13, "FIRST")
    read(bench, "inside", 0, "SECOND")
    read(bench, "incomplete", 0, "HALF")
    for role in ("trainee", "roaster"):
        assert listed(sign_in(role))[1] == ["FIRST", "SECOND"]


def test_it_offers_a_trainee_nothing_to_decide(bench, sign_in):
    read(bench, "inside")
    assert "<button" not in listed(sign_in("trainee"))[2].split("<main")[1].split("</main>")[0]


def test_it_is_one_tap_from_the_strip_with_its_number(bench, sign_in, client):
    read(bench, "outside", 30)
    read(bench, "outside")
    html = sign_in("trainee").get("/").get_data(as_text=True)
    assert re.search(r'href="/decisions">2 wait, all days<', html)
    assert "with other days 2 wait" in client.get("/wall").get_data(as_text=True)


def test_it_says_how_it_read_when_it_was_decided(bench, sign_in):
    batch = read(bench, "inside")
    decisions.add_decision(bench.db, str(uuid.uuid4()), batch.id, "release", "", bench.who(), bench.now)
    for _fill in range(3):
        bench.sample(batch.id, "ground", [66.0, 66.0, 66.1])
    assert waiting.count_waiting(bench.db) == {"changed": 1}
    assert "When that was decided, it read: in band." in listed(sign_in("lead"))[2]
