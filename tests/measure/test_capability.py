"""Capability of a process in its band, and tolerance bands: edges and symmetries. Published numbers: tests/outside."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from webapp.measure._pairs import chi2_share
from webapp.measure.capability import Index, capability_of, nearest_index, spread_index, wilson
from webapp.measure.tolerance import one_sided_factor, tolerance_band, two_sided_factor

from .strategies import in_steps

runs = st.lists(in_steps(0.1, 500, 600), min_size=2, max_size=30)
few = settings(max_examples=40)


@few
@given(runs)
def test_it_mirrors(values):
    here, there = capability_of(values, 52.0, 58.0, 0.1), capability_of([-v for v in values], -58.0, -52.0, 0.1)
    for name in ("cp", "cpk", "pp", "ppk"):
        assert getattr(there, name).value == pytest.approx(getattr(here, name).value, rel=1e-9, abs=1e-9)
    assert there.inside == here.inside


@few
@given(runs)
def test_it_is_never_better_than_its_spread_allows(values):
    found = capability_of(values, 52.0, 58.0, 0.1)
    assert found.cpk.value <= found.cp.value + 1e-12
    assert found.ppk.value <= found.pp.value + 1e-12
    for index in (found.cp, found.cpk, found.pp, found.ppk):
        assert index.interval[0] <= index.value <= index.interval[1]


def test_it_has_no_spread_index_with_one_limit():
    found = capability_of([55.0, 56.0, 55.5], None, 58.0, 0.1)
    assert (found.cp, found.pp, found.nearer) == (None, None, "upper")
    assert found.cpk.value > 0
    assert capability_of([55.0, 56.0, 55.5], 57.0, None, 0.1).cpk.value < 0


def test_it_counts_a_value_on_a_limit_as_inside():
    found = capability_of([52.0, 58.0, 58.1, 51.9], 52.0, 58.0, 0.1)
    assert found.inside == 2
    assert found.share == wilson(2, 4)


def test_it_has_a_finite_index_for_equal_values():
    found = capability_of([55.0] * 5, 52.0, 58.0, 0.1)
    assert found.cp.value == pytest.approx(6 / (6 * 0.1 / 12**0.5))
    assert found.overall == found.sigma == pytest.approx(0.1 / 12**0.5)


@pytest.mark.parametrize(
    "call",
    [
        lambda: capability_of([55.0], 52, 58, 0.1),
        lambda: capability_of([55.0, 56.0], None, None, 0.1),
        lambda: capability_of([55.0, 56.0], 58, 52, 0.1),
        lambda: capability_of([55.0, float("nan")], 52, 58, 0.1),
        lambda: spread_index(52, 58, 0, 5),
        lambda: nearest_index(55, 52, 58, 1, 0, 5),
        lambda: wilson(3, 2),
        lambda: wilson(0, 0),
        lambda: two_sided_factor(1),
        lambda: two_sided_factor(5, 1.0),
        lambda: one_sided_factor(5, 0.9, 0.0),
        lambda: tolerance_band([55.0]),
    ],
)
def test_it_refuses_what_makes_no_sense(call):
    with pytest.raises(ValueError):
        call()


def test_it_never_says_that_a_share_is_certain():
    assert wilson(0, 5)[0] == 0
    assert wilson(5, 5)[1] == 1
    assert 0 < wilson(5, 5)[0] < 1
    assert 0 < wilson(0, 5)[1] < 1


def test_its_band_narrows_with_more_batches():
    factors = [two_sided_factor(n) for n in (5, 20, 100, 1000)]
    assert factors == sorted(factors, reverse=True)
    # Towards the normal 1.96 with more and more.
    assert factors[-1] == pytest.approx(1.96, rel=0.05)
    assert tolerance_band([55.0, 56.0, 57.0]) == pytest.approx((56 - two_sided_factor(3), 56 + two_sided_factor(3)))


@pytest.mark.parametrize("df", [1, 1.7, 12.3, 19, 61.2, 700, 4999])
def test_it_knows_the_share_of_chi_square_below_a_value(df):
    """Against scipy, which is not loaded for it: from far in one tail to far in the other."""
    for p in (1e-6, 0.025, 0.31, 0.5, 0.69, 0.975, 1 - 1e-6):
        value = stats.chi2.ppf(p, df)
        assert chi2_share(value, df) == pytest.approx(stats.chi2.cdf(value, df), abs=1e-11)
    assert chi2_share(0.0, df) == 0.0


@given(value=st.floats(0.2, 1.6), df=st.floats(5, 3000), mean_of=st.sampled_from([None, 20, 100]))
def test_it_says_below_one_as_its_interval_does(value, df, mean_of):
    index = Index(value, df, mean_of)
    assume(abs(index.interval[1] - 1) > 1e-9)
    assert index.surely_below(1) == (index.interval[1] < 1)
