"""The pages: what they say at each size, and what they do with a wrong address."""

import uuid
from datetime import timedelta

import pytest

from webapp.store import products
from webapp.store.products import TargetBand


@pytest.fixture
def reader(sign_in):
    return sign_in("trainee")


def text_of(page):
    return page.find("main")[0].text


def test_it_lists_the_products_that_were_measured(reader, bench, roast):
    assert "No batch was read yet" in text_of(reader.page("/trends"))
    roast([56.0, 56.1], ground=5.0)
    page = reader.page("/trends")
    links = [a.attrs["href"] for a in page.find("a") if a.attrs.get("href", "").startswith("/trends/")]
    assert links == [f"/trends/{bench.product}/{kind}" for kind in ("whole", "ground", "difference")]


def test_it_says_so_when_nothing_was_read(reader, bench):
    assert "Nothing read yet" in text_of(reader.page(f"/trends/{bench.product}/whole"))


def test_it_shows_three_batches_without_judging_them(reader, bench, roast):
    roast([56.0, 56.2, 55.8])
    text = text_of(reader.page(f"/trends/{bench.product}/whole"))
    assert "Too early to say." in text
    assert "17 more batches are needed." in text
    assert "R-0-002" in text
    assert "Can the band be held?" not in text


def test_it_advises_to_leave_steady_roasts_alone(reader, bench, roast, steady):
    roast(steady(30))
    page = reader.page(f"/trends/{bench.product}/whole")
    text = text_of(page)
    assert "Leave the roast alone." in text
    assert "30 of 30 (89 % or more)" in text
    rows = page.find("tr")
    assert len(rows) == 31
    links = [a.attrs["href"] for a in page.find("a") if a.attrs.get("href", "").startswith("/batches/")]
    # Each batch from its mark in both pictures, and from the table.
    assert len(links) == 3 * 30


@pytest.mark.parametrize(
    ("half", "title", "doubt"),
    [(10, "This process cannot hold this band.", False), (65, "Leave the roast alone.", True)],
    ids=["a Cp surely below 1", "a Cp about 1"],
)
def test_it_blames_the_band_only_when_the_batches_show_it(reader, bench, roast, steady, half, title, doubt):
    products.add_target_version(
        bench.db, bench.product, bench.scale, "guarded", 0.8, None, None,
        [TargetBand("whole", 5600 - half, 5600, 5600 + half)], "Strict", bench.who("lead"),
        bench.now - timedelta(days=3),
    )  # fmt: skip
    roast(steady(25))
    text = text_of(reader.page(f"/trends/{bench.product}/whole"))
    assert title in text
    assert ("may be too narrow for this process: more batches will tell" in text) is doubt


def test_it_says_what_changed_in_a_sentence(reader, bench, roast, steady):
    roast([*steady(25), 53.0])
    text = text_of(reader.page(f"/trends/{bench.product}/whole"))
    assert "Something changed." in text
    assert "One batch on the dark side by more than three sigma." in text
    assert "once in 92 batches" in text
    assert "once in 88" in text


def test_it_thins_what_the_eye_cannot_part_and_says_so(reader, bench, roast, steady):
    # The picture for a phone takes eighty.
    roast(steady(90))
    page = reader.page(f"/trends/{bench.product}/whole")
    assert "each mark is the mean of a day" in text_of(page)
    assert len(page.find("tr")) == 91


def test_it_narrows_and_goes_back(reader, bench, roast):
    roast([56.0, 56.2])
    roast([57.0], ago=9, role="trainee")
    where = f"/trends/{bench.product}/whole"
    text = text_of(reader.page(f"{where}?person={bench.people['trainee']}"))
    assert "R-9-000" in text
    assert "R-0-001" not in text
    text = text_of(reader.page(f"{where}?lot=Nowhere"))
    assert "No batch is like that" in text
    assert "Show all batches" in text


@pytest.mark.parametrize("typed", ["since=yesterday", "until=2026-02-30", "since=2026-02-02&until=2026-01-01"])
def test_it_says_what_is_wrong_with_a_day(reader, bench, roast, typed):
    roast([56.0, 56.2])
    page = reader.page(f"/trends/{bench.product}/whole?{typed}", status=400)
    assert "Please look at this again" in text_of(page)
    # All batches are there meanwhile, and what was typed stays.
    assert "R-0-001" in text_of(page)
    value = typed.split("&")[-1].split("=")[1]
    assert value in [e.attrs.get("value") for e in page.find("input")]


def test_it_leads_from_a_product_to_its_first_kind(reader, bench, roast):
    roast([56.0, 56.2])
    links = [a.attrs.get("href") for a in reader.page(f"/products/{bench.product}").find("a")]
    assert f"/trends/{bench.product}" in links
    assert reader.get(f"/trends/{bench.product}").location.endswith(f"/trends/{bench.product}/whole")


def test_it_knows_no_product_that_there_is_not(reader, bench):
    assert reader.get(f"/trends/{uuid.uuid4()}/whole").status_code == 404
    assert reader.get(f"/trends/{bench.product}/other").status_code == 404


def test_it_goes_on_without_a_picture(reader, bench, roast, steady, monkeypatch):
    import vl_convert

    def broken(*_args, **_how):
        raise ValueError("conversion failed")

    monkeypatch.setattr(vl_convert, "vega_to_svg", broken)
    roast(steady(25, seed=5))
    page = reader.page(f"/trends/{bench.product}/whole")
    assert "The picture could not be drawn." in text_of(page)
    assert len(page.find("tr")) == 26
    assert "Leave the roast alone." in text_of(page)
