"""Variance components of a precision study: the balanced part, the components, their intervals."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.measure.nested import LEAST, LeftOut, TooSmall, complete_part, components

few = settings(max_examples=40)
shapes = st.tuples(st.integers(1, 5), st.integers(2, 5), st.integers(2, 4))

SEED = 20260


@st.composite
def studies(draw):
    """Balanced studies of readings in tenths, of any shape."""
    persons, fills, readings = draw(shapes)
    value = st.integers(400, 700).map(lambda tenths: tenths / 10)
    fill = st.lists(value, min_size=readings, max_size=readings)
    return draw(st.lists(st.lists(fill, min_size=fills, max_size=fills), min_size=persons, max_size=persons))


def made_up(rng, shape, sigma_p, sigma_f, sigma_r, count=1):
    """``count`` studies of this shape, with normal scatter: an array of count x persons x fills x readings."""
    persons, fills, readings = shape
    of_person = rng.normal(60, sigma_p, (count, persons, 1, 1))
    of_fill = rng.normal(0, sigma_f, (count, persons, fills, 1))
    return of_person + of_fill + rng.normal(0, sigma_r, (count, persons, fills, readings))


# The balanced part


def test_it_takes_a_complete_study_as_it_is():
    study = {"ada": [[1, 2], [3, 4], [5, 6]], "ben": [[7, 8], [9, 10], [11, 12]]}
    part = complete_part(study, 2)
    assert (part.persons, part.fills, part.readings, part.left_out) == (("ada", "ben"), 3, 2, ())
    assert part.values == list(study.values())


def test_it_says_what_it_leaves_out():
    study = {
        "ada": [[1, 2], [], [3, 4], [5], [6, 7], [8, 9]],
        "ben": [[1, 2, 3], [4, 5], [6, 7]],
        "cleo": [[1, 2], [3]],
    }
    part = complete_part(study, 2)
    assert (part.persons, part.fills, part.readings) == (("ada", "ben"), 3, 2)
    assert part.values == [[[1, 2], [3, 4], [6, 7]], [[1, 2], [4, 5], [6, 7]]]
    assert part.left_out == (
        LeftOut("ada", 2, "unread"),
        LeftOut("ada", 4, "short"),
        LeftOut("ada", 6, "to_balance"),
        LeftOut("cleo", None, "too_few"),
    )


def counted(*fills):
    """A study of as many persons, with so many fills of two readings each."""
    return {f"person {i}": [[50.0, 50.1]] * k for i, k in enumerate(fills)}


@pytest.mark.parametrize(
    ("fills", "persons", "k"),
    [
        ((5, 5, 5), 3, 5),
        ((5, 5, 4), 3, 4),  # 12 fills against 10
        ((6, 3), 2, 3),  # 6 against 6: more persons
        ((12, 3, 3), 1, 12),
        ((5, 5, 2, 2, 2, 2), 2, 5),  # two fills each would keep 12, but are too few
        ((6, 2, 2), 1, 6),
        ((5, 0, 5), 2, 5),
    ],
)
def test_it_keeps_most_readings(fills, persons, k):
    part = complete_part(counted(*fills), 2)
    assert (len(part.persons), part.fills) == (persons, k)


@pytest.mark.parametrize(
    ("study", "readings", "there_is"),
    [
        ({}, 3, (0, 0, 3)),
        ({"ada": [[], []]}, 3, (0, 0, 3)),
        (counted(5), 2, (1, 5, 2)),
        (counted(2, 2, 2), 2, (3, 2, 2)),
        (counted(5, 5), 1, (2, 5, 1)),
        (counted(5, 5), 3, (0, 0, 3)),
    ],
)
def test_it_refuses_what_is_too_small_and_says_what_there_is(study, readings, there_is):
    with pytest.raises(TooSmall) as caught:
        complete_part(study, readings)
    assert (caught.value.persons, caught.value.fills, caught.value.readings) == there_is


def test_it_accepts_the_least_sizes():
    for persons, fills, readings in LEAST:
        part = complete_part(counted(*[fills] * persons), readings)
        assert components(part.values).persons == persons


# The components


@few
@given(studies())
def test_its_sums_of_squares_add_up_to_that_of_all_readings(study):
    found = components(study)
    everything = np.array(study)
    assert math.fsum(row.ss for row in found.table) == pytest.approx(((everything - everything.mean()) ** 2).sum())
    assert sum(row.df for row in found.table) == everything.size - 1
    assert found.mean == pytest.approx(everything.mean(), rel=1e-14)


@few
@given(studies(), st.sampled_from((-20.0, 15.0)), st.sampled_from((0.1, 2.0, 7.0)))
def test_it_sees_the_same_scatter_wherever_the_scale_starts_and_in_its_unit(study, shift, unit):
    found = components(study)
    moved = components([[[x * unit + shift for x in fill] for fill in person] for person in study])
    for name in ("sigma_r", "sigma_f", "sigma_p", "interval_r", "interval_f", "interval_p", "repeatability_limit"):
        ours = getattr(found, name)
        if ours is not None:
            assert np.array(getattr(moved, name)) == pytest.approx(np.array(ours) * unit, abs=1e-6 * unit)


@few
@given(studies(), st.randoms(use_true_random=False))
def test_the_order_of_persons_fills_and_readings_does_not_matter(study, draw):
    turned = [[draw.sample(fill, len(fill)) for fill in draw.sample(person, len(person))] for person in study]
    found, other = components(study), components(draw.sample(turned, len(turned)))
    assert other.kept[1:] == pytest.approx(found.kept[1:], rel=1e-9, abs=1e-12)
    assert (other.sigma_p or 0) == pytest.approx(found.sigma_p or 0, rel=1e-9, abs=1e-6)


@few
@given(studies())
def test_every_sigma_lies_in_its_interval_and_the_shares_add_up(study):
    found = components(study)
    for sigma, interval in (
        (found.sigma_r, found.interval_r), (found.sigma_f, found.interval_f), (found.sigma_p, found.interval_p),
    ):  # fmt: skip
        if interval is not None:
            assert 0 <= interval[0] <= sigma <= interval[1] < math.inf
    assert math.fsum(found.shares.values()) == pytest.approx(1.0 if found.sigma_r or found.sigma_f else 0.0)
    assert set(found.shares) == ({"person", "fill", "reading"} if found.persons > 1 else {"fill", "reading"})


def test_it_keeps_the_raw_components_where_none_is_negative():
    # By hand: readings +-1 about fills +-3 about persons +-10.
    study = [[[p + f - 1, p + f + 1] for f in (-3, 3)] for p in (50, 70)]
    found = components(study)
    assert [(row.ss, row.df, row.ms, row.f) for row in found.table] == [
        (800, 1, 800, 800 / 36), (72, 2, 36, 18), (8, 4, 2, None),
    ]  # fmt: skip
    assert found.raw == found.kept == ((800 - 36) / 4, (36 - 2) / 2, 2)
    assert (found.sigma_r, found.repeatability_limit) == (math.sqrt(2), 2.8 * math.sqrt(2))
    assert found.df_r == 4
    assert found.df_f == pytest.approx(34**2 / (36**2 / 2 + 2**2 / 4))


def test_it_pools_a_negative_component_with_the_next_one():
    # Both persons are the same: the persons' mean square is zero, and is pooled with that of the fills (1 and 2 df).
    study = [[[f - 1, f + 1] for f in (47, 53)]] * 2
    found = components(study)
    assert found.raw.person == pytest.approx(-36 / 4)
    assert found.kept == pytest.approx((0, (72 / 3 - 2) / 2, 2))
    # All fills are the same: everything is pooled (SS 16, 1 + 2 + 4 df).
    study = [[[48, 52], [48, 52]]] * 2
    found = components(study)
    assert found.raw == pytest.approx((0, -8 / 2, 8))
    assert found.kept == pytest.approx((0, 0, 32 / 7))
    assert (found.sigma_f, found.df_f) == (0, 0)
    assert found.interval_r[0] <= found.sigma_r


@pytest.mark.parametrize("value", [0.0, 56.2, 299.85, -3.1])
def test_it_finds_no_scatter_in_equal_values(value):
    found = components([[[value] * 3] * 4] * 2)
    assert (found.sigma_r, found.sigma_f, found.sigma_p) == (0, 0, 0)
    assert (found.interval_r, found.interval_f, found.interval_p) == ((0, 0), (0, 0), (0, 0))
    assert [row.f for row in found.table] == [None, None, None]
    assert (found.df_f, set(found.shares.values()), found.mean) == (0, {0.0}, value)


def test_it_has_no_ratio_over_readings_that_are_all_equal():
    found = components([[[50.0, 50.0], [50.3, 50.3], [50.1, 50.1]]])
    assert [row.f for row in found.table] == [None, None]
    assert (found.sigma_r, found.interval_r) == (0, (0, 0))
    assert found.shares == {"fill": 1.0, "reading": 0.0}
    # Without scatter of readings the fills' interval is that of chi-square with 2 df (tables: 7.3778, 0.050636).
    ms = found.table[0].ms / 2
    expected = (math.sqrt(2 * ms / 7.3778), math.sqrt(2 * ms / 0.050636))
    assert found.interval_f == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(
    "study",
    [
        [], [[]], [[[1.0, 2.0]]], [[[1.0], [2.0]]], [[[1, 2], [3, 4]], [[1, 2]]], [[[1, 2], [3, 4, 5]]],
        [[[1, math.nan], [3, 4]]], [[[1, math.inf], [3, 4]]], [[[], []]],
    ],
)  # fmt: skip
def test_it_refuses_what_is_unbalanced_too_small_or_not_finite(study):
    with pytest.raises(ValueError):
        components(study)


# The intervals


@pytest.mark.parametrize(
    ("shape", "sigma_p", "sigma_f"),
    [
        ((5, 5, 3), 0.4, 0.5),
        ((5, 5, 3), 0.1, 0.2),
        ((3, 4, 3), 1.5, 1.0),
        ((2, 3, 2), 1.0, 0.5),
        ((1, 6, 2), None, 1.0),
    ],
)
def test_95_percent_of_its_intervals_hold_the_true_sigma(shape, sigma_p, sigma_f):
    """93 to 97 % are asked for; with 3000 studies the count's own standard deviation is 0.4 %."""
    print("seed", SEED)
    rng = np.random.default_rng(SEED)
    held = {"r": 0, "f": 0, "p": 0}
    count = 3000
    for study in made_up(rng, shape, sigma_p or 0, sigma_f, 0.3, count).tolist():
        found = components(study)
        held["r"] += found.interval_r[0] <= 0.3 <= found.interval_r[1]
        held["f"] += found.interval_f[0] <= sigma_f <= found.interval_f[1]
        if sigma_p is not None:
            held["p"] += found.interval_p[0] <= sigma_p <= found.interval_p[1]
    for name, n in held.items():
        if name != "p" or sigma_p is not None:
            assert 0.93 <= n / count <= 0.97, (name, n / count)


def test_it_estimates_without_bias_over_many_studies():
    """Raw components average to the true ones: 5 standard errors of the mean of 2000 studies are allowed."""
    rng = np.random.default_rng(SEED)
    raw = np.array([components(study).raw for study in made_up(rng, (4, 4, 3), 0.4, 0.5, 0.3, 2000).tolist()])
    error = raw.std(axis=0, ddof=1) / math.sqrt(len(raw))
    assert np.all(np.abs(raw.mean(axis=0) - [0.16, 0.25, 0.09]) < 5 * error)
