"""The sheet of a month for a customer: one product, its numbers, and each batch by choice of fields; nobody's name."""

from __future__ import annotations

import statistics
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from tests.sheets.conftest import rows_of, text_of
from webapp.measure.capability import wilson
from webapp.store.connect import write

VALUES = [56.0, 56.3, 60.0, 55.8]


@pytest.fixture
def last(bench):
    """The second day of the month before this one, at the site."""
    this = bench.now.astimezone(ZoneInfo("Europe/Vienna")).replace(day=1, hour=9, minute=0, second=0, microsecond=0)
    return (this - timedelta(days=1)).replace(day=2)


@pytest.fixture
def month(bench, made, last):
    """Four batches of last month, with names and notes that no sheet may show."""
    for no, value in enumerate(VALUES):
        at = last + timedelta(hours=2 * no)
        batch = bench.batch(f"M-{no}", at=at)
        bench.sample(batch.id, "whole", [value] * 3, at=at + timedelta(minutes=5))
        bench.sample(batch.id, "ground", [round(value + 5, 1)] * 3, at=at + timedelta(minutes=9))
    made.decide(batch.id, "concession", "wordreason", customer="wordcustomer")
    with write(bench.db):
        for role, person_id in bench.people.items():
            bench.db.conn.execute("UPDATE person SET name = ? WHERE id = ?", (f"word{role}name", person_id))
        bench.db.conn.execute("UPDATE tablet SET name = 'wordtablet'")
    return f"{last:%Y-%m}"


@pytest.fixture
def sheet(sign_in, bench, month):
    return lambda query="", role="roaster": sign_in(role).page(f"/products/{bench.product}/months/{month}/sheet{query}")


def test_it_tells_how_many_batches_read_in_band_and_how_they_spread(sheet):
    page = sheet()
    text = text_of(page)
    assert "4 batches" in text
    row = next(e.text for e in rows_of(page) if e.text.strip().startswith("Whole bean"))
    # The standard library's own mean and standard deviation.
    assert f"{statistics.mean(VALUES):.2f}" in row
    assert f"{statistics.stdev(VALUES):.2f}" in row
    # Three of four lay within 54.5 to 57.5; the interval of the share is Wilson's (tests/outside/test_newcombe.py).
    low, high = wilson(3, 4)
    assert "3 of 4" in row
    assert f"({100 * low:.0f}" in row
    assert f"{100 * high:.0f}" in row


def test_it_lists_each_batch_by_choice_of_fields(sheet):
    rows = [e.text for e in rows_of(sheet()) if "M-2" in e.text]
    assert "60.0 ±" in rows[0].replace("\N{NO-BREAK SPACE}", " ")
    assert "Out, lighter" in rows[0]
    assert "Lot 1" not in rows[0]
    chosen = sheet("?chosen=1&with=lots&with=masses")
    row = next(e.text for e in rows_of(chosen) if "M-2" in e.text)
    # 10.2 of 12.0 kg: 15 % loss.
    for said in ("Lot 1", "10.2 kg", "15.0 %"):
        assert said in row
    assert "60.0" not in row
    assert "Out" not in row
    left_out = "the values of each batch, the verdict on each batch, what became of each batch"
    assert f"This is an excerpt. Left out: {left_out}." in text_of(chosen)


def test_it_has_no_list_where_nothing_is_chosen(sheet):
    assert "M-2" not in text_of(sheet("?chosen=1"))


def test_it_names_nobody_and_shows_no_note(sign_in, bench, month):
    path = f"/products/{bench.product}/months/{month}/sheet?chosen=1&with=values&with=verdicts&with=decisions&with=lots"
    for role in ("roaster", "lead"):
        html = sign_in(role).get(path).get_data(as_text=True)
        assert "M-3" in html
        planted = ("wordreason", "wordcustomer", "wordtablet", "wordleadname", "wordroastername", "wordtraineename")
        assert [word for word in planted if word in html] == []


def test_it_says_of_an_empty_month_that_nothing_was_roasted(sign_in, bench):
    page = sign_in("roaster").page(f"/products/{bench.product}/months/2020-02/sheet")
    assert "No batch of this product stands in this month." in text_of(page)


@pytest.mark.parametrize("month_name", ["2026-13", "2026-1", "nonsense", "0000-01", "9999-12"])
@pytest.mark.parametrize("end", ["sheet", "sheet/choose"])
def test_it_finds_nothing_under_what_is_no_month(sign_in, bench, month_name, end):
    path = f"/products/{bench.product}/months/{month_name}/{end}"
    assert sign_in("roaster").get(path).status_code == 404


def test_it_is_chosen_from_the_months_report_and_keeps_its_choice(sign_in, bench, month):
    base = f"/products/{bench.product}/months/{month}/sheet"
    report = f"/trends/{bench.product}/month/{month}"
    assert f"{base}/choose" in {e.attrs.get("href") for e in sign_in("roaster").page(report).find("a")}
    assert f"{base}/choose" not in {e.attrs.get("href") for e in sign_in("trainee").page(report).find("a")}
    page = sign_in("roaster").page(f"{base}/choose?chosen=1&with=lots")
    assert [e.attrs["value"] for e in page.find("input", name="with") if "checked" in e.attrs] == ["lots"]
    assert sign_in("trainee").get(base).status_code == 403
