"""What stands beside a trend in the browser: sound by day and night, and a month on one sheet of paper."""

import random
import re
import uuid
from datetime import timedelta

import pytest

from tests.browser.test_accessibility import looked_at, ready
from webapp.store import batches, decisions, products, signal_notes
from webapp.store.batches import NewBatch
from webapp.store.signal_notes import NewNote
from webapp.store.times import to_text

pytestmark = pytest.mark.browser
LONG = "Eleven Steps Down, Winter Blend for Slow Breakfasts, Nr. 7"


@pytest.fixture
def month(bench) -> str:
    """A full month: 90 batches of both kinds under the longest name, signals with long notes, targets that change, a
    mix-up, and every decision there is."""
    products.change_product(bench.db, bench.product, LONG, "LONG", True, bench.who("lead"), bench.now)
    draw, first = random.Random(8), (bench.now.replace(day=1) - timedelta(days=1)).replace(day=2, hour=7)
    for no in range(90):
        at = first + timedelta(hours=7 * no)
        whole = 56 + draw.gauss(0, 0.5) + (4 * (-1) ** no if no % 15 == 14 else 0)
        loss = 15 - 0.5 * (whole - 56) + (3 if no == 40 else 0) + draw.gauss(0, 0.05)
        new = NewBatch(
            str(uuid.uuid4()), f"L-{no:02}", bench.product, bench.machine, f"Lot {no // 12} of the long harvest", 12000,
            round(12000 * (1 - loss / 100)), 2050, 690, 105, "", to_text(at), to_text(at),
        )  # fmt: skip
        batch = batches.add_batch(bench.db, new, bench.who(), at)
        role = ("roaster", "lead", "trainee")[no % 3]
        for kind, value in (("whole", whole), ("ground", whole + 5 + draw.gauss(0, 0.3))):
            bench.sample(batch.id, kind, [round(value, 1)] * 3, at=at + timedelta(minutes=9), role=role)
        what = ("release", "hold", "reject", "concession")[no % 4]
        decisions.add_decision(bench.db, f"d-{no}", batch.id, what, "as said", bench.who("lead"), at)
        for kind in ("whole", "ground") if no % 15 == 14 else ():
            side = "lighter" if whole > 56 else "darker"
            said = "A note as long as notes get when somebody explains the burner, the charge and the weather. " * 3
            note = NewNote(str(uuid.uuid4()), bench.product, kind, batch.id, 1, side, "surroundings", said, said, True)
            signal_notes.add_note(bench.db, note, bench.who("lead"), bench.now)
        if no % 10 == 9:
            target = products.target_in_force(bench.db, bench.product)
            products.add_target_version(
                bench.db, bench.product, bench.scale, "guarded", 0.8, target.whole_method_id, target.ground_method_id,
                target.bands.values(), "again", bench.who("lead"), at,
            )  # fmt: skip
    return f"{first:%Y-%m}"


def test_they_are_sound_by_day_and_night_and_a_month_is_one_sheet_of_paper(tablet, address, bench, month):
    page = tablet("lead", size="phone")
    for path in ("whole/band", "ground/months", "witness", f"month/{month}"):
        page.goto(f"{address}/trends/{bench.product}/{path}")
        ready(page)
        assert not looked_at(page, path)
    paper = page.pdf(prefer_css_page_size=True)
    # Each page is an object of its own; "/Pages" is their list.
    assert len(re.findall(rb"/Type ?/Page\b", paper)) == 1
    # A4 upright: 210 by 297 mm in points.
    assert b"/MediaBox [0 0 594.95996 841.91998]" in paper or b"/MediaBox [0 0 595 842]" in paper
    page.emulate_media(media="print")
    assert page.locator("nav").first.is_hidden()
    text = page.locator("main").inner_text()
    assert "Loss and colour of L-40 disagree" in text
    assert "Made on" in text
