"""A month of a product: the report's figures, its neighbours, and the table of all months."""

import re
import uuid
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from webapp.measure.capability import wilson
from webapp.store import batches, decisions, months, signal_notes
from webapp.store.batches import NewBatch
from webapp.store.signal_notes import NewNote
from webapp.store.times import to_text

ZONE = ZoneInfo("Europe/Vienna")


@pytest.fixture
def last(bench):
    """The first day of the calendar month before the present one, as a moment at the site."""
    this = bench.now.astimezone(ZONE).replace(day=1, hour=9, minute=0, second=0, microsecond=0)
    return (this - timedelta(days=1)).replace(day=1)


@pytest.fixture
def work(bench, last):
    """work(values, ...) measures a batch for each, two hours apart from the month's second day on. Returns them."""

    def made(values, name="M", ground=None, begin=last + timedelta(days=1)):
        found = []
        for no, value in enumerate(values):
            at = begin + timedelta(hours=2 * no)
            batch = bench.batch(f"{name}-{no:02}", at=at)
            bench.sample(batch.id, "whole", [value] * 3, at=at + timedelta(minutes=5))
            if ground is not None:
                bench.sample(batch.id, "ground", [round(value + ground, 1)] * 3, at=at + timedelta(minutes=9))
            found.append(batch)
        return found

    return made


@pytest.fixture
def report(sign_in, bench, last):
    return lambda month=None: sign_in("trainee").page(f"/trends/{bench.product}/month/{month or f'{last:%Y-%m}'}")


def text_of(page):
    return re.sub(r"\s+", " ", page.find("main")[0].text)


def test_it_tells_what_was_roasted_and_what_became_of_it(report, bench, work):
    there = work([56.0, 56.1, 60.0, 55.9], ground=5.0)
    decide = [("release", ""), ("release", ""), ("hold", "off")]
    for no, (what, why) in enumerate(decide):
        decisions.add_decision(bench.db, f"d-{no}", there[no].id, what, why, bench.who("lead"), bench.now)
    decisions.add_decision(bench.db, "d-9", there[2].id, "reject", "off in the cup", bench.who("lead"), bench.now)
    text = text_of(report())
    # Each batch is 12.0 kg green and 10.2 kg roasted: 15 %.
    assert "48.0 kg" in text
    assert "40.8 kg" in text
    assert "15.0 % on average." in text
    assert re.search(r"3 In band", text)
    assert re.search(r"1 Out, lighter", text)
    # The newest decision stands.
    assert all(said in text for said in ("2 released", "1 rejected", "1 nothing decided"))
    assert "held" not in text
    assert "Ravi, 8 samples" in text


def test_it_gives_mean_share_and_capability_of_each_kind(report, work, steady):
    values = [*steady(24), 58.5]
    work(values)
    text = text_of(report())
    low, high = wilson(24, 25)
    assert f"24 of 25 ({low:.0%} to {high:.0%})".replace("%", " %") in text
    assert f"{sum(values) / 25:.2f}" in text
    assert "fewer than twenty batches" not in text


def test_it_gives_no_index_from_too_few(report, work, steady):
    work(steady(19))
    assert "fewer than twenty batches" in text_of(report())


def test_it_lists_a_signal_with_what_was_found_and_done(report, bench, work, steady):
    there = work([*steady(22), 53.0])
    assert "no note" in text_of(report())
    new = NewNote("n-1", bench.product, "whole", there[-1].id, 1, "darker", "machine", "Burner lit late", "Cleaned",
                  True)  # fmt: skip
    signal_notes.add_note(bench.db, new, bench.who("lead"), bench.now)
    text = text_of(report())
    assert "M-22" in text
    assert "One batch on the dark side by more than three sigma. closed the machine: Burner lit late Cleaned" in text


