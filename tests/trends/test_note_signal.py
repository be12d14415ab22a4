"""A signal is opened, explained and closed; what was said of it stays, and the advice knows it."""

import re
import uuid

import pytest

from webapp.store import signal_notes, trend_rules
from webapp.store.trend_rules import Rules
from webapp.store.trends import ALL
from webapp.trends import drawing, run

TYPED = {"cause": "coffee", "note": "New crop in the blend.", "done": "Left alone.", "closed": "y"}


@pytest.fixture
def dark(bench, roast, steady):
    """25 steady batches and two far on the dark side: a signal that stands. Gives its batches."""
    return roast([*steady(25), 53.5, 53.4])


@pytest.fixture
def where(bench):
    return f"/trends/{bench.product}/whole"


@pytest.fixture
def signal(bench, where, dark):
    """The address of the signal."""
    return f"{where}/signals/{dark[25].id}/darker"


def text_of(page):
    return re.sub(r"\s+", " ", page.find("main")[0].text)


def look(bench):
    return run.look_at(bench.db, bench.product, "whole", ALL, 100)


def notes(bench):
    return signal_notes.list_notes(bench.db, bench.product, "whole")


def say(bench, batch, side="darker", closed=False, role="roaster", **how):
    new = signal_notes.NewNote(
        str(uuid.uuid4()), bench.product, "whole", batch.id, how.get("rule", 1), side, how.get("cause", "coffee"),
        how.get("note", "New crop."), "", closed,
    )  # fmt: skip
    signal_notes.add_note(bench.db, new, bench.who(role), bench.now)


def test_it_leads_from_the_trend_to_each_signal(sign_in, where, signal):
    page = sign_in("trainee").page(where)
    assert signal in [a.attrs["href"] for a in page.find("a")]


def test_it_shows_what_fired_when_and_what_the_logs_say(sign_in, signal):
    text = text_of(sign_in("trainee").page(signal))
    assert "Signal to the dark side, R-0-025" in text
    assert "One batch on the dark side by more than three sigma." in text
    assert "53.5" in text
    assert "It still stands" in text
    assert "Nothing stands in the logs of that time." in text
    assert "Nobody has said anything yet." in text


def test_it_lets_a_trainee_read_and_a_roaster_write(sign_in, signal, bench, fields):
    page = sign_in("trainee").page(signal)
    assert page.find("select") == []
    assert sign_in("trainee").post(signal, data=TYPED).status_code == 403
    roaster = sign_in("roaster")
    form = fields(roaster.page(signal), **TYPED)
    for _twice in range(2):
        assert roaster.post(signal, data=form).status_code == 303
    [note] = notes(bench)
    assert (note.rule, note.side, note.cause, note.closed, note.person_name, note.role) == (
        1, "darker", "coffee", True, "Ravi", "roaster",
    )  # fmt: skip
    text = text_of(roaster.page(signal))
    assert "Known: another coffee. Closed by Ravi" in text
    assert "New crop in the blend." in text
    assert "Ravi (roaster)" in text
    assert roaster.post(signal, data=form | {"note": "Something else."}).status_code == 409


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"cause": ""}, "Choose what it was"),
        ({"cause": "unknown"}, "Before it is closed, say what it was"),
        ({"cause": "unknown", "closed": "", "note": "", "done": " "}, "Say what is known so far"),
        ({"cause": "other", "note": "", "done": ""}, "Say what it was."),
        ({"cause": "witchcraft"}, "not offered any more"),
        ({"note": "x" * 401}, "Use at most 400 characters"),
    ],
)
def test_it_says_what_is_missing_and_keeps_what_was_typed(sign_in, signal, bench, fields, typed, said):
    roaster = sign_in("roaster")
    answer = roaster.post(signal, data=fields(roaster.page(signal), **{**TYPED, **typed}))
    html = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert said in html
    for kept in (text for text in {**TYPED, **typed}.values() if len(text) > 8 and text != "witchcraft"):
        assert kept in html
    assert notes(bench) == []


def test_it_shows_first_what_somebody_wrote_meanwhile(sign_in, signal, bench, dark, fields):
    roaster = sign_in("roaster")
    form = fields(roaster.page(signal), **TYPED)
    say(bench, dark[25], note="The probe was loose.", role="lead")
    html = (answer := roaster.post(signal, data=form)).get_data(as_text=True)
    assert answer.status_code == 422
    assert "Ada wrote about it meanwhile" in html
    assert "The probe was loose." in html
    assert "New crop in the blend." in html


def test_it_loses_nothing_when_the_signal_is_gone_meanwhile(sign_in, signal, bench, dark, fields):
    roaster = sign_in("roaster")
    form = fields(roaster.page(signal), **TYPED)
    bench.sample(dark[25].id, "whole", [58.5] * 3)
    assert [one for one in look(bench).signals if one.point == 25 and not one.lighter] == []
    assert roaster.post(signal, data=form).status_code == 303
    assert [note.rule for note in notes(bench)] == [1]


