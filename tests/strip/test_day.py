"""The day strip's page: counts in words, a link per batch, what waits and why, the same as a table."""

import re

import pytest

from tests.strip.days import DAY, at, batch, decide, measured, product, read
from webapp.store import batches, times

MOMENT = at("15:00")


@pytest.fixture
def today(monkeypatch):
    """The whole app's present moment: the afternoon of DAY."""
    monkeypatch.setattr(times, "now", lambda: MOMENT)
    return MOMENT


def heading(page):
    return " ".join(page.find("h1")[0].text.split())


def words(text):
    return " ".join(text.split())


def test_it_counts_in_words(bench, sign_in):
    for clock, positions in [
        ("07:00", {"whole": 0, "ground": 0}),
        ("07:30", {"whole": 0.1, "ground": 0.1}),
        ("08:00", {"whole": 1, "ground": 1}),
        ("08:30", {"whole": -4, "ground": -4}),
        ("09:00", {"whole": 4, "ground": 4}),
        ("09:30", {"whole": 0}),
    ]:
        measured(bench, clock, **positions)
    read(bench, batch(bench, "10:00", product=product(bench, "Trial", "TR")), whole=0)
    assert heading(sign_in("trainee").page(f"/days/{DAY}")) == (
        "7 batches · 2 in band · 1 too close to call · 1 out, darker · 1 out, lighter · 1 not finished"
        " · 1 without a target"
    )


def test_it_says_one_batch_in_the_singular(bench, sign_in):
    measured(bench, "07:00", whole=0, ground=0)
    assert heading(sign_in("trainee").page(f"/days/{DAY}")) == "1 batch · 1 in band"


def test_it_links_every_batch_and_says_in_words_what_the_picture_shows(bench, sign_in):
    one = measured(bench, "07:42", code="0514-01", whole=0.2, ground=-4)
    half = measured(bench, "08:00", code="0514-02", whole=0)
    unread = batch(bench, "09:00", code="0514-03")
    page = sign_in("trainee").page(f"/days/{DAY}")
    for made in (one, half, unread):
        links = page.find("a", href=f"/batches/{made.id}/result")
        assert len([a for a in links if "aria-label" in a.attrs]) == 2  # across and upright
    label = page.find("a", id=f"b{one.id}")[0].attrs["aria-label"]
    assert label.startswith("07:42 Lantern House, 0514-01: Out, darker. Whole bean 56.3, give or take ")
    assert "Ground 55.0, give or take " in label
    assert "ground not read yet" in page.find("a", id=f"b{half.id}")[0].attrs["aria-label"]
    assert "nothing read yet" in page.find("a", id=f"b{unread.id}")[0].attrs["aria-label"]


def test_it_tells_what_waits_for_a_decision_and_why(bench, sign_in):
    measured(bench, "07:00", whole=0, ground=0)
    close = measured(bench, "08:00", code="close", whole=0.93, ground=0.9)
    out = measured(bench, "09:00", code="out", whole=0, ground=-4)
    held = measured(bench, "10:00", code="held", whole=0, ground=0)
    done = measured(bench, "11:00", code="done", whole=6, ground=6)
    decide(bench, held, "hold")
    decide(bench, done, "reject")
    page = sign_in("roaster").page(f"/days/{DAY}")
    cards = page.find("a", class_="wait")
    assert [a.attrs["href"].split("/")[2] for a in cards] == [out.id, close.id, held.id]
    said = [words(a.text) for a in cards]
    assert re.fullmatch(
        r"09:00 Lantern House: Out, darker ?Ground is 4\.5 outside the dark limit, give or take \d\.\d\..*", said[0]
    )
    assert "Whole bean is 0.1 inside the light limit, give or take" in said[1]
    assert re.search(r"(fills? would settle it|fills would not settle it)\.", said[1])
    assert said[2].endswith("Held by Ada, waiting for a decision.")
    assert any(h.text == "3 batches wait for a decision" for h in page.find("h2"))


