"""Whole bean, ground and difference below each other: a batch at the same place in all, judged as on its own page."""

import re
import uuid
import xml.etree.ElementTree as ET
from datetime import timedelta

import pytest

from webapp.store import gear, grinder_log, happenings, methods, trends
from webapp.store.trends import ALL, Wanted
from webapp.trends import chart, run


@pytest.fixture
def reader(sign_in):
    return sign_in("trainee")


def where(bench):
    return f"/trends/{bench.product}/all"


def text_of(page):
    return page.find("main")[0].text


def panels(page):
    """href -> x of its mark, for each panel of the wide picture."""
    svg = re.search(r"<svg[^>]*class=\"wide\".*?</svg>", page, re.S).group(0)
    found = []
    for group in ET.fromstring(svg).iter(f"{{{chart.SVG}}}g"):
        links = [one for one in group if one.tag == f"{{{chart.SVG}}}a"]
        if links:
            found.append({one.attrib["href"]: mark_x(one[0]) for one in links})
    return found


def mark_x(mark):
    return round(float(re.match(r"translate\(([-0-9.]+),", mark.attrib["transform"]).group(1)), 1)


def test_it_puts_a_batch_at_the_same_place_in_all_of_them(reader, bench, roast):
    roast([56.0, 56.2, 55.8], ago=5)
    roast([56.1, 56.3], ground=5.0)
    whole, ground, difference = panels(reader.get(where(bench)).data.decode())
    assert (len(whole), len(ground), len(difference)) == (5, 2, 2)
    assert {href: whole[href] for href in ground} == ground == difference
    assert sorted(whole.values()) == list(whole.values())
    # What was not read of the earlier ones leaves its place empty.
    assert min(ground.values()) > sorted(whole.values())[2]


def test_it_says_of_each_what_its_own_page_says(reader, bench, roast, steady, db):
    roast([*steady(24), 53.0], ground=5.0)
    text = text_of(reader.page(where(bench)))
    for kind in ("whole", "ground", "difference"):
        said = {"changed": "Something changed.", "leave": "Leave the roast alone."}
        word = run.look_at(db, bench.product, kind, ALL, 100).advice.word
        assert said.get(word, "Steady") in text
    rows = reader.page(where(bench)).find("tr")
    assert len(rows) == 26
    assert "53.0" in rows[1].text
    assert "58.0" in rows[1].text
    assert "5.0" in rows[1].text


def test_it_tells_what_happened_once(reader, bench, roast, db):
    roast([56.0, 56.2, 55.8], ground=5.0)
    at = bench.now - timedelta(hours=1.5)
    grinder_log.add_event(db, str(uuid.uuid4()), bench.grinder, "burrs", None, "", bench.who("lead"), at)
    text = text_of(reader.page(where(bench)))
    assert text.count("New burrs") == 1


def test_it_narrows_and_goes_on_without_anything(reader, bench, roast):
    assert "Nothing read yet" in text_of(reader.page(where(bench)))
    roast([56.0, 56.2], ground=5.0)
    assert "No batch is like that" in text_of(reader.page(f"{where(bench)}?lot=Nowhere"))
    assert "R-0-001" in text_of(reader.page(f"{where(bench)}?lot=Lot+1&newest=30"))
    wrong = reader.page(f"{where(bench)}?since=yesterday", status=400)
    assert "Write a day as year, month, day" in text_of(wrong)


def test_a_version_narrows_only_what_is_read_by_its_method(reader, bench, roast):
    roast([56.0, 56.2], ground=5.0)
    whole = bench.versions["whole"].id
    rows = reader.page(f"{where(bench)}?version={whole}").find("tr")
    assert "61.0" in rows[-1].text
    assert "56.0" in rows[-1].text


def test_each_page_leads_to_it_where_there_is_more_than_one_kind(reader, bench, roast):
    roast([56.0, 56.2], ago=9)
    own = f"/trends/{bench.product}/whole"
    assert where(bench) not in [a.attrs.get("href") for a in reader.page(own).find("a")]
    roast([56.0, 56.2], ground=5.0)
    assert where(bench) in [a.attrs.get("href") for a in reader.page(own).find("a")]
    back = [a.attrs.get("href") for a in reader.page(where(bench)).find("a")]
    assert own in back


@pytest.fixture
def versions(bench, db, roast):
    """Two batches by the first version of the method, two by the second, one more by the first. (first, second)."""
    first = bench.versions["whole"]
    roast([56.0, 56.2], ago=10)
    since = bench.now - timedelta(hours=9)
    made = methods.add_version(
        db, first.method_id, "Another dish", 3, 1, None, first.steps, "A new dish", bench.who("lead"), since
    )
    second = methods.get_version(db, made)
    bench.versions = bench.versions | {"whole": second}
    roast([58.0], ago=6)
    bench.versions = bench.versions | {"whole": first}
    roast([56.1], ago=4)
    bench.versions = bench.versions | {"whole": second}
    roast([58.2])
    return first.id, second.id


def test_it_says_what_was_read_by_another_version(reader, bench, db, versions):
    first, second = versions
    found = trends.get_trend(db, bench.product, "whole", beside=True)
    assert [round(point.value, 1) for point in found.points] == [58.0, 58.2]
    assert [(one.where, one.method_version_id, one.batches) for one in found.beside] == [
        ("before", first, 0), ("between", first, 1)
    ]  # fmt: skip
    assert trends.get_trend(db, bench.product, "whole").beside == ()
    text = text_of(reader.page(f"/trends/{bench.product}/whole"))
    assert "that cannot be compared, and is left out" in text
    assert "1 batch in between was read by" in text
    assert "Before this read otherwise" in text
    older = trends.get_trend(db, bench.product, "whole", Wanted(method_version_id=first), beside=True)
    assert [(one.where, one.method_version_id) for one in older.beside] == [("between", second), ("after", second)]
    happened = [(one.what, one.name.rpartition(" ")[2]) for one in happenings.list_happenings(db, bench.product, older)]
    assert ("version", "2") in happened


def test_it_does_not_say_it_where_there_is_more_of_the_same(bench, db, roast):
    roast([56.0, 56.2, 56.1])
    assert trends.get_trend(db, bench.product, "whole", most=2, beside=True).beside == ()


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("replaced", "New reference plate: Meter A: Plate 9"),
        ("reassigned", "Reference plate given another value: Meter A: Plate 9"),
        ("damaged", "Reference plate damaged: Meter A: Plate 9"),
    ],
)
def test_it_tells_what_became_of_the_reference_plate(reader, bench, db, roast, what, said):
    roast([56.0, 56.2, 55.8])
    at = bench.now - timedelta(hours=1.5)
    gear.add_plate(db, bench.meter, "Plate 9", 6100, 30, "As it goes", bench.who("lead"), at, what=what)
    assert said in text_of(reader.page(f"/trends/{bench.product}/whole"))
