"""The list of all blends, and what the shop has learnt of mixing."""

from __future__ import annotations

import pytest

from tests.support import blending
from tests.support.blending import said
from webapp.blends import read
from webapp.store import gear


def test_it_says_what_will_stand_here(sign_in):
    page = sign_in("trainee").page("/blends")
    assert "No blend yet" in said(page)
    assert not [e for e in page.find("a") if e.attrs["href"] == "/blends/new"]
    assert [e for e in sign_in("roaster").page("/blends").find("a") if e.attrs["href"] == "/blends/new"]


def blends(bench, readings: list[float]) -> None:
    parts = {batch.id: 4000 for batch in blending.both_sides(bench)}
    for no, whole in enumerate(readings):
        blending.read(bench, blending.stored(bench, parts, f"M-{no}"), whole, whole + 5)


def test_it_lists_what_was_expected_and_read(bench, sign_in):
    blends(bench, [56.2])
    blending.stored(bench, {b.id: 3000 for b in blending.both_sides(bench)}, "M-unread")
    page = sign_in("trainee").page("/blends")
    rows = [" ".join(row.text.split()) for row in page.find("tr")[1:]]
    assert rows[0].startswith("M-unread")
    assert "not read yet" in rows[0]
    assert "0.2 lighter, give or take" in rows[1]
    assert "Whole bean: 1 blend read so far, 3 are needed" in said(page)


def test_three_blends_say_something(bench, sign_in):
    blends(bench, [55.8, 55.6, 55.7])
    page = said(sign_in("trainee").page("/blends"))
    assert "3 blends, read 0.30 darker than expected on average, give or take 0.25: mixing is not linear here." in page


def test_what_scatters_around_the_expected_says_nothing_against_it(bench, sign_in):
    blends(bench, [55.7, 56.4, 55.9, 56.1])
    page = said(sign_in("trainee").page("/blends"))
    assert "nothing says that mixing is not linear here." in page
    assert "mixing is not linear here. Expect" not in page


@pytest.mark.parametrize(("lighter", "word"), [("scale", "lighter"), ("flipped", "darker")])
def test_lighter_is_lighter_on_every_scale(app, bench, lighter, word):
    with app.test_request_context():
        scale = gear.get_scale(bench.db, getattr(bench, lighter))
        assert word in read.said_of("whole", [0.9, 1.0, 1.1], scale, False).text


def test_a_reading_on_a_meter_in_doubt_teaches_nothing(bench, sign_in):
    blends(bench, [55.8, 55.6, 55.7])
    bench.ask_for_checks(at=bench.now.replace(year=2020))
    bench.db.conn.execute("UPDATE part_result SET meter_state = 'missing'")
    assert "No blend has been read yet." in said(sign_in("trainee").page("/blends"))
