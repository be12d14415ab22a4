"""A straight line against scipy.stats.linregress and the prediction intervals of statsmodels, and a certified one.

Norris: NIST Statistical Reference Datasets, linear regression (public domain), 36 observations, certified values.
"""

import random

import pytest
import statsmodels.api as sm
from scipy import stats

from webapp.measure.response import change_for, response_of

SEED = 19980101

# NIST StRD, Norris.dat: y, x; from memory, recomputed: the certified values below come out of them.
NORRIS = [
    (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5), (668.5, 666.3),
    (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4), (0.1, 0.6), (778.1, 775.5),
    (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6), (557.7, 556.0), (228.3, 228.1), (998.0, 995.8),
    (888.8, 887.6), (119.6, 120.2), (0.3, 0.3), (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2),
    (998.5, 999.0), (778.9, 779.0), (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9),
    (0.2, 0.5),
]  # fmt: skip


def test_it_gives_the_certified_line():
    found = response_of([x for _y, x in NORRIS], [y for y, _x in NORRIS])
    assert found.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert found.intercept == pytest.approx(-0.262323073774029, rel=1e-11)
    assert found.residual == pytest.approx(0.884796396144373, rel=1e-12)


@pytest.fixture(params=range(4))
def made(request):
    """Drop temperatures and readings: made up, with a slope of about -0.8 for a degree."""
    print(f"seed {SEED + request.param}")
    draw = random.Random(SEED + request.param)
    roast = [round(draw.uniform(198, 210), 1) for _ in range(15 + 20 * request.param)]
    return roast, [60 - 0.8 * (at - 204) + draw.gauss(0, 1) for at in roast]


def test_it_agrees_with_linregress(made):
    found, known = response_of(*made), stats.linregress(*made)
    assert (found.slope, found.intercept) == pytest.approx((known.slope, known.intercept), rel=1e-10)
    half = stats.t.ppf(0.975, found.n - 2) * known.stderr
    assert found.slope_interval == pytest.approx((known.slope - half, known.slope + half), rel=1e-10)


def test_it_agrees_with_the_prediction_intervals_of_statsmodels(made):
    roast, results = made
    found, known = response_of(roast, results), sm.OLS(results, sm.add_constant(roast)).fit()
    for at in (197.0, 204.3, 212.0):
        frame = known.get_prediction([[1.0, at]]).summary_frame(alpha=0.05)
        assert found.at(at) == pytest.approx(frame["mean"].iloc[0], rel=1e-9)
        assert found.next_at(at) == pytest.approx(
            (frame["obs_ci_lower"].iloc[0], frame["obs_ci_upper"].iloc[0]), rel=1e-9
        )


def test_it_turns_the_same_line_round(made):
    found = response_of(*made)
    change = change_for(found, 204.0, 1.5)
    assert change.by == pytest.approx(1.5 / stats.linregress(*made).slope, rel=1e-10)
    assert sum(change.reads) / 2 == pytest.approx(found.at(204.0) + 1.5, rel=1e-9)
