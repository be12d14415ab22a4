"""Kept variance components against REML as others maximise it: statsmodels' MixedLM, and scipy on the likelihood.

The restricted likelihood is written out here from its definition (Patterson and Thompson, Biometrika 1971; 58:
545-554), with the covariance of all readings as a matrix. Random balanced data, with negative analysis of variance
estimates at either level and at both among them. scipy's one-way analysis of variance is the third.
"""

import warnings

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import f_oneway

from webapp.measure.nested import components

SHAPES = [(2, 3, 2), (4, 3, 3), (6, 4, 2)]
SIGMAS = [(0.5, 0.4, 0.3), (0.0, 0.4, 0.3), (0.4, 0.0, 0.3), (0.0, 0.0, 0.3)]
CASES = [(shape, sigmas, seed) for shape in SHAPES for sigmas in SIGMAS for seed in range(3)]


def made_up(shape, sigmas, seed):
    rng = np.random.default_rng([seed, *shape])
    persons, fills, readings = shape
    p, f, r = sigmas
    study = rng.normal(60, p, (persons, 1, 1)) + rng.normal(0, f, (persons, fills, 1))
    return (study + rng.normal(0, r, shape)).round(2)


def restricted(study):
    """The restricted log-likelihood as a function of the components of person, fill and reading, up to a constant."""
    persons, fills, readings = study.shape
    y, n = study.ravel(), study.size
    of_person = np.kron(np.eye(persons), np.ones((fills * readings,) * 2))
    of_fill = np.kron(np.eye(persons * fills), np.ones((readings,) * 2))
    ones = np.ones(n)

    def log_likelihood(components):
        v = components[0] * of_person + components[1] * of_fill + components[2] * np.eye(n)
        inverse = np.linalg.inv(v)
        weight = ones @ inverse @ ones
        apart = y - ones @ inverse @ y / weight
        return -0.5 * (np.linalg.slogdet(v)[1] + np.log(weight) + apart @ inverse @ apart)

    return log_likelihood


def test_the_cases_have_negative_estimates_at_either_level():
    raw = [components(made_up(*case).tolist()).raw for case in CASES]
    assert sum(c.person < 0 <= c.fill for c in raw) >= 3
    assert sum(c.fill < 0 <= c.person for c in raw) >= 3
    assert sum(c.fill < 0 and c.person < 0 for c in raw) >= 1
    assert sum(c.fill > 0 and c.person > 0 for c in raw) >= 9


@pytest.mark.parametrize(("shape", "sigmas", "seed"), CASES)
def test_no_components_are_more_likely(shape, sigmas, seed):
    study = made_up(shape, sigmas, seed)
    kept = np.array(components(study.tolist()).kept)
    likely = restricted(study)
    found = minimize(
        lambda logs: -likely(np.exp(logs)), np.log(kept + 1e-4), method="Nelder-Mead",
        options={"xatol": 1e-7, "fatol": 1e-11, "maxiter": 4000, "maxfev": 4000},
    )  # fmt: skip
    assert likely(kept) >= -found.fun - 1e-9
    # Where the likelihood is flat a component near zero may stop anywhere near zero.
    assert np.exp(found.x) == pytest.approx(kept, rel=2e-3, abs=3e-4)


@pytest.mark.parametrize(("shape", "sigmas", "seed"), CASES[::3])
def test_it_keeps_what_statsmodels_estimates(shape, sigmas, seed):
    with warnings.catch_warnings():
        # It warns of an estimate on the boundary, which is the point here.
        warnings.simplefilter("ignore")
        import pandas
        from statsmodels.regression.mixed_linear_model import MixedLM

        study = made_up(shape, sigmas, seed)
        table = pandas.DataFrame(
            [(x, p, f"{p} {f}") for (p, f, _r), x in np.ndenumerate(study)], columns=["y", "person", "fill"]
        )
        fitted = MixedLM.from_formula(
            "y ~ 1", table, groups="person", re_formula="1", vc_formula={"fill": "0 + C(fill)"}
        ).fit(reml=True, method="powell", xtol=1e-9, ftol=1e-13)
    theirs = np.array([fitted.cov_re.iloc[0, 0], fitted.vcomp[0], fitted.scale])
    kept = np.array(components(study.tolist()).kept)
    # Its usual optimisers stop at some 1e-3, and anywhere near zero on the boundary; this one does not.
    assert theirs == pytest.approx(kept, rel=1e-6, abs=1e-6 * kept.sum())


@pytest.mark.parametrize("seed", range(5))
def test_its_ratio_is_that_of_scipy_s_one_way_analysis(seed):
    study = made_up((1, 6, 4), (0, 0.3, 0.3), seed)
    fill, _reading = components(study.tolist()).table
    assert fill.f == pytest.approx(f_oneway(*study[0]).statistic, rel=1e-9)
