"""The sheet of a day: every batch, what waits and why, checks, what changed, who worked."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest

from tests.sheets.conftest import rows_of, text_of
from tests.support.roastery import later
from webapp.store import grinder_log, times

ZONE = "Europe/Vienna"


@pytest.fixture
def noon(bench):
    """Midday of yesterday at the site: nothing of a test falls on another day."""
    start, _end = times.day_bounds(times.local_day(bench.now - timedelta(days=1), ZONE), ZONE)
    return start + timedelta(hours=12)


@pytest.fixture
def sheet(sign_in, noon):
    def fetched(day=None, role="trainee"):
        return sign_in(role).page(f"/days/{day or times.local_day(noon, ZONE)}/sheet")

    return fetched


def test_it_lists_every_batch_in_order_with_numbers_verdict_and_decision(sheet, bench, made, noon):
    for no, (code, whole) in enumerate((("D-2", 56.2), ("D-1", 52.0), ("D-3", 57.4))):
        batch = bench.batch(code, at=later(noon, minutes=10 * no))
        bench.sample(batch.id, "whole", [whole] * 3, at=later(noon, minutes=10 * no + 5))
        bench.sample(batch.id, "ground", [round(whole + 5, 1)] * 3, at=later(noon, minutes=10 * no + 8))
        if code == "D-1":
            made.decide(batch.id, "hold", "Waits for the lead.", "roaster")
    page = sheet()
    rows = rows_of(page)
    assert [e.text for e in page.find("th", scope="row")] == ["D-2", "D-1", "D-3"]
    assert "56.2 ±" in rows[0].text.replace("\N{NO-BREAK SPACE}", " ")
    assert "Out, darker" in rows[1].text
    assert "On hold, Ravi" in rows[1].text
    assert "Too close to call" in rows[2].text
    text = text_of(page)
    assert "3 batches" in text
    waits = text.split("What waits")[1].split("Every batch")[0]
    assert "D-1, Lantern House: Out, darker." in waits
    assert "“Waits for the lead.”" in waits
    assert "D-3, Lantern House: Too close to call." in waits
    assert "D-2" not in waits


def test_it_places_the_marks_lighter_to_the_right_on_either_scale(sheet, bench, noon):
    batch = bench.batch("M-1", at=noon)
    bench.sample(batch.id, "whole", [57.0] * 3, at=later(noon, minutes=5))
    bench.sample(batch.id, "ground", [60.0] * 3, at=later(noon, minutes=8))
    page = sheet()
    oval = next(e for e in page.find("ellipse") if "table" in e.inside and "mark" in e.attrs["class"])
    square = next(e for e in page.find("rect") if "mark" in e.attrs.get("class", ""))
    # Bands by the fixture: 54.5 to 57.5 around 56.0, 59.5 to 62.5 around 61.0; half a band is 22 units, the middle 60.
    assert float(oval.attrs["cx"]) == pytest.approx(60 + 22 * (57.0 - 56.0) / 1.5, abs=0.06)
    assert float(square.attrs["x"]) + 4 == pytest.approx(60 + 22 * (60.0 - 61.0) / 1.5, abs=0.06)


def test_it_tells_checks_and_what_changed_on_the_bench(sheet, bench, noon):
    bench.check([60.1, 60.0, 60.1], at=noon)
    bench.check([60.5, 60.4, 60.6], [60.0, 60.1, 60.0], at=later(noon, minutes=1))
    bench.check([60.9, 60.9, 60.9], at=later(noon, days=-1))
    moment = later(noon, minutes=30)
    for what, setting in (("burrs", None), ("setting", bench.setting)):
        grinder_log.add_event(
            bench.db, str(uuid.uuid4()), bench.grinder, what, setting, "steel, 60 mm", bench.who(), moment
        )
    text = text_of(sheet())
    # By hand, as above: 0.2 / 3; 1.5 / 3 and 0.1 / 3.
    assert "12:00 Meter A, Plate 1, Ravi passed: +0.07 as found, 0.2 allowed" in text
    assert "12:01 Meter A, Plate 1, Ravi failed, adjusted: +0.50 as found, +0.03 as left, 0.2 allowed" in text
    assert "+0.90" not in text
    assert "12:30 New burrs: Grinder 1 Ravi “steel, 60 mm”" in text
    assert "12:30 Setting moved: Grinder 1: 7 Ravi" in text


def test_it_says_who_worked(sheet, bench, made, noon):
    batch = bench.batch("P-1", at=noon)
    bench.sample(batch.id, "whole", [56.0] * 3, at=later(noon, minutes=5), role="trainee")
    bench.check([60.1, 60.0, 60.1], at=noon, role="lead")
    made.decide(batch.id, "hold", "x", "lead")
    text = text_of(sheet()).split("Who worked")[1]
    assert "Ada: decided or signed: 1, meters checked: 1" in text
    assert "Ravi: started: 1" in text
    assert "Tomas (trainee): samples read: 1" in text


def test_it_tells_what_waits_from_before_and_how_products_stand_of_today_alone(sheet, bench, made, noon):
    old = bench.batch("O-1", at=noon)
    made.waits(old.id, "hold")
    today = times.local_day(bench.now, ZONE)
    text = text_of(sheet(today))
    assert "From earlier days" in text
    assert "O-1, Lantern House: on hold" in text
    assert "Nothing asks for anybody among the products of this day." in text
    yesterday = text_of(sheet())
    assert "From earlier days" not in yesterday
    assert "Trends" not in yesterday


def test_it_counts_what_waits_beyond_what_it_lists(sheet, bench, made, noon):
    for no in range(14):
        made.waits(bench.batch(f"O-{no}", at=later(noon, minutes=no)).id, "outside")
    text = text_of(sheet(times.local_day(bench.now, ZONE)))
    assert "O-11, Lantern House: out of band" in text
    assert "O-12" not in text
    assert "and 2 more" in text


def test_it_says_of_an_empty_day_that_nothing_happened(sheet):
    text = text_of(sheet("2020-02-29"))
    for said in ("No batch of this day waits for anybody.", "No batch on this day", "None on this day.",
                 "Nothing in the logs.", "Nobody yet."):  # fmt: skip
        assert said in text, said


@pytest.mark.parametrize("day", ["nonsense", "2026-02-30", "2026-5-1", "20260514", "0001-01-01", "9999-12-31", "-"])
def test_it_finds_nothing_under_what_is_no_day(sign_in, day):
    assert sign_in("trainee").get(f"/days/{day}/sheet").status_code == 404


def test_it_is_one_tap_from_the_strip(sign_in, bench):
    today = times.local_day(bench.now, ZONE)
    links = {e.attrs.get("href"): e.text for e in sign_in("trainee").page("/").find("a")}
    assert links[f"/days/{today}/sheet"] == "Sheet"


def test_it_shows_every_batch_of_a_full_day(sheet, bench, noon):
    for no in range(60):
        batch = bench.batch(f"F-{no:02}", at=later(noon, minutes=3 * no))
        if no % 7:
            bench.sample(batch.id, "whole", [56.0 + no / 40] * 3, at=later(noon, minutes=3 * no + 1))
    text = text_of(sheet())
    assert [code for no in range(60) if (code := f"F-{no:02}") not in text] == []