def test_it_lists_below_what_waits_beyond_four(bench, sign_in):
    for hour in range(7, 14):
        measured(bench, f"{hour:02d}:00", whole=5, ground=5)
    page = sign_in("roaster").page(f"/days/{DAY}")
    assert len(page.find("a", class_="wait")) == 4
    assert any(s.text == "and 3 more" for s in page.find("summary"))
    assert len([a for a in page.find("a") if "ul" in a.inside and "details" in a.inside]) == 3


def test_it_says_nothing_of_decisions_when_nothing_waits(bench, sign_in):
    measured(bench, "07:00", whole=0, ground=0)
    page = sign_in("roaster").page(f"/days/{DAY}")
    assert not page.find("a", class_="wait")
    assert "wait for a decision" not in "".join(h.text for h in page.find("h2"))


def test_its_table_has_the_same_facts(bench, sign_in):
    made = batch(bench, "07:42", code="0514-01")
    read(bench, made, "trainee", whole=0.2)
    read(bench, made, "roaster", whole=0.2, ground=0)
    decide(bench, made, "release")
    batch(bench, "08:00", code="0514-02")
    page = sign_in("roaster").page(f"/days/{DAY}")
    assert len(page.find("caption")) == 1
    rows = [[words(c.text) for c in page.elements if c.tag in ("td", "th") and "tbody" in c.inside]]
    first, second = rows[0][:10], rows[0][10:]
    assert first[:4] == ["07:42", "0514-01", "Lantern House", "Machine 1"]
    assert re.fullmatch(r"56\.3 ± \d\.\d", first[4])
    assert re.fullmatch(r"61\.0 ± \d\.\d", first[5])
    assert re.fullmatch(r"4\.7 ± \d\.\d", first[6])
    assert first[7:9] == ["In band", "Released, Ada"]
    assert first[9] == "Tomas (trainee), Ravi; Whole bean read twice"
    assert second[4:] == ["not read yet", "not read yet", "", "Not finished", "", ""]


def test_it_shows_products_on_scales_of_opposite_direction_side_by_side(bench, sign_in):
    from webapp.store.products import TargetBand, add_product
    from webapp.store.who import SYSTEM

    other = add_product(
        bench.db, "Other way", "OW", bench.flipped, "guarded", 0.8, bench.methods["whole"], None,
        [TargetBand("whole", 4000, 4200, 4400)], SYSTEM, at("06:00", "2026-02-01"),
    )  # fmt: skip
    lighter = measured(bench, "07:00", whole=0.8, ground=0)
    flipped = batch(bench, "08:00", product=other)
    bench.sample(flipped.id, "whole", [40.4, 40.4, 40.4], meter=bench.flipped_meter)
    html = sign_in("roaster").get(f"/days/{DAY}").get_data(as_text=True)
    heights = {}
    for made in (lighter, flipped):
        cell = html[html.index(f'id="b{made.id}"') :]
        heights[made.id] = re.search(r'<ellipse class="mark \w+" cx="13.5" cy="([\d.]+)"', cell).group(1)
    assert heights[lighter.id] == heights[flipped.id]


def test_it_clamps_a_batch_far_out_and_prints_its_number(bench, sign_in):
    made = measured(bench, "07:00", whole=20, ground=0)
    html = sign_in("roaster").get(f"/days/{DAY}").get_data(as_text=True)
    cell = html[html.index(f'id="b{made.id}"') :].split("</li>")[0]
    assert 'class="far"' in cell
    assert re.search(r'class="number whole"[^>]*>86\.0<', cell)


def test_it_escapes_what_people_typed(bench, sign_in):
    made = batch(bench, "07:00", product=product(bench, "<b>Bold</b> & Co", "<&>", whole=True), code='"><i>')
    read(bench, made, whole=0)
    html = sign_in("roaster").get(f"/days/{DAY}").get_data(as_text=True)
    assert "<b>Bold" not in html
    assert "&lt;b&gt;Bold&lt;/b&gt; &amp; Co" in html
    assert "<i>" not in html


