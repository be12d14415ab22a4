"""The two methods that come with the app: complete, cautioned where it matters, and with their pictures."""

from __future__ import annotations

import re
import struct
from pathlib import Path
from xml.etree import ElementTree

import pytest

from webapp.ui import default_methods
from webapp.ui.default_methods import DEFAULT_METHODS, GROUND, N_, WHOLE_BEAN, default_texts

ROOT = Path(__file__).resolve().parents[2]
PICTURES = ROOT / "static" / "pictures"
ICONS = ROOT / "static" / "icons"
SVG = "{http://www.w3.org/2000/svg}"
STEPS = [pytest.param(step, id=f"{m.kind}-{n}") for m in DEFAULT_METHODS for n, step in enumerate(m.steps, 1)]
DRAWINGS = [pytest.param(path, id=path.stem) for path in sorted(PICTURES.glob("*.svg"))]
VECTORS = DRAWINGS + [pytest.param(path, id=path.stem) for path in sorted(ICONS.glob("*.svg"))]


def step_about(method, words):
    """The one step whose title holds these words."""
    found = [step for step in method.steps if words in step.title.lower()]
    assert len(found) == 1, f"{words!r} in {[step.title for step in method.steps]}"
    return found[0]


def number_of(method, words):
    return method.steps.index(step_about(method, words))


# What a method is

def test_it_brings_one_method_for_each_kind_with_its_dish():
    # Beans in a deep dish, grounds in a shallow one: common practice, no source.
    assert [(m.kind, m.dish) for m in DEFAULT_METHODS] == [("whole", "Deep dish"), ("ground", "Shallow dish")]
    assert "deep dish" in step_about(WHOLE_BEAN, "fill").title.lower()
    assert "shallow dish" in step_about(GROUND, "fill").title.lower()
    for method, other in ((WHOLE_BEAN, "shallow"), (GROUND, "deep")):
        assert not [s.picture for s in method.steps if other in f"{s.title} {s.body} {s.picture}".lower()]


def test_it_plans_three_readings_of_one_fill():
    # Three readings of one dish: common practice, no source.
    assert [(m.planned_readings, m.planned_fills) for m in DEFAULT_METHODS] == [(3, 1), (3, 1)]


def test_it_names_each_method_once_and_shortly():
    assert len({m.key for m in DEFAULT_METHODS}) == len(DEFAULT_METHODS)
    assert len({m.name for m in DEFAULT_METHODS}) == len(DEFAULT_METHODS)
    assert all(len(m.name) <= 60 for m in DEFAULT_METHODS)  # what the store takes


@pytest.mark.parametrize("method", DEFAULT_METHODS, ids=lambda m: m.kind)
def test_it_takes_six_to_eight_steps_with_a_title_of_their_own(method):
    assert 6 <= len(method.steps) <= 8
    assert len({step.title for step in method.steps}) == len(method.steps)


# The order of the work

def test_it_walks_the_whole_bean_in_order():
    order = ["warm up", "cooled tray", "room temperature", "heaped", "straightedge", "proud beans", "seat"]
    assert [number_of(WHOLE_BEAN, words) for words in order] == list(range(7))


def test_it_walks_the_ground_in_order():
    # The setting before the purge: what is purged must have gone through the burrs as they will stand.
    order = ["warm", "setting", "purge", "grind the", "shallow dish", "straightedge", "streaks", "seat"]
    assert [number_of(GROUND, words) for words in order] == list(range(8))


@pytest.mark.parametrize("method", DEFAULT_METHODS, ids=lambda m: m.kind)
def test_it_warms_the_meter_for_a_minute(method):
    # A meter switched on from cold wants about one minute: common practice, no source.
    assert [step.timer_s for step in method.steps] == [60] + [None] * (len(method.steps) - 1)
    assert "one minute" in method.steps[0].body


@pytest.mark.parametrize("method", DEFAULT_METHODS, ids=lambda m: m.kind)
def test_it_turns_the_meter_between_readings(method):
    seat = method.steps[-1]
    assert seat.title.startswith("Seat the meter")
    assert "After each reading turn it a quarter" in seat.body


def test_it_asks_for_the_sample_temperature_and_nothing_else():
    steps = [step for method in DEFAULT_METHODS for step in method.steps]
    notes = [(step.picture, step.note_label, step.note_unit) for step in steps]
    noted = [note for note in notes if note[1] or note[2]]
    assert noted == [("cool-sample", "Sample temperature", "°C")]


# The cautions

def test_it_cautions_where_the_sample_is_taken():
    caution = step_about(WHOLE_BEAN, "cooled tray").caution
    for words in ("200 °C", "burn", "only from the cooled tray", "turning drum", "running machine"):
        assert words in caution
    assert "site's rules and the machine's manual come first" in caution
    assert "do not touch" in step_about(WHOLE_BEAN, "cool to room temperature").caution


def test_it_cautions_at_every_step_with_the_grinder():
    assert "unplug it before you open it" in step_about(GROUND, "setting").caution
    purge = step_about(GROUND, "purge").caution
    for words in ("finger near the burrs", "Hot beans burn", "turning drum", "Chaff", "catch fire"):
        assert words in purge
    grind = step_about(GROUND, "grind the sample").caution
    assert "unplug" in grind
    assert "with a finger" in grind


