"""Values of a study that lie apart, and groups that do not scatter alike."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from webapp.measure.odd_values import bartlett, cochran, grubbs, levene, odd_in

from .strategies import in_steps

few = settings(max_examples=60)
values = in_steps(0.1, 400, 700)

SEED = 777


@st.composite
def cells(draw, least=2):
    p, n = draw(st.integers(least, 8)), draw(st.integers(2, 6))
    return draw(st.lists(st.lists(values, min_size=n, max_size=n), min_size=p, max_size=p))


# Cochran


def test_it_points_at_the_cell_that_scatters_most():
    odd = cochran([[50.1, 50.2, 50.0], [49.9, 50.0, 50.1], [50, 53, 47], [50.2, 50.1, 50.3], [50.0, 50.1, 50.1]])
    assert (odd.index, odd.word) == (2, "outlier")
    assert odd.statistic == pytest.approx(9 / (9 + 0.01 * 3 + 0.01 / 3))
    assert odd.limit_5 < odd.limit_1 < odd.statistic


def test_it_calls_it_a_straggler_between_the_limits():
    # Five variances of three: limits 0.684 and 0.788. Here 0.72.
    share = 0.72
    wide = math.sqrt(share / (1 - share) * 4)
    odd = cochran([[50 - a, 50, 50 + a] for a in (1, 1, 1, wide, 1)])
    assert (odd.index, odd.word) == (3, "straggler")
    assert odd.statistic == pytest.approx(share)


def test_it_finds_nothing_where_all_scatter_alike_or_not_at_all():
    assert cochran([[50, 51], [60, 61], [40, 41]]) is None
    assert cochran([[50.1] * 3] * 5) is None


def test_one_step_of_the_scale_is_no_scatter():
    rounded = [[50.1, 50.1, 50.1]] * 9 + [[50.1, 50.2, 50.1]]
    assert cochran(rounded).word == "outlier"
    assert cochran(rounded, step=0.1) is None
    assert cochran(rounded, step=0.05).word == "outlier"


@few
@given(cells(), st.sampled_from((-20.0, 15.0)), st.sampled_from((0.5, 4.0)))
def test_cochran_does_not_depend_on_unit_and_start_of_the_scale(drawn, shift, unit):
    found, other = cochran(drawn), cochran([[x * unit + shift for x in cell] for cell in drawn])
    if found is None or other is None:
        assert found is other
    else:
        assert (other.index, other.word) == (found.index, found.word)
        assert other.statistic == pytest.approx(found.statistic, rel=1e-9)


@pytest.mark.parametrize("wrong", [[], [[1, 2]], [[1], [2]], [[1, 2], [1, 2, 3]], [[1, math.nan], [1, 2]]])
def test_cochran_refuses_what_it_cannot_test(wrong):
    with pytest.raises(ValueError):
        cochran(wrong)


# Grubbs


def test_it_points_at_the_value_that_lies_apart():
    assert [odd.index for odd in grubbs([50.1, 50.0, 50.2, 50.1, 47.0, 50.0])] == [4]
    assert [odd.index for odd in grubbs([50.1, 50.0, 50.2, 50.1, 53.0, 50.0])] == [4]
    assert grubbs([50.1, 50.0, 50.2, 50.1, 50.3, 50.0]) == ()


def test_it_points_at_both_ends():
    near = [50.0, 50.1] * 20
    assert [odd.index for odd in grubbs([*near, 40.0, 60.0])] == [40, 41]


def test_a_step_from_the_mean_does_not_lie_apart():
    rounded = [50.1] * 9 + [50.2]
    assert [odd.index for odd in grubbs(rounded)] == [9]
    assert grubbs(rounded, step=0.1) == ()


def test_among_more_sets_a_value_must_lie_further_apart():
    data = [50.1, 50.0, 50.2, 50.1, 49.4, 50.0]
    (alone,), together = grubbs(data), grubbs(data, among=400)
    assert alone.word == "straggler"
    assert together == ()


@pytest.mark.parametrize("value", [0.0, 56.2, 299.85])
def test_equal_values_do_not_lie_apart(value):
    assert grubbs([value] * 5) == ()


@pytest.mark.parametrize("wrong", [[], [1, 2], [1, 2, math.inf]])
def test_grubbs_refuses_what_it_cannot_test(wrong):
    with pytest.raises(ValueError):
        grubbs(wrong)
    with pytest.raises(ValueError):
        grubbs([1, 2, 3], step=-1)


# Both keep what they promise on steady data


def test_their_false_alarms_are_as_many_as_their_levels_say():
    """5 and 1 %: 20000 sets, five standard deviations of the count allowed."""
    print("seed", SEED)
    rng = np.random.default_rng(SEED)
    n = 20000
    sets = rng.normal(50, 1, (n, 5, 3))
    # The limits depend on the shape alone: the statistics of all sets at once, by numpy.
    odd = cochran([[0, 0, 1]] * 4 + [[0, 0, 100]])
    variances = sets.var(axis=2, ddof=1)
    share = variances.max(axis=1) / variances.sum(axis=1)
    row = sets[:, :, 0]
    far = np.abs(row - row.mean(axis=1, keepdims=True)).max(axis=1) / row.std(axis=1, ddof=1)
    (lone,) = grubbs([0, 0.001, 0, 0.001, 100])
    for statistic, limits in ((share, odd), (far, lone)):
        for limit, level in ((limits.limit_5, 0.05), (limits.limit_1, 0.01)):
            allowed = 5 * math.sqrt(level * (1 - level) / n)
            assert (statistic > limit).mean() == pytest.approx(level, abs=allowed)


def test_steady_studies_have_something_odd_as_often_as_it_says():
    """About one of six: four tests at 5 % that hardly depend on each other, and Cochran's among persons at that."""
    rng = np.random.default_rng(SEED)
    n = 1500
    made = rng.normal(60, 0.5, (n, 5, 1, 1)) + rng.normal(0, 0.4, (n, 5, 5, 1)) + rng.normal(0, 0.3, (n, 5, 5, 3))
    share = sum(bool(odd_in(study)) for study in made.tolist()) / n
    print(f"{share:.3f} of steady studies")
    assert share == pytest.approx(1 - 0.95**4, abs=5 * math.sqrt(0.15 / n))


