"""The picture of a run: parted by day where there are too many, with its links, and nothing a page may not hold."""

import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date, timedelta

import altair as alt
import pytest
from jsonschema.exceptions import ValidationError

from webapp.store.trends import ALL
from webapp.trends import chart, drawing, run, template
from webapp.trends.drawing import Drawing, Mark, Panel, Words, groups

WORDS = Words(
    lambda point: f"{point.code}: {point.value}", lambda points: f"{len(points)} & more",
    lambda day, year: day if year else day[5:],
    lambda point: f"/batches/{point.batch_id}", lambda point: f"/days/{point.day}",
)  # fmt: skip
SIDES = ("lighter", "darker")


@pytest.fixture
def drawn(db, bench, roast, steady):
    """The wide picture of 25 steady batches and one far on the dark side."""
    roast([*steady(25), 53.0])
    it = run.look_at(db, bench.product, "whole", ALL, 100)
    return drawing.draw(it, "whole", drawing.axis(it.trend.points, "wide"), WORDS)


@pytest.fixture(scope="module")
def many():
    """A picture of 240 days, made up."""
    marks = tuple(
        Mark(no, 56.0 + no % 5 / 10, 55.0, 57.0, 0.3, 56.1, "", "", no % 7 > 0, f"day {no}", f"/days/{no}")
        for no in range(240)
    )
    panel = Panel(
        "ground", "", marks, ((-0.5, 99.5, 54.5, 57.5, True, True), (99.5, 239.5, 54.5, 58.0, True, False)),
        (56.0, 55.0, 57.0, 1.2), ((30, 57.2, "3"), (30, 57.2, "~")), (54.0, 58.0), True, 0.1,
    )  # fmt: skip
    return Drawing(
        "wide", "day", 240, (panel,), ((10.5, "ab"), (50.5, "c")), ((0, "1 Jan"), (239, "28 Aug"))
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
    [panel] = drawn.panels
    assert (drawn.each, len(drawn.marks), panel.lighter_up) == ("batch", 26, True)
    assert panel.rails == ((-0.5, 25.5, 54.5, 57.5, True, True),)
    assert [(x, text) for x, _value, text in panel.signals if text == "1"] == [(25, "1")]
    centre, lower, upper, _range = panel.limits
    assert lower < centre < upper
    assert panel.ends[0] < 53.0
    assert (panel.marks[25].state, panel.marks[25].side) == ("outside", "darker")
    assert panel.marks[0].moving is None


def test_it_is_a_chart_by_altair_s_own_schema():
    for size, panels in (("wide", 1), ("slim", 3)):
        made = template.specification(size, panels)
        assert made["$schema"].startswith("https://vega.github.io/schema/vega-lite/")
        assert alt.Chart.from_dict(made, validate=True).to_dict(validate=True)["vconcat"]
        wrong = made | {"vconcat": [{"layer": [{"mark": "nothing"}]}]}
        with pytest.raises(ValidationError):
            alt.Chart.from_dict(wrong, validate=True)


def test_it_draws_the_limits_of_the_running_mean_as_they_widen(drawn):
    # Lucas and Saccucci 1990: exact limits, 2.962 sigma sqrt(0.2/1.8 (1 - 0.8^2i)), here at 1 and at 26 values.
    centre, lower, upper, _range = drawn.panels[0].limits
    sigma = (upper - lower) / 6
    for place, share in ((0, 0.2), (25, 1 / 3)):
        low, high = drawn.marks[place].average_ends
        assert high - low == pytest.approx(2 * 2.962 * sigma * share, rel=1e-4)
        assert (low + high) / 2 == pytest.approx(centre)


def test_it_draws_limits_only_over_what_they_judge(drawn):
    [panel] = drawn.panels
    rows = chart.rows_of(replace(drawn, panels=(replace(panel, judged=9.5),)), ".")
    assert {row["x"] for row in [*rows["rules0"], *rows["steps"]] if row["y"] not in (54.5, 57.5)} == {9.5}
    # With the running mean off there is none, and nothing breaks.
    marks = tuple(replace(one, average=None, average_ends=None) for one in drawn.marks)
    off = replace(drawn, panels=(replace(panel, marks=marks),))
    assert chart.rows_of(off, ".")["average0"] == chart.rows_of(off, ".")["ends0"] == []
    assert chart.picture(off, "Off", "D", SIDES)


def test_it_tells_what_is_closed_by_the_shape_of_its_ring(drawn):
    [panel] = drawn.panels
    where = {(x, value) for x, value, _text in panel.signals}
    for closed, shapes in (((), {"circle"}), (tuple(where), {chart.TICKED})):
        rows = chart.rows_of(replace(drawn, panels=(replace(panel, closed=closed),)), ".")
        assert {ring["shape"] for ring in rows["rings0"]} == shapes
    svg = chart.picture(replace(drawn, panels=(replace(panel, closed=tuple(where)),)), "T", "D", SIDES)
    assert svg != chart.picture(drawn, "T", "D", SIDES)


@pytest.mark.parametrize("which", ["drawn", "many"])
def test_it_is_an_svg_that_a_strict_page_may_hold(which, request):
    one = request.getfixturevalue(which)
    svg = chart.picture(one, "Lantern & House <whole>", "What it shows", SIDES)
    root = ET.fromstring(svg)
    names = {attribute for element in root.iter() for attribute in element.attrib}
    assert not names & {"style"}
    # The group alone has a role: one round the links would hide that they are links.
    assert [element.tag for element in root.iter() if "role" in element.attrib] == [root.tag]
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
    near = replace(drawn, panels=(replace(drawn.panels[0], ends=(55.2, 56.1)),))
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

    monkeypatch.setattr(vl_convert, "vega_to_svg", renderer)
    chart.picture(drawn, "Fetching", "D", SIDES)
    assert asked["allowed_base_urls"] == []
    data = json.loads(asked["spec"])["data"]
    assert not [one["name"] for one in data if "url" in one]
    assert len(next(one for one in data if one["name"] == "marks0")["values"]) == 26
    monkeypatch.undo()
    elsewhere = {
        "$schema": "https://vega.github.io/schema/vega/v6.json", "width": 9, "height": 9,
        "data": [{"name": "a", "url": "https://example.org/a.json"}],
    }  # fmt: skip
    with pytest.raises(ValueError, match="not allowed|denied|Access|access"):
        vl_convert.vega_to_svg(elsewhere, allowed_base_urls=[])