def test_it_knows_no_signal_where_nothing_fired(sign_in, where, bench, dark):
    client = sign_in("roaster")
    assert client.get(f"{where}/signals/{dark[3].id}/darker").status_code == 404
    assert client.get(f"{where}/signals/{dark[25].id}/lighter").status_code == 404
    assert client.get(f"{where}/signals/{uuid.uuid4()}/darker").status_code == 404
    assert client.post(f"{where}/signals/{dark[3].id}/darker", data=TYPED).status_code == 404


def test_it_advises_to_ask_who_looks_into_it_and_then_that_it_is_known(sign_in, where, bench, dark):
    client = sign_in("trainee")
    assert "Look for what it was before you touch the roast." in text_of(client.page(where))
    say(bench, dark[25], cause="unknown", note="Looking at the burner.")
    text = text_of(client.page(where))
    assert "Ravi has been looking into it since" in text
    assert "Ask them before you touch the roast." in text
    say(bench, dark[25], closed=True, role="lead")
    text = text_of(client.page(where))
    assert "Something changed, and it is known." in text
    assert "Known: another coffee. Closed by Ada" in text
    assert "Nobody has to look for it again." in text
    # It stays a change for as long as it stands.
    assert look(bench).advice.word == "changed"


def test_it_finds_a_note_again_when_the_signal_fires_a_batch_sooner_or_by_another_rule(bench, dark):
    say(bench, dark[26], closed=True)
    standing = look(bench).standing
    assert (standing.point, standing.closed) == (25, True)
    since = look(bench).trend.points[standing.since].batch_id
    assert signal_notes.standing_note(bench.db, bench.product, "whole", dark[25].id, "darker", since).closed
    assert signal_notes.standing_note(bench.db, bench.product, "whole", dark[25].id, "lighter", since) is None
    assert signal_notes.standing_note(bench.db, bench.product, "ground", dark[25].id, "darker", since) is None
    say(bench, dark[25], note="Open again.")
    assert not signal_notes.standing_note(bench.db, bench.product, "whole", dark[25].id, "darker").closed


def test_it_keeps_in_a_list_what_fires_no_more(sign_in, where, bench, dark):
    say(bench, dark[10], rule=4, note="Eight in a row.", closed=True)
    it = look(bench)
    assert [note.batch_id for note in it.earlier] == [dark[10].id]
    page = sign_in("trainee").page(where)
    text = text_of(page)
    assert "Noted earlier" in text
    assert "Eight batches in a row on the dark side of the mean." in text
    address = f"{where}/signals/{dark[10].id}/darker"
    assert address in [a.attrs["href"] for a in page.find("a")]
    assert "nothing fires there any more" in text_of(sign_in("roaster").page(address))


def test_it_looks_at_the_same_batches_as_the_trend_it_came_from(sign_in, where, bench, roast, steady, dark):
    client = sign_in("roaster")
    page = client.page(f"{where}?machine={bench.machine}&newest=500")
    [link] = {a.attrs["href"] for a in page.find("a") if f"/signals/{dark[25].id}" in a.attrs["href"]}
    assert f"machine={bench.machine}" in link
    assert "newest=500" in link
    assert "The frozen limits" not in text_of(client.page(link))


def draw(it, words):
    """The one panel of a wide picture."""
    return drawing.draw(it, "whole", drawing.axis(it.trend.points, "wide"), words).panels[0]


def test_it_draws_what_is_closed_with_a_ring_of_its_own(sign_in, where, bench, dark):
    words = drawing.Words(lambda _p: "", lambda _p: "", lambda day, _year: day, lambda _p: "/a", lambda _p: "/b")
    drawn = draw(look(bench), words)
    assert drawn.closed == ()
    assert "ticked: known" not in text_of(sign_in("trainee").page(where))
    say(bench, dark[25], closed=True)
    drawn = draw(look(bench), words)
    assert (25, 53.5) in drawn.closed
    assert "ticked: known, nothing left to do" in text_of(sign_in("trainee").page(where))


def test_it_keeps_a_note_when_the_rules_are_changed(bench, dark, sign_in, where):
    it = look(bench)
    drift = next((one for one in it.signals if one.rule == 0), None)
    assert drift is not None
    say(bench, dark[drift.point], side="darker", rule=0, note="Slow drift.")
    trend_rules.add_choice(bench.db, str(uuid.uuid4()), Rules((1,), False), "Calm.", bench.who("lead"), bench.now)
    it = look(bench)
    assert {one.rule for one in it.signals} == {1}
    told = {note.note for note in it.earlier} | {one.note.note for one in it.signals if one.note}
    assert told == {"Slow drift."}