def test_it_marks_a_batch_whose_loss_and_colour_disagree(report, bench, last):
    # Two percent more of loss with each unit darker, as of a roast; one batch has another's mass.
    for no in range(24):
        at, darker = last + timedelta(days=1, hours=2 * no), (no * 7 % 11) / 10
        loss = 14 + darker + (2 if no == 9 else 0) + 0.05 * (no % 3)
        new = NewBatch(
            str(uuid.uuid4()), f"M-{no:02}", bench.product, bench.machine, "Lot 1", 12000,
            round(12000 * (1 - loss / 100)), None, None, None, "", to_text(at), to_text(at),
        )  # fmt: skip
        batch = batches.add_batch(bench.db, new, bench.who(), at)
        bench.sample(batch.id, "whole", [round(56.5 - darker, 1)] * 3, at=at + timedelta(minutes=5))
    text = text_of(report())
    assert "Loss and colour of M-09 disagree" in text
    assert text.count("disagree") == 1


def test_it_counts_what_was_roasted_in_the_month_at_the_site_alone(report, bench, last, work):
    at_last_minute = (last - timedelta(days=1)).replace(hour=23, minute=50)
    bench.batch("BEFORE", at=at_last_minute)
    work([56.0])
    batch = bench.batch("FIRST", at=last.replace(hour=0, minute=10))
    bench.sample(batch.id, "whole", [56.0] * 3, at=last)
    text = text_of(report())
    assert re.search(r"Batches ?2 ?Days", text)
    assert [name for name, _many in months.list_months(bench.db, bench.product)][:2] == [
        f"{last:%Y-%m}", f"{at_last_minute:%Y-%m}",
    ]  # fmt: skip


def test_it_leads_to_the_months_beside_it(report, bench, last, work):
    work([56.0], begin=last - timedelta(days=40), name="OLD")
    work([56.0])
    page = report()
    links = {a.text: a.attrs["href"] for a in page.find("a")}
    assert "Later month" not in links
    assert links["Earlier month"] == f"/trends/{bench.product}/month/{last - timedelta(days=40):%Y-%m}"
    assert "Later month" in {a.text for a in report(links["Earlier month"].rsplit("/", 1)[1]).find("a")}


def test_it_says_who_made_it_when_and_with_which_version(report, app, work):
    work([56.0])
    assert re.search(rf"by Tomas with Drumside \S+ \({app.config['BUILD']}\)", text_of(report()))


def test_it_says_so_when_nothing_was_roasted(report):
    assert "Nothing was roasted" in text_of(report("2020-02"))


@pytest.mark.parametrize("month", ["2026-13", "2026-1", "now", "0000-01", "2026-05-14", "9999-12", "2026-W1"])
def test_it_knows_no_month_that_there_is_not(sign_in, bench, month):
    assert sign_in("trainee").get(f"/trends/{bench.product}/month/{month}").status_code == 404


def test_it_lists_the_months_with_their_indices(sign_in, bench, last, work, steady):
    work(steady(21), begin=last - timedelta(days=45), name="OLD")
    work([56.0, 56.2], ground=5.0)
    page = sign_in("trainee").page(f"/trends/{bench.product}/whole/months")
    lines = [re.sub(r"\s+", " ", row.text) for row in page.find("tr")[1:]]
    assert len(lines) == 2
    assert "fewer than twenty batches" in lines[0]
    assert "21 of 21" in lines[1]
    assert re.search(r"\d\.\d\d \(\d\.\d\d to \d\.\d\d\)", lines[1])
    # Of the difference there is only the newer month.
    assert len(sign_in("trainee").page(f"/trends/{bench.product}/difference/months").find("tr")) == 2


def test_the_trend_leads_to_the_month_and_the_other_pages(sign_in, bench, last, work):
    work([56.0, 56.1])
    links = {a.text: a.attrs["href"] for a in sign_in("roaster").page(f"/trends/{bench.product}/whole").find("a")}
    assert links["Report of the month"] == f"/trends/{bench.product}/month/{last:%Y-%m}"
    assert {"Month by month", "Loss and colour", "Band from history"} <= set(links)
    links = [a.text for a in sign_in("trainee").page(f"/trends/{bench.product}/whole").find("a")]
    assert "Band from history" not in links