def test_it_says_what_an_empty_day_will_show(bench, sign_in, today):
    client = sign_in("trainee")
    assert heading(client.page("/")) == "No batch yet today"
    assert "Every batch appears here once it is started" in client.get("/").get_data(as_text=True)
    assert heading(client.page("/days/2026-05-01")) == "No batch on this day"
    assert heading(client.page("/days/2026-06-01")) == "This day has not come yet"
    assert client.page("/").find("a", href="/batches/new")


def test_it_leads_to_the_days_before_and_after_that_have_batches(bench, sign_in, today):
    for day in ("2026-05-04", "2026-05-11"):
        batch(bench, "10:00", day=day)
    client = sign_in("trainee")
    assert client.page("/").find("a", href="/days/2026-05-11")[0].text == "‹ Mon 11 May"
    middle = client.page("/days/2026-05-11")
    assert middle.find("a", href="/days/2026-05-04")
    assert any(a.text == "Today ›" for a in middle.find("a", href="/"))
    assert client.page("/days/2026-05-04").find("a", href="/days/2026-05-11")


def test_it_rolls_over_at_the_sites_midnight(bench, sign_in, monkeypatch):
    batch(bench, "10:00")
    client = sign_in("trainee")
    monkeypatch.setattr(times, "now", lambda: at("23:59"))
    assert "14 May" in client.get("/").get_data(as_text=True)
    assert heading(client.page("/")) == "1 batch · 1 not finished"
    monkeypatch.setattr(times, "now", lambda: at("00:00", "2026-05-15"))
    assert "15 May" in client.get("/").get_data(as_text=True)


@pytest.mark.parametrize("day", ["2026-02-30", "yesterday", "20260514", "2026-W20-4", "0000-01-01"])
def test_it_knows_no_such_day(sign_in, day):
    assert sign_in("trainee").get(f"/days/{day}").status_code == 404


def test_it_holds_eighty_batches(bench, sign_in):
    for n in range(80):
        clock = f"{6 + n // 6:02d}:{n % 6 * 10:02d}"
        made = batch(bench, clock)
        if n % 10 == 0:
            read(bench, made, whole=0.3, ground=-0.2)
    page = sign_in("roaster").page(f"/days/{DAY}")
    assert heading(page).startswith("80 batches · 8 in band")
    assert len(page.find("li", class_="cell")) == 80
    assert page.find("svg", class_="overview")
    assert page.find("div", role="region", class_="across")[0].attrs["tabindex"] == "0"


def test_it_prints_numbers_with_the_languages_decimal_mark(app, bench, sign_in, monkeypatch):
    from webapp.ui import strip_words

    measured(bench, "07:00", whole=20, ground=0.9)
    strip_words.words_in.cache_clear()
    monkeypatch.setattr(strip_words, "decimal_mark", lambda: ",")
    try:
        html = sign_in("roaster").get(f"/days/{DAY}").get_data(as_text=True)
    finally:
        strip_words.words_in.cache_clear()
    assert ">86,0<" in html
    assert not re.search(r"\d\.\d(?![\d\w]*[\"' MLhlvz])", re.sub(r"<[^>]*>", " ", html))


def test_it_reads_the_decimal_mark_from_the_language(app):
    from flask_babel import force_locale

    from webapp.ui.strip_words import decimal_mark

    with app.test_request_context():
        found = {}
        for language in ("en", "de"):
            with force_locale(language):
                found[language] = decimal_mark()
    assert found == {"en": ".", "de": ","}


def test_a_batch_of_the_day_is_found_by_the_codes_link(bench, sign_in):
    made = measured(bench, "07:42", code="0514-01", whole=0, ground=0)
    client = sign_in("roaster")
    link = next(a for a in client.page(f"/days/{DAY}").find("a") if a.text == "0514-01")
    assert batches.find_by_code(bench.db, "0514-01")
    assert client.get(link.attrs["href"]).status_code == 200
    assert made.id in link.attrs["href"]
