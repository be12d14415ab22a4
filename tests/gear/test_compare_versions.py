"""Two versions of a method side by side: aligned steps, marked words, and what the results of each stand on."""

from __future__ import annotations

from dataclasses import replace

import pytest

from webapp.gear import version_diff as diff
from webapp.store import methods


def text(title, body="", why=""):
    return ("What to do", title), ("How to do it", body), ("Why", why)


def states(a, b):
    return [(pair.state, pair.a_no, pair.b_no) for pair in diff.align(a, b)]


def only(pieces):
    return [piece.text for piece in pieces if piece.only]


FILL = text("Fill the dish", "Until the beans stand above the rim.")
LEVEL = text("Level it", "Draw the straight edge across once.")
SEAT = text("Seat the meter", "Flat on the rim.")


@pytest.mark.parametrize(
    ("a", "b", "found"),
    [
        ([FILL, LEVEL], [FILL, LEVEL], [("kept", 1, 1), ("kept", 2, 2)]),
        ([FILL, SEAT], [FILL, LEVEL, SEAT], [("kept", 1, 1), ("added", None, 2), ("kept", 2, 3)]),
        ([FILL, LEVEL, SEAT], [FILL, SEAT], [("kept", 1, 1), ("removed", 2, None), ("kept", 3, 2)]),
        ([FILL], [text("Fill the dish", "Until it is heaped.")], [("changed", 1, 1)]),
        # Another title, the same words below it: the same step.
        ([LEVEL], [SEAT, text("Level the dish", LEVEL[1][1])], [("added", None, 1), ("changed", 1, 2)]),
        ([FILL], [SEAT], [("removed", 1, None), ("added", None, 1)]),
        ([FILL, LEVEL], [LEVEL, FILL], [("added", None, 1), ("kept", 1, 2), ("removed", 2, None)]),
    ],
)
def test_it_aligns_the_steps(a, b, found):
    assert states(a, b) == found


def test_it_marks_the_words_that_only_one_of_them_has():
    line = diff.line("How", "Draw the edge across once.", "Draw the straight edge across twice.")
    assert (only(line.a), only(line.b)) == (["once"], [" straight", "twice"])
    # Nothing is lost or added by the marking.
    assert diff.text_of(line.a) == "Draw the edge across once."
    assert diff.text_of(line.b) == "Draw the straight edge across twice."
    apart = diff.line("How", "Shake it well", "Wait a minute")
    assert (only(apart.a), only(apart.b)) == (["Shake it well"], ["Wait a minute"])
    assert diff.line("How", "", "Wait").a == ()


def edited(bench, kind="whole", reason="Calmer numbers", **changes):
    """The next version of a method: `changes` as methods.MethodVersion has them."""
    now = replace(methods.version_in_force(bench.db, bench.methods[kind]), **changes)
    made = methods.add_version(
        bench.db, now.method_id, now.dish, now.planned_readings, now.planned_fills, now.grinder_setting_id, now.steps,
        reason, bench.who("lead"), bench.now,
    )  # fmt: skip
    return methods.get_version(bench.db, made)


def address(bench, query="", kind="whole"):
    return f"/gear/methods/{bench.methods[kind]}/compare{query}"


def test_it_shows_what_changed_to_a_trainee(sign_in, bench):
    first = bench.versions["whole"]
    steps = [replace(first.steps[0], title=f"{first.steps[0].title} first of all"), *first.steps[2:]]
    edited(bench, steps=steps, planned_readings=5)
    page = sign_in("trainee").page(address(bench))
    main = " ".join(page.find("main")[0].text.split())
    assert "Calmer numbers" in main
    assert "Ada, " in main
    assert f"{first.steps[0].title} first of all" in main
    assert [e.text for e in page.find("ins")] == ["underlined", "5", " first of all"]
    assert [e.text for e in page.find("del")] == ["struck out", "3"]
    tags = [e.text for e in page.find("p") if "tag" in e.attrs.get("class", "").split()]
    assert tags == ["changed", "removed", *["kept"] * (len(first.steps) - 2)]
    assert "Not in version 2." in main


def test_it_is_reached_from_the_method_and_starts_with_the_two_newest(sign_in, bench):
    client = sign_in("trainee")
    assert "Show them side by side" not in client.get(f"/methods/{bench.methods['whole']}").text
    edited(bench)
    edited(bench, planned_fills=2)
    page = client.page(f"/methods/{bench.methods['whole']}")
    [form] = [f for f in page.find("form") if f.attrs["action"].endswith("/compare")]
    assert form.attrs["method"] == "get"
    assert chosen(page) == ["2", "3"]
    assert chosen(client.page(address(bench))) == ["2", "3"]
    assert chosen(client.page(address(bench, "?a=3&b=1"))) == ["3", "1"]


def chosen(page):
    return [e.attrs["value"] for e in page.find("option") if "selected" in e.attrs]


def test_it_says_when_both_are_the_same(sign_in, bench):
    client = sign_in("trainee")
    assert "There is only version 1 of this method." in client.get(address(bench)).text
    edited(bench)
    assert "Both are version 2." in client.get(address(bench, "?a=2&b=2")).text


@pytest.mark.parametrize("query", ["?a=9", "?a=1&b=0", "?a=one", "?b=", "?a=1e0", "?a=-1"])
def test_it_knows_no_other_number(sign_in, bench, query):
    assert sign_in("trainee").get(address(bench, query)).status_code == 404


def test_it_shows_what_was_typed_as_it_was_typed(sign_in, bench):
    first = bench.versions["whole"]
    edited(bench, dish="<b>80 % & more</b>", steps=[replace(first.steps[0], body="<i>%(all)s</i>")])
    text = sign_in("lead").get(address(bench)).text
    assert "&lt;b&gt;80 % &amp; more&lt;/b&gt;" in text
    assert "<i>" not in text


def test_it_shows_what_the_results_of_each_stand_on(sign_in, bench):
    """Neither lends the other its batches or its spread."""
    for n in range(12):
        bench.sample(bench.batch().id, "whole", [56.0 + n / 10, 56.1 + n / 10, 56.0 + n / 10], [56.2, 56.1, 56.2])
    edited(bench)
    bench.versions = bench.versions | {"whole": methods.version_in_force(bench.db, bench.methods["whole"])}
    bench.sample(bench.batch().id, "whole", [56.0, 56.1, 56.0])
    page = sign_in("trainee").page(address(bench))
    cells = [" ".join(e.text.split()) for e in page.find("div") if not e.attrs]
    [old, new] = [text for text in cells if "read by it" in text]
    assert "12 batches read by it" in old
    assert "from this bench's own work" in old
    assert "1 batch read by it" in new
    # The starting assumption of DEVELOPERS.md (whole bean 0.3 and 0.5 on 100 units) on a scale of 150.
    assert "readings of one fill scatter by about 0.45, fills by about 0.75 (assumed)" in new


def test_it_shows_grinder_and_setting_of_ground_methods_only(sign_in, bench):
    edited(bench, "ground", grinder_setting_id=None)
    client = sign_in("trainee")
    text = client.page(address(bench, kind="ground")).find("main")[0].text
    assert "Grinder 1: 7" in " ".join(text.split())
    assert "Grinder setting" not in client.get(address(bench)).text
