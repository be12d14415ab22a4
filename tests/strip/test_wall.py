"""The screen on the wall: today, large, for nobody in particular."""

from tests.strip.days import at, batch, decide, measured
from webapp.store import times


def heading(page):
    return " ".join(page.find("h1")[0].text.split())


def test_it_needs_a_tablet_but_nobody_signed_in(app, client, bench):
    assert client.get("/wall").status_code == 200
    assert app.test_client().get("/wall").status_code == 403


def test_it_neither_locks_nor_names_whoever_is_signed_in(sign_in):
    html = sign_in("roaster").get("/wall").get_data(as_text=True)
    assert "idle-lock" not in html
    assert "Ravi" not in html


def test_it_shows_today_and_what_waits(client, bench, monkeypatch):
    monkeypatch.setattr(times, "now", lambda: at("15:00"))
    measured(bench, "07:00", whole=0, ground=0)
    out = measured(bench, "08:00", whole=5, ground=5)
    decide(bench, out, "hold")
    page = client.page("/wall")
    assert heading(page) == "2 batches · 1 in band · 1 out, lighter"
    card = next(d.text for d in page.find("div", class_="wait"))
    assert "Ground is 6.0 outside the light limit" in card
    assert "Held by Ada" in card


def test_it_shows_the_newest_large_and_the_whole_day_small(client, bench, monkeypatch):
    monkeypatch.setattr(times, "now", lambda: at("23:00"))
    made = [batch(bench, f"{6 + n // 4:02d}:{n % 4 * 15:02d}") for n in range(30)]
    page = client.page("/wall")
    assert len(page.find("li", class_="cell")) == 18
    assert page.find("svg", class_="overview")
    said = [s.text for s in page.find("span", class_="hidden-text")]
    assert made[-1].code in said[-1]
    assert "30 batches" in heading(page)


def test_it_leads_nowhere_but_back(client, bench):
    measured(bench, "07:00", day=times.local_day(times.now(), "Europe/Vienna"), whole=5, ground=5)
    links = [a.attrs["href"] for a in client.page("/wall").find("a")]
    assert links == ["#main", "/"]


def test_it_says_what_an_empty_day_will_show(client, bench):
    assert heading(client.page("/wall")) == "No batch yet today"
