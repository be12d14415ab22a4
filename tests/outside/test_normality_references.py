"""The Anderson-Darling test of normality against scipy and statsmodels, and what it lets pass.

NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.14: the test and its point at 5 %, 0.752 for the corrected
statistic (D'Agostino and Stephens 1986, table 4.7; from memory, recomputed by the formula of the chance).
"""

import random
import warnings

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.diagnostic import normal_ad

from webapp.measure.normality import chance_of, normal_scores, normality_of

SEED = 19860101

SHAPES = {
    "normal": lambda draw: draw.gauss(62, 0.6),
    "one long tail": lambda draw: 62 + 0.6 * draw.expovariate(1),
    "two kinds": lambda draw: draw.gauss(draw.choice((60, 64)), 0.5),
    "flat": lambda draw: draw.uniform(61, 63),
}


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("batches", [8, 20, 100])
def test_it_agrees_with_scipy_and_statsmodels(shape, batches):
    print(f"seed {SEED + batches}")
    draw = random.Random(SEED + batches)
    values = [SHAPES[shape](draw) for _ in range(batches)]
    found = normality_of(values, 0.001)
    with warnings.catch_warnings():
        # scipy announces another way of telling the chance.
        warnings.simplefilter("ignore", FutureWarning)
        alone = stats.anderson(np.array(values), "norm").statistic
    assert found.a_squared == pytest.approx(alone * (1 + 0.75 / batches + 2.25 / batches**2), rel=1e-9)
    assert found.chance == pytest.approx(normal_ad(np.array(values))[1], rel=1e-7)


def test_its_chance_at_the_tabled_point_is_five_percent():
    assert chance_of(0.752) == pytest.approx(0.05, abs=5e-4)
    assert chance_of(1.035) == pytest.approx(0.01, abs=2e-4)


def test_it_doubts_one_normal_history_in_twenty():
    # 3000 normal histories of 30 batches; standard error 0.4 %.
    draw = random.Random(SEED)
    doubted = sum(normality_of([draw.gauss(62, 0.6) for _ in range(30)], 0.001).doubtful for _ in range(3000))
    assert 0.038 <= doubted / 3000 <= 0.062


def test_its_places_are_blom_s():
    # statsmodels asks for the two numbers of the rule; 3/8 is Blom's.
    from statsmodels.graphics.gofplots import plotting_pos

    assert normal_scores(25) == pytest.approx(list(stats.norm.ppf(plotting_pos(25, 3 / 8))), rel=1e-12, abs=1e-12)
