"""The gauge as it is drawn: said in words for those who do not see it, and no style of its own in the page."""

import re

import pytest
from flask import render_template_string

from webapp.ui.gauge import make_gauge

PAGE = '{% import "ui/gauge.html" as pictures %}{{ pictures.gauge(it) }}'


@pytest.fixture
def drawn(app):
    """drawn(gauge) gives its HTML."""

    def draw(it):
        with app.test_request_context():
            return render_template_string(PAGE, it=it)

    return draw


def label(html):
    return re.search(r'aria-label="([^"]*)"', html).group(1)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("whole", 56.2, 0.5, 54.5, 56, 57.5), "Whole bean 56.2, give or take 0.5. Band 54.5 to 57.5. Target 56.0."),
        (("ground", 61, 0.4, 59.5, 61, None), "Ground 61.0, give or take 0.4. Limit 59.5 and above. Target 61.0."),
        (("ground", 61, 0.4, None, 61, 62.5), "Ground 61.0, give or take 0.4. Limit 62.5 and below. Target 61.0."),
        (("difference", -4.8, 0.6, None, None, None), "Ground minus whole −4.8, give or take 0.6. No target."),
        (("whole", None, None, 54.5, 56, 57.5), "Whole bean. Band 54.5 to 57.5. Target 56.0."),
    ],
)
def test_it_says_in_words_what_it_shows(drawn, arguments, said):
    assert label(drawn(make_gauge(*arguments, step=0.1, lighter=1))) == said


def test_it_carries_what_a_script_needs_to_move_the_mark(drawn):
    html = drawn(make_gauge("whole", 56.2, 0.5, 54.5, 56, 57.5, step=0.1, lighter=-1, scale=(0, 150)))
    svgs = re.findall(r"<svg [^>]*>", html)
    assert len(svgs) == 2
    for svg in svgs:
        data = dict(re.findall(r'data-(\w+)="([^"]*)"', svg))
        assert set(data) == {"low", "high", "lighter", "left", "width"}
        assert float(data["low"]) < 54.5 < 57.5 < float(data["high"])
        assert data["lighter"] == "-1"
    assert 'data-scale-lower="0"' in html


def test_it_keeps_mark_and_whisker_ready_before_the_first_reading(drawn):
    html = drawn(make_gauge("ground", None, None, 54.5, 56, 57.5, step=0.1, lighter=1))
    assert html.count('class="spot settle plain away"') == 2
    assert html.count('<path class="whisker" d=""/>') == 2


def test_it_draws_the_mark_of_its_kind(drawn):
    for kind, mark in (("whole", "<ellipse"), ("ground", "<rect"), ("difference", '<rect class="mark bar')):
        html = drawn(make_gauge(kind, 5, 0.5, 3, 5, 7, step=0.1, lighter=1, shade="#684026"))
        spot = re.search(r'<g class="spot.*?</g>', html, re.S).group(0)
        assert mark in spot
        assert ("#684026" in spot) is (kind != "difference")  # brown is coffee's alone


def test_it_rings_the_mark_by_the_verdict(drawn):
    for verdict in ("inside", "undecided", "outside"):
        html = drawn(make_gauge("whole", 5, 0.5, 3, 5, 7, step=0.1, lighter=1, verdict=verdict))
        assert f'<ellipse class="mark {verdict}"' in html


def test_it_points_beyond_the_end_of_the_axis(drawn):
    html = drawn(make_gauge("whole", 99, 0.5, 54, 56, 58, step=0.1, lighter=1))
    assert html.count('class="beyond right"') == 2
    assert html.count('class="beyond left away"') == 2


def test_it_has_no_style_of_its_own(drawn):
    html = drawn(make_gauge("whole", 56.2, 0.5, 54.5, 56, 57.5, step=0.1, lighter=1))
    assert "style" not in html


def test_every_state_has_a_shape_of_its_own(app):
    states = [("inside", None), ("undecided", None), ("outside", "darker"), ("outside", "lighter"), ("outside", None),
              ("incomplete", None), ("unjudged", None)]  # fmt: skip
    with app.test_request_context():
        drawn = [
            render_template_string('{% import "ui/marks.html" as m %}{{ m.shape(v, s, "said") }}', v=v, s=s)
            for v, s in states
        ]
    assert len({re.sub(r"aria-label", "", html) for html in drawn}) == len(states)
    assert all('role="img" aria-label="said"' in html for html in drawn)
