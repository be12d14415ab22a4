"""The picture of a run: parted by day where there are too many, with its links, and nothing a page may not hold."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date, timedelta

import pytest

from webapp.store.trends import ALL
from webapp.trends import chart, drawing, run
from webapp.trends.drawing import Drawing, Mark, Words, groups

WORDS = Words(
    lambda point: f"{point.code}: {point.value}", lambda points: f"{len(points)} & more", lambda day: day[5:],
    lambda point: f"/batches/{point.batch_id}", lambda point: f"/days/{point.day}",
)  # fmt: skip
SIDES = ("lighter", "darker")


@pytest.fixture
def drawn(db, bench, roast, steady):
    """The wide picture of 25 steady batches and one far on the dark side."""
    roast([*steady(25), 53.0])
    return drawing.draw(run.look_at(db, bench.product, "whole", ALL, 100), "whole", "wide", WORDS)


@pytest.fixture(scope="module")
def many():
    """A picture of 240 days, made up."""
    marks = tuple(
        Mark(no, 56.0 + no % 5 / 10, 55.0, 57.0, 0.3, 56.1, "", "", no % 7 > 0, f"day {no}", f"/days/{no}")
        for no in range(240)
    )
    return Drawing(
        "wide", "ground", "day", marks, ((-0.5, 99.5, 54.5, 57.5, True, True), (99.5, 239.5, 54.5, 58.0, True, False)),
        (56.0, 55.0, 57.0, 1.2), ((30, 57.2, "3"), (30, 57.2, "~")), ((10.5, "ab"), (50.5, "c")),
        ((0, "1 Jan"), (239, "28 Aug")), (54.0, 58.0), True, 0.1,
    )  # fmt: skip


def days(many, each_day=3):
    return [(date(2026, 1, 1) + timedelta(days=no // each_day)).isoformat() for no in range(many)]


def test_it_shows_each_batch_while_they_can_be_told_apart():
    assert groups(days(3), 240) == ("batch", [[0], [1], [2]])
    assert groups(days(240), 240)[0] == "batch"


@pytest.mark.parametrize(("many_days", "each"), [(100, "day"), (400, "week"), (2500, "month")])
def test_it_parts_by_the_finest_that_can_be_told_apart(many_days, each):
    found, parted = groups(days(many_days * 3), 240)
    assert (found, len(parted) <= 240) == (each, True)
    assert [no for group in parted for no in group] == list(range(many_days * 3))


def test_it_draws_five_thousand_as_days_or_more(db, bench, roast, steady):
    found, parted = groups(days(5000, each_day=9), 240)
    assert found == "week"
    assert len(parted) < 240


def test_it_places_signals_bands_and_limits(drawn):
    assert (drawn.each, len(drawn.marks), drawn.lighter_up) == ("batch", 26, True)
    assert drawn.rails == ((-0.5, 25.5, 54.5, 57.5, True, True),)
    assert [(x, text) for x, _value, text in drawn.signals if text == "1"] == [(25, "1")]
    centre, lower, upper, _range = drawn.limits
    assert lower < centre < upper
    assert drawn.ends[0] < 53.0
    assert (drawn.marks[25].state, drawn.marks[25].side) == ("outside", "darker")
    assert drawn.marks[0].moving is None


def test_it_draws_the_limits_of_the_running_mean_as_they_widen(drawn):
    # Lucas and Saccucci 1990: exact limits, 2.962 sigma sqrt(0.2/1.8 (1 - 0.8^2i)), here at 1 and at 26 values.
    centre, lower, upper, _range = drawn.limits
    sigma = (upper - lower) / 6
    for place, share in ((0, 0.2), (25, 1 / 3)):
        low, high = drawn.marks[place].average_ends
        assert high - low == pytest.approx(2 * 2.962 * sigma * share, rel=1e-4)
        assert (low + high) / 2 == pytest.approx(centre)


def test_it_draws_limits_only_over_what_they_judge(drawn, many):
    from_ten = replace(drawn, judged=9.5)
    rows = chart.specification(from_ten, SIDES)["datasets"].values()
    spans = [row for data in rows for row in data if row.get("x2") == 25.5 and "y2" not in row and row["y"] != 54.5]
    assert {row["x"] for row in spans if row["y"] != 57.5} == {9.5}
    # With the running mean off there is none, and nothing breaks.
    off = replace(drawn, marks=tuple(replace(one, average=None, average_ends=None) for one in drawn.marks))
    assert chart.specification(off, SIDES, valid=True)


def test_it_tells_what_is_closed_by_the_shape_of_its_ring(drawn):
    where = {(x, value) for x, value, _text in drawn.signals}
    for closed, shapes in (((), {"circle"}), (tuple(where), {chart.TICKED})):
        layers = chart.specification(replace(drawn, closed=closed), SIDES)["vconcat"][0]["layer"]
        rings = [one["mark"] for one in layers if one["mark"].get("size") == 260]
        assert {ring["shape"] for ring in rings} == shapes
    svg = chart.picture(replace(drawn, closed=tuple(where)), "T", "D", SIDES)
    assert svg != chart.picture(drawn, "T", "D", SIDES)


def test_it_is_a_chart_by_altair_s_own_schema(drawn, many):
    for one in (drawn, many):
        assert chart.specification(one, SIDES, valid=True)["$schema"].startswith("https://vega.github.io/schema/")


@pytest.mark.parametrize("which", ["drawn", "many"])
def test_it_is_an_svg_that_a_strict_page_may_hold(which, request):
    one = request.getfixturevalue(which)
    svg = chart.picture(one, "Lantern & House <whole>", "What it shows", SIDES)
    root = ET.fromstring(svg)
    names = {attribute for element in root.iter() for attribute in element.attrib}
    assert not names & {"style"}
    assert not [name for name in names if name.startswith("on") or "xlink" in name]
    assert {element.tag.split("}")[1] for element in root.iter()} <= {"svg", "g", "path", "text", "line", "a", "title",
                                                                       "desc", "rect", "tspan"}  # fmt: skip
    # No colour of its own: only the page's tokens, none, or what is not seen.
    colours = {element.attrib.get(name) for element in root.iter() for name in ("fill", "stroke")} - {None}
    assert all(re.fullmatch(r"var\(--[a-z-]+\)|none|transparent", colour) for colour in colours), colours
    assert "http" not in re.sub(r'xmlns(:\w+)?="[^"]*"', "", svg)
    assert root.find("{*}title").text == "Lantern & House <whole>"
    assert root.attrib["aria-labelledby"] == root.find("{*}title").attrib["id"]
    assert root.attrib["aria-describedby"] == root.find("{*}desc").attrib["id"]


def test_it_leads_from_each_mark_to_its_batch(drawn, many):
    for one in (drawn, many):
        links = list(ET.fromstring(chart.picture(one, "T", "D", SIDES)).iter(f"{{{chart.SVG}}}a"))
        assert [link.attrib["href"] for link in links] == [mark.url for mark in one.marks]
        assert [link.attrib["aria-label"] for link in links] == [mark.label for mark in one.marks]


def test_it_writes_numbers_as_the_page_does(drawn):
    near = replace(drawn, ends=(55.2, 56.1))
    svg = ET.fromstring(chart.picture(near, "T", "D", SIDES, ","))
    texts = ["".join(element.itertext()) for element in svg.iter(f"{{{chart.SVG}}}text")]
    assert any(re.fullmatch(r"\d+,\d", text) for text in texts)
    assert not any("." in text for text in texts)


def test_it_is_made_once_for_the_same_content(drawn, monkeypatch):
    made = chart.picture(drawn, "Once", "D", SIDES)
    monkeypatch.setattr(chart, "svg_of", None)
    assert chart.picture(drawn, "Once", "D", SIDES) == made
    with pytest.raises(TypeError):
        chart.picture(drawn, "Another", "D", SIDES)


def test_it_fetches_nothing(drawn, monkeypatch):
    import vl_convert

    asked = {}

    def renderer(spec, **how):
        asked.update(how, spec=spec)
        return '<svg xmlns="http://www.w3.org/2000/svg"/>'

    monkeypatch.setattr(vl_convert, "vegalite_to_svg", renderer)
    chart.svg_of(drawn, SIDES, ".")
    assert asked["allowed_base_urls"] == []
    assert '"url":' not in str(asked["spec"].get("data", ""))
    monkeypatch.undo()
    elsewhere = {"data": {"url": "https://example.org/a.json"}, "mark": "point", "encoding": {}}
    with pytest.raises(ValueError, match="not allowed|denied|Access|access"):
        vl_convert.vegalite_to_svg(elsewhere, allowed_base_urls=[])
