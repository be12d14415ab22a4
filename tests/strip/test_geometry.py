"""Where the marks go: lighter above and to the right, nothing on top of anything else."""

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.store.strip_days import StripBatch, StripPart
from webapp.strip import geometry


def part(kind="whole", position=0.0, verdict="inside", side=None):
    return StripPart(
        kind, 56.0, 0.2, 0.1, 1, 0.0, 150.0, verdict, side, 0.9, position, -1.0, None, 1, 1, 0, False, ()
    )  # fmt: skip


def strip_batch(*parts, name="Lantern House", verdict="inside", missing=()):
    by_kind = {p.kind: p for p in parts}
    return StripBatch("id", "c-1", "2026-05-14T06:00:00.000Z", name, "LH", "M", verdict, 0.9, missing, by_kind)


positions = st.floats(-50, 50)


@given(positions, positions)
def test_it_draws_the_lighter_of_two_higher_and_further_right(one, other):
    a, b = geometry.spot(part(position=one), None), geometry.spot(part(position=other), None)
    if one > other:
        assert a.y <= b.y
        assert a.along >= b.along


def test_it_puts_the_light_limit_on_the_upper_rail_and_the_dark_one_on_the_lower():
    light, dark = geometry.spot(part(position=1), None), geometry.spot(part(position=-1), None)
    assert light.y == geometry.MIDDLE - geometry.UNIT
    assert dark.y == geometry.MIDDLE + geometry.UNIT


@given(positions, positions)
def test_it_keeps_every_mark_its_arrow_and_its_number_inside_the_cell(whole, ground):
    placed = geometry.place(strip_batch(part("whole", whole), part("ground", ground)))
    for spot in placed.spots:
        assert geometry.OVAL <= spot.y <= geometry.SHAPES - 12 - geometry.OVAL
        assert 10 <= spot.along <= 90
        if spot.far:
            tip = [float(n) for n in re.findall(r"-?\d+\.?\d*", spot.arrow)]
            assert 0 <= tip[1] <= geometry.SHAPES - 12
            assert spot.text_y > 0


@given(positions, positions)
def test_it_prints_the_numbers_of_two_pinned_marks_on_two_lines(whole, ground):
    placed = geometry.place(strip_batch(part("whole", whole), part("ground", ground)))
    pinned = [spot for spot in placed.spots if spot.far]
    if len(pinned) == 2:
        assert abs(pinned[0].text_y - pinned[1].text_y) >= 12


@given(positions)
def test_it_pins_a_mark_only_beyond_the_reach(position):
    spot = geometry.spot(part(position=position), None)
    assert bool(spot.far) == (abs(position) > geometry.REACH)


def test_it_ties_the_two_of_a_batch_and_marks_the_tie_by_the_difference():
    two = part("whole"), part("ground")
    assert geometry.place(strip_batch(*two)).tie == "plain"
    assert geometry.place(strip_batch(*two, part("difference", 2, "outside"))).tie == "outside"
    assert geometry.place(strip_batch(part("whole"))).tie == ""


def test_it_sets_a_part_without_a_target_aside_and_dashes_what_is_missing():
    unjudged = replace(part("ground"), position=None, verdict=None)
    placed = geometry.place(strip_batch(part("whole"), unjudged))
    assert [kind for kind, _shade in placed.aside] == ["ground"]
    placed = geometry.place(strip_batch(part("whole"), missing=("ground",), verdict="incomplete"))
    assert placed.ghosts == ("ground",)


def test_it_prints_a_products_name_where_it_changes_and_again_in_a_long_run():
    names = ["A"] * 2 + ["B"] * 11 + ["A"]
    found = geometry.runs([strip_batch(name=name) for name in names])
    printed = [(n, run.name, run.cells, run.again) for n, run in enumerate(found) if run]
    assert printed == [(0, "A", 2, False), (2, "B", 6, False), (10, "B", 3, True), (13, "A", 1, False)]


@given(st.lists(st.sampled_from("ABC"), min_size=1, max_size=90))
def test_it_never_lets_a_name_reach_into_the_next_one(names):
    found = geometry.runs([strip_batch(name=name) for name in names])
    starts = [n for n, run in enumerate(found) if run]
    for here, there in zip(starts, [*starts[1:], len(names)], strict=True):
        assert found[here].cells <= there - here


@pytest.mark.parametrize(
    ("name", "cells", "tight"),
    [("Filter", 2, False), ("Lantern House", 1, True), ("Slow Decaf", 2, False), ("Unabbreviatedname", 2, True),
     ("A very long name in many short words indeed", 3, True)],
)  # fmt: skip
def test_it_knows_which_names_are_too_long_for_their_cells(name, cells, tight):
    assert geometry.Run(name, "X", cells, False).tight is tight


@pytest.mark.parametrize("count", [1, 12, 80, 140])
def test_it_draws_every_batch_of_a_day_in_the_small_picture_without_overlap(count):
    batches = [strip_batch(part("whole", 0.2), part("ground", 0.2)) for _ in range(count)]
    it = geometry.overview(batches, [geometry.place(b) for b in batches])
    xs = sorted(float(x) for _k, _s, path in it.dots for x in re.findall(r"M([\d.]+) ", path))
    assert len(xs) == 2 * count
    assert all(0 <= x <= geometry.WIDE for x in xs)
    gaps = [b - a for a, b in zip(xs, xs[1:], strict=False)]
    assert min(gaps) >= it.size - 0.2


def test_it_shows_only_what_is_not_in_band_below_the_small_picture():
    kinds = ("inside", "undecided", "outside", "incomplete", "unjudged")
    batches = [strip_batch(part(), verdict=verdict) for verdict in kinds]
    it = geometry.overview(batches, [geometry.place(b) for b in batches])
    assert [state for state, _path in it.shapes] == ["incomplete", "outside", "undecided"]
