"""Blend-off against printed examples of mixing in proportion to mass, and against linear programmes solved otherwise.

University of Guelph, Food Science, "Standardization Problems"
(https://www.uoguelph.ca/foodscience/book-page/standardization-problems); R. A. Pearson's own example as printed in the
Dairy Laboratory Manual. The rest: hand algebra, and the corners of the programme looked through one by one.
"""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest

from webapp.measure.blend import Held, Infeasible, Reading, largest, predict
from webapp.measure.conformity import Band, Rule

SIMPLE = Rule("simple")
STEP = 1e-6


def held(*parts: tuple[float, float]) -> list[Held]:
    """(mass, value) without uncertainty."""
    return [Held(mass, {"fat": Reading(value, 0.0)}) for mass, value in parts]


@pytest.mark.parametrize(
    ("parts", "target", "masses"),
    [
        # 160 kg of 40 % and as much of 0 % as brings it to 32 %: 40 kg.
        ([(160, 40.0), (1000, 0.0)], 32.0, (160, 40)),
        # 10 from 35 and 4: 6 parts to 25; with 500 kg of 4 %: 500 * 6/25 = 120 kg, 620 kg in all.
        ([(1000, 35.0), (500, 4.0)], 10.0, (120, 500)),
        # Pearson: 95 lb of 4 % from 22 % and 3 %: 1 part to 18, of 19: 5 lb and 90 lb.
        ([(5, 22.0), (1000, 3.0)], 4.0, (5, 90)),
    ],
)
def test_it_mixes_as_the_square_says(parts, target, masses):
    """A band as narrow as a target: the largest mix is the one that the square gives for the scarcer part."""
    band = Band(target - 1e-9, None, target + 1e-9)
    found = largest(held(*parts), {"fat": band}, SIMPLE, STEP)
    assert found.masses == pytest.approx(masses, abs=1e-3)
    assert found.predicted["fat"].value == pytest.approx(target, abs=1e-6)


def test_it_takes_everything_that_is_in_band_anyway():
    found = largest(held((30, 56.0), (40, 57.0)), {"fat": Band(55, None, 58)}, SIMPLE, 0.1)
    assert found.masses == pytest.approx((30, 40))
    assert found.left == pytest.approx((0, 0))


def test_it_gives_the_largest_mix_that_hand_algebra_gives():
    """12 kg at 60 beyond an upper limit of 58, 30 kg at 57: x * 2 <= 30 * 1, but only 12 are there; of 20, 15."""
    band = {"fat": Band(54, None, 58)}
    assert largest(held((12, 60.0), (30, 57.0)), band, SIMPLE, STEP).total == pytest.approx(42, abs=1e-4)
    assert largest(held((20, 60.0), (30, 57.0)), band, SIMPLE, STEP).masses == pytest.approx((15, 30), abs=1e-4)


def by_greed(parts: list[tuple[float, float]], lower: float, upper: float) -> float:
    """The largest mass within one band, without a programme: take all, then give back what lies furthest out.

    Exact for one band: giving back costs a kilogram each, and what lies furthest away buys most.
    """
    total = sum(m for m, _y in parts)
    for sign, limit in ((1, upper), (-1, -lower)):
        excess = sum(m * (sign * y - limit) for m, y in parts)
        if excess <= 0:
            continue
        for m, y in sorted(parts, key=lambda part: -sign * part[1]):
            over = sign * y - limit
            if over <= 0 or excess <= 0:
                break
            back = min(m, excess / over)
            excess -= back * over
            total -= back
    return total


@pytest.mark.parametrize("seed", range(40))
def test_it_is_as_large_as_giving_back_what_lies_furthest_out(seed):
    rng = random.Random(seed)
    parts = [(rng.uniform(5, 60), rng.uniform(50, 64)) for _no in range(rng.randint(2, 8))]
    lower = rng.uniform(52, 58)
    upper = lower + rng.uniform(0.5, 4)
    found = largest(held(*parts), {"fat": Band(lower, None, upper)}, SIMPLE, STEP)
    wanted = by_greed(parts, lower, upper)
    if isinstance(found, Infeasible):
        assert wanted < 1e-3
        values = [y for _m, y in parts]
        assert found.why == ("all_above" if min(values) > upper else "all_below")
    else:
        assert found.total == pytest.approx(wanted, abs=1e-3)


def by_corners(held_ones: list[Held], bands: dict[str, Band]) -> float:
    """The largest mass by looking at every corner of what is allowed: n conditions at a time as equations."""
    n = len(held_ones)
    rows, ends = [], []
    for no, one in enumerate(held_ones):
        row = np.eye(n)[no]
        rows += [row, -row]
        ends += [one.mass, 0.0]
    for kind, band in bands.items():
        values = np.array([one.readings[kind].value for one in held_ones])
        rows += [band.lower - values, values - band.upper]
        ends += [0.0, 0.0]
    rows, ends = np.array(rows), np.array(ends)
    best = 0.0
    for chosen in itertools.combinations(range(len(rows)), n):
        square = rows[list(chosen)]
        if abs(np.linalg.det(square)) < 1e-9:
            continue
        x = np.linalg.solve(square, ends[list(chosen)])
        if (rows @ x <= ends + 1e-7).all():
            best = max(best, x.sum())
    return best


@pytest.mark.parametrize("seed", range(25))
def test_it_is_the_best_of_all_corners_with_two_kinds(seed):
    rng = random.Random(1000 + seed)
    ones = [
        Held(
            rng.uniform(5, 60),
            {"whole": Reading(rng.uniform(52, 60), 0.0), "ground": Reading(rng.uniform(57, 65), 0.0)},
        )
        for _no in range(rng.randint(2, 5))
    ]
    bands = {"whole": Band(55, None, 57), "ground": Band(60, None, 62)}
    found, wanted = largest(ones, bands, SIMPLE, STEP), by_corners(ones, bands)
    if isinstance(found, Infeasible):
        assert wanted < 1e-3
    else:
        assert found.total == pytest.approx(wanted, abs=1e-3)


def test_it_predicts_as_the_law_of_propagation_says():
    """JCGM 100, 5.1.2 by hand: shares 0.25 and 0.75 of u 0.4 and 0.2 give sqrt(0.01 + 0.0225) = 0.18028; with 0.1 of
    each shared by both: sqrt(0.25^2 * 0.15 + 0.75^2 * 0.03 + 0.1^2) = 0.19039."""
    ones = [Held(10, {"a": Reading(56, 0.4)}), Held(30, {"a": Reading(60, 0.2)})]
    found = predict(ones, [10, 30], {"a": Band(50, None, 70)})["a"]
    assert found.value == pytest.approx(59.0)
    assert found.u == pytest.approx(0.180278, abs=1e-6)
    shared = [Held(10, {"a": Reading(56, 0.4, 0.1)}), Held(30, {"a": Reading(60, 0.2, 0.1)})]
    by_hand = (0.25**2 * (0.16 - 0.01) + 0.75**2 * (0.04 - 0.01) + 0.01) ** 0.5
    assert predict(shared, [10, 30], {"a": Band(50, None, 70)})["a"].u == pytest.approx(by_hand)
