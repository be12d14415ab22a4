"""The largest mix against ways to find it that share nothing with the programme: every mix of whole kilograms looked at
one by one, mixed-integer programmes, and duality.

Duality: a mix of x cannot be beaten if there are prices of the limits and of the masses, none below zero, that leave no
batch a gain and cost no more than x weighs (weak duality of linear programmes: J. Farkas 1902, D. Gale, H. W. Kuhn and
A. W. Tucker 1951). The prices are found by non-negative least squares, not by a linear programme.
"""

from __future__ import annotations

import random

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, milp, nnls
from scipy.stats import norm

from webapp.measure.blend import Held, Infeasible, Mix, Reading, largest
from webapp.measure.conformity import Band, Rule

BAND = Band(55.0, None, 58.0)


def odd_batches(rng: random.Random, most: int, kilograms: int) -> list[Held]:
    """Batches that lie beside the band on both sides, or just in it."""
    values = [rng.choice([rng.uniform(51, 55.2), rng.uniform(57.6, 61)]) for _no in range(rng.randint(2, most))]
    return [
        Held(float(rng.randint(5, kilograms)), {"ground": Reading(value, rng.uniform(0.2, 0.9), 0.1)})
        for value in values
    ]


def by_looking_at_all(held: list[Held], confidence: float) -> float:
    """The largest mass of whole kilograms, by the law of propagation and the normal distribution (JCGM 100, JCGM 106)
    for every mix there is."""
    axes = np.meshgrid(*[np.arange(int(one.mass) + 1) for one in held], indexing="ij")
    mixes = np.stack([axis.ravel() for axis in axes], 1).astype(float)[1:]
    shares = mixes / mixes.sum(1)[:, None]
    value, u, common = (np.array([getattr(one.readings["ground"], name) for one in held]) for name in
                        ("value", "u", "common"))  # fmt: skip
    y, spread = shares @ value, np.sqrt(shares**2 @ (u**2 - common**2) + (shares @ common) ** 2)
    chance = norm.cdf((BAND.upper - y) / spread) - norm.cdf((BAND.lower - y) / spread)
    return max(mixes.sum(1)[chance >= confidence], default=0.0)


@pytest.mark.parametrize("seed", range(60))
def test_it_is_the_largest_of_all_mixes_of_whole_kilograms(seed):
    rng = random.Random(seed)
    confidence = rng.choice([0.8, 0.9, 0.95])
    held = odd_batches(rng, 3, 40)
    found = largest(held, {"ground": BAND}, Rule("guarded", confidence), 1.0)
    wanted = by_looking_at_all(held, confidence)
    if isinstance(found, Mix):
        assert found.chance >= confidence
        assert found.total == wanted
    else:
        assert wanted == 0


def limits(held: list[Held], bands: dict[str, Band]) -> np.ndarray:
    """Rows a, one a limit: a mix x keeps it where a x >= 0."""
    rows = []
    for kind, band in bands.items():
        values = np.array([one.readings[kind].value for one in held])
        rows += [values - band.lower, band.upper - values]
    return np.array(rows)


def two_kinds(seed: int) -> tuple[list[Held], dict[str, Band]]:
    rng = random.Random(seed)
    held = []
    for _no in range(rng.randint(2, 9)):
        lighter = rng.uniform(-3, 3)
        whole, ground = 56 + lighter + rng.uniform(-0.7, 0.7), 61 + lighter
        held.append(Held(float(rng.randint(5, 60)), {"whole": Reading(whole, 0.0), "ground": Reading(ground, 0.0)}))
    return held, {"whole": Band(55.0, None, 57.0), "ground": Band(60.0, None, 62.0)}


@pytest.mark.parametrize("seed", range(30))
def test_nothing_larger_can_be_mixed_by_duality(seed):
    held, bands = two_kinds(seed)
    found = largest(held, bands, Rule("simple"), 1e-6)
    if isinstance(found, Infeasible):
        # Prices of the limits at which every batch is a loss (Farkas' lemma): then nothing at all can be mixed.
        rows = limits(held, bands)
        _prices, rest = nnls(np.hstack([rows.T, np.eye(len(held))]), -np.ones(len(held)))
        assert rest < 1e-6
        return
    rows, mass = limits(held, bands), np.array([one.mass for one in held])
    x = np.array(found.masses)
    # Only limits and masses that the mix leans on may have a price (complementary slackness).
    tight = [row for row in rows if abs(row @ x) < 1e-3]
    used_up = np.flatnonzero(mass - x < 1e-3)
    taken = np.flatnonzero(x > 1e-3)
    # What a kilogram of each batch brings at these prices must be its own weight, for those that are taken.
    columns = [-row for row in tight] + [np.eye(len(held))[no] for no in used_up]
    matrix = np.array(columns).T if columns else np.zeros((len(held), 1))
    slack = [-np.eye(len(held))[no] for no in range(len(held)) if no not in taken]
    system = np.hstack([matrix, np.array(slack).T]) if slack else matrix
    prices, rest = nnls(system, np.ones(len(held)))
    assert rest < 1e-5
    cost = sum(price * mass[no] for price, no in zip(prices[len(tight) :], used_up, strict=False))
    assert found.total == pytest.approx(cost, abs=1e-2)


@pytest.mark.parametrize("seed", range(30))
def test_it_misses_no_whole_step_worth_having(seed):
    """Against the mixed-integer programme of whole kilograms, which is the best there is without uncertainty."""
    held, bands = two_kinds(100 + seed)
    found = largest(held, bands, Rule("simple"), 1.0)
    best = milp(
        -np.ones(len(held)), integrality=np.ones(len(held)), bounds=(0, [one.mass for one in held]),
        constraints=LinearConstraint(limits(held, bands), -1e-9, np.inf),
    )  # fmt: skip
    wanted = -best.fun
    total = found.total if isinstance(found, Mix) else 0.0
    assert total <= wanted + 1e-6
    assert total >= wanted - len(held)