def test_it_keeps_cautions_for_the_steps_that_need_them():
    cautioned = {s.picture for m in DEFAULT_METHODS for s in m.steps if s.caution}
    assert cautioned == {"sample-tray", "cool-sample", "grinder-setting", "grinder-purge", "grinder-grind"}


def test_it_never_asks_for_a_sample_from_a_machine():
    for text in (f"{s.title} {s.body}".lower() for m in DEFAULT_METHODS for s in m.steps):
        assert "drum" not in text
        assert "machine" not in text


# The texts

def sentences(text):
    return len(re.findall(r"[.?!](?:\s|$)", text))


@pytest.mark.parametrize("step", STEPS)
def test_it_keeps_every_step_short_and_complete(step):
    assert step.title
    assert step.title[0].isupper()
    assert not step.title.endswith(".")
    assert len(step.title) <= 60
    assert 1 <= sentences(step.body) <= 2
    assert 1 <= sentences(step.why) <= 3
    assert step.done_label.startswith("Done, ")
    assert len(step.done_label) <= 28


@pytest.mark.parametrize("text", sorted(default_texts()))
def test_it_writes_texts_that_survive_translation(text):
    # A catalogue takes a percent sign for a place to fill in, and braces or padding go astray just as easily.
    assert not re.search(r"[%{}<>]", text)
    assert text == " ".join(text.split())


def test_it_marks_every_text_for_the_catalogue():
    assert N_("Seat the meter") == "Seat the meter"
    source = Path(default_methods.__file__).read_text(encoding="utf-8")
    calls = re.findall(r'\bN_\(((?:\s*"[^"]*")+)\s*\)', source)
    marked = {"".join(re.findall(r'"([^"]*)"', call)) for call in calls}
    assert default_texts() == marked


def test_it_says_directions_as_lighter_and_darker():
    assert not [t for t in default_texts() if re.search(r"\b(higher|lower|brighter)\b", t)]


def test_it_gives_no_figure_that_nobody_has_measured():
    # The only figure in a text is the temperature in the caution; counts are words.
    assert sorted({figure for text in default_texts() for figure in re.findall(r"\d+", text)}) == ["200"]


# The pictures

@pytest.mark.parametrize("step", STEPS)
def test_it_draws_every_step(step):
    assert (PICTURES / f"{step.picture}.svg").is_file()


def test_it_keeps_no_picture_that_no_step_shows():
    shown = {s.picture for m in DEFAULT_METHODS for s in m.steps}
    assert {p.stem for p in PICTURES.iterdir()} == shown | {f"{name}-wrong" for name in shown}


@pytest.mark.parametrize("path", VECTORS)
def test_it_draws_in_plain_safe_svg(path):
    assert path.stat().st_size < 6000
    text = path.read_text(encoding="utf-8")
    assert "<!" not in text  # no entity, no DOCTYPE, nothing hidden in a comment
    assert not re.search(r"@import|url\((?!#)", text)
    tree = ElementTree.fromstring(text)
    assert tree.tag == f"{SVG}svg"
    assert tree.findtext(f"{SVG}title")
    shapes = {"path", "rect", "circle", "ellipse"}
    allowed = shapes | {"svg", "title", "style", "defs", "clipPath", "pattern", "g", "use"}
    for element in tree.iter():
        assert element.tag.removeprefix(SVG) in allowed
        for name, value in element.attrib.items():
            assert not name.startswith("on")
            assert name != "style"
            assert "href" not in name or value.startswith("#")


@pytest.mark.parametrize("path", DRAWINGS)
def test_it_uses_only_marks_that_the_picture_defines(path):
    text = path.read_text(encoding="utf-8")
    ids = re.findall(r'\bid="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r'(?:href="|url\()#([^")]+)', text)) == set(ids)


@pytest.mark.parametrize("path", DRAWINGS)
def test_it_draws_on_one_ground_with_a_dark_twin_for_every_colour(path):
    text = path.read_text(encoding="utf-8")
    style = re.search(r"<style>@media \(prefers-color-scheme: dark\) \{(.*?)\}</style>", text, re.S).group(1)
    drawn = set(re.findall(r'\b(fill|stroke)="(#\w+)"', text.replace(style, "")))
    assert ("fill", "#fffdf8") in drawn  # the picture's own ground: readable even where the card's is another
    assert set(re.findall(r'\[(fill|stroke)="(#\w+)"\]', style)) == drawn
    assert ElementTree.fromstring(text).get("viewBox") == "0 0 460 420"
    assert ElementTree.fromstring(text).get("stroke-width") == "5"


@pytest.mark.parametrize(
    ("name", "side"),
    [("icon-192", 192), ("icon-512", 512), ("icon-maskable-512", 512), ("apple-touch-icon", 180)],
)
def test_it_has_the_icons_in_their_sizes(name, side):
    data = (ICONS / f"{name}.png").read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    assert struct.unpack(">II", data[16:24]) == (side, side)