# In a study


def study():
    """Three persons of four fills of three readings that scatter a little, the same for each."""
    fill = [50.0, 50.1, 50.2]
    return [[[x + f for x in fill] for f in (0.0, 0.4, -0.3, 0.1)] for _person in range(3)]


def test_it_finds_nothing_odd_in_a_steady_study():
    assert odd_in(study()) == ()


def test_it_finds_readings_that_scatter():
    wild = study()
    wild[1][2] = [45.0, 49.8, 54.6]
    found = odd_in(wild)
    assert [(odd.test, odd.level, odd.person_index, odd.fill_index) for odd in found] == [("cochran", "fill", 1, 2)]
    assert found[0].word == "outlier"


def test_it_finds_a_fill_that_lies_apart_and_its_person():
    wild = study()
    wild[2][3] = [x + 9 for x in wild[2][3]]
    found = [(odd.test, odd.level, odd.person_index, odd.fill_index) for odd in odd_in(wild)]
    assert found == [("grubbs", "fill", 2, 3), ("cochran", "person", 2, None), ("grubbs", "person", 2, None)]


def test_it_finds_a_person_that_lies_apart():
    wild = study() + study() + study()
    wild[4] = [[x - 7 for x in fill] for fill in wild[4]]
    wild = [[[x + i * 0.01 for x in fill] for fill in person] for i, person in enumerate(wild)]
    found = [(odd.test, odd.level, odd.person_index, odd.fill_index) for odd in odd_in(wild)]
    assert found == [("grubbs", "person", 4, None)]


def test_one_person_is_tested_with_what_there_is():
    alone = [[[50.0, 50.1], [50.2, 50.3], [50.1, 50.2], [50.1, 50.0], [50.2, 50.2], [55.0, 55.1]]]
    found = [(odd.test, odd.level, odd.person_index, odd.fill_index) for odd in odd_in(alone)]
    assert found == [("grubbs", "fill", 0, 5)]


def test_equal_readings_have_nothing_odd():
    assert odd_in([[[50.0] * 3] * 4] * 3) == ()


@pytest.mark.parametrize("wrong", [[], [[[1, 2], [3, 4]], [[1, 2]]], [[[1, 2]]], [[[1, 2], [3, 4, 5]]]])
def test_it_refuses_what_is_no_balanced_study(wrong):
    with pytest.raises(ValueError):
        odd_in(wrong)


# Groups


@few
@given(cells())
def test_it_gives_the_tests_of_scipy(groups):
    if all(max(group) > min(group) for group in groups):
        theirs = stats.bartlett(*groups)
        assert bartlett(groups) == pytest.approx((theirs.statistic, theirs.pvalue), rel=1e-9, abs=1e-9)
    if any(len({abs(x - np.median(group)) for x in group}) > 1 for group in groups):
        theirs = stats.levene(*groups, center="median")
        if theirs.statistic < 1e9:
            assert levene(groups) == pytest.approx((theirs.statistic, theirs.pvalue), rel=1e-7, abs=1e-9)


def test_it_tests_groups_of_unequal_size():
    groups = [[50, 51, 52.5], [60, 61], [40, 44, 48, 41, 43.5]]
    assert bartlett(groups) == pytest.approx(tuple(stats.bartlett(*groups)), rel=1e-12)
    assert levene(groups) == pytest.approx(tuple(stats.levene(*groups, center="median")), rel=1e-12)


def test_groups_without_scatter_are_alike_and_do_not_divide_by_zero():
    assert bartlett([[50, 50], [60, 60]]) == levene([[50, 50], [60, 60]]) == (0.0, 1.0)
    assert bartlett([[50, 50], [60, 61]]) == (math.inf, 0.0)
    assert levene([[50, 50], [60, 61]]) == (math.inf, 0.0)
    # Equal distances in all groups, as decimals that a float does not hold exactly.
    assert levene([[50.1, 50.4], [60.2, 60.5], [12.3, 12.6]]) == (0.0, 1.0)


@pytest.mark.parametrize("wrong", [[], [[1, 2]], [[1, 2], [3]], [[1, 2], [3, math.nan]]])
def test_both_refuse_what_they_cannot_test(wrong):
    for test in (bartlett, levene):
        with pytest.raises(ValueError):
            test(wrong)
