"""Sheets on paper: a record is one page of A4 and one of Letter, its code is read from it, and nothing is cut."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pypdfium2
import pytest
import zxingcpp

from tests.browser.test_accessibility import ready
from tests.support.roastery import later
from webapp.store import decisions, products, times
from webapp.store.connect import write

# Points: ISO 216 A4 is 210 by 297 mm; ANSI/ASME Y14.1 A ("Letter") is 8.5 by 11 inches.
PAPERS = {"A4": (595.3, 841.9), "Letter": (612.0, 792.0)}
ZONE = "Europe/Vienna"
LONG = "Eleven Steps Down, Winter Blend for Slow Breakfasts, Nr. 7"


def printed(page, paper: str) -> pypdfium2.PdfDocument:
    """The page that is open, on paper of a size, as the browser's own print makes it."""
    document = pypdfium2.PdfDocument(page.pdf(format=paper))
    for sheet in document:
        assert [sheet.get_width(), sheet.get_height()] == pytest.approx(PAPERS[paper], abs=1)
    return document


def outside(sheet) -> list[str]:
    """The letters that do not lie within a sheet of paper with 8 mm around it (no printer needs more)."""
    text, room = sheet.get_textpage(), 8 / 25.4 * 72
    wide, high = sheet.get_width() - room, sheet.get_height() - room
    found = []
    for no in range(text.count_chars()):
        left, bottom, right, top = text.get_charbox(no)
        if right > left and (left < room or bottom < room or right > wide or top > high):
            found.append(f"{text.get_text_range(no, 1)!r} at {left:.0f} {bottom:.0f}")
    return found


def words(sheet) -> str:
    """What stands on a sheet of paper, in one line."""
    return " ".join(sheet.get_textpage().get_text_range().split())


def test_a_record_is_one_page_of_paper_and_its_code_leads_back(tablet, address, bench):
    bench.check([60.1, 60.0, 60.1], at=later(bench.now, minutes=-30))
    batch = bench.batch("R-1")
    bench.sample(batch.id, "whole", [56.2, 56.3, 56.1], [56.4, 56.2, 56.3])
    bench.sample(batch.id, "ground", [61.0, 61.2, 61.1], at=later(bench.now, minutes=4))
    at = later(bench.now, minutes=5)
    decisions.add_decision(bench.db, str(uuid.uuid4()), batch.id, "release", "", bench.who(), at)
    page = tablet("lead", dark=True)
    page.goto(f"{address}/batches/{batch.id}/record")
    ready(page)
    # The browser's own way to print, and no other.
    page.evaluate("window.print = () => (document.body.dataset.printed = 'yes')")
    page.get_by_role("button", name="Print or save as PDF").click()
    page.locator("body[data-printed=yes]").wait_for(state="attached")
    for paper in PAPERS:
        document = printed(page, paper)
        assert len(document) == 1
        text = words(document[0])
        for said in ("Batch R-1, Lantern House", "In band.", "mean 56.30", "Released", "k = 2", "Meter A", "1 / 1"):
            assert said in text, (paper, said)
        # What is for the screen stays there.
        assert "Copy for a customer" not in text
        assert outside(document[0]) == []
        # As a printer of 200 dots an inch has it: a decoder that knows nothing of this page finds its address.
        picture = document[0].render(scale=200 / 72, grayscale=True).to_numpy()
        (found,) = zxingcpp.read_barcodes(picture)
        assert found.text == f"{address}/batches/{batch.id}/record"
        # Black on white, though the tablet was dark: the paper itself, and nine tenths of it.
        assert picture[3, 3] == 255
        assert (picture > 250).mean() > 0.8
    page.goto(f"{address}/batches/{batch.id}/record/copy")
    assert len(printed(page, "A4")) == 1


def test_a_long_day_and_a_long_record_flow_on_and_nothing_is_cut(tablet, address, bench):
    products.change_product(bench.db, bench.product, LONG, "LONG", True, bench.who("lead"), bench.now)
    with write(bench.db):
        bench.db.conn.execute("UPDATE person SET name = ? WHERE name = 'Ravi'", ("W" * 40,))
    start, _end = times.day_bounds(times.local_day(bench.now - timedelta(days=1), ZONE), ZONE)
    for no in range(60):
        batch = bench.batch(f"LONG-CODE-{no:02}", at=start + timedelta(minutes=20 * no))
        at = start + timedelta(minutes=20 * no + 9)
        bench.sample(batch.id, "whole", [54.0 + no / 15] * 3, at=at)
        if no % 3:
            bench.sample(batch.id, "ground", [59.0 + no / 15] * 3, at=later(at, minutes=3))
            decisions.add_decision(bench.db, str(uuid.uuid4()), batch.id, "hold", "M" * 300, bench.who(), at)
    readings = [56 + one / 10 for one in range(10)]
    for again in range(3):
        bench.sample(batch.id, "whole", *[readings] * 4, at=later(at, hours=again))
    page = tablet("lead")
    day = times.local_day(start, ZONE)
    month = f"/products/{bench.product}/months/{day[:7]}/sheet"
    for path, most in ((f"/days/{day}/sheet", 12), (f"/batches/{batch.id}/record", 3), (month, 3)):
        page.goto(address + path)
        ready(page)
        for paper in PAPERS:
            document = printed(page, paper)
            assert 2 <= len(document) <= most, path
            for no, sheet in enumerate(document, 1):
                assert outside(sheet) == [], (path, paper, no)
                # The head and the number of each page.
                assert f"{no} / {len(document)}" in words(sheet)
                assert ("LONG-CODE-59" if "batches" in path else "Test roastery") in words(sheet)
