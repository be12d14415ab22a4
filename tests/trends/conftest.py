"""Runs of a product, as they come about at the bench."""

from __future__ import annotations

import random
from datetime import timedelta

import pytest


@pytest.fixture
def roast(bench):
    """roast(values, ...) measures one batch for each value of whole bean, an hour apart, the last one an hour ago.

    Returns the batches. `ground`: how much lighter the ground coffee reads, None for not read.
    """

    def made(values, kind="whole", ground=None, ago=0, **how):
        found = []
        for no, value in enumerate(values):
            at = bench.now - timedelta(hours=len(values) - no + ago)
            batch = bench.batch(f"R-{ago}-{no:03}", at=at)
            bench.sample(batch.id, kind, [value] * 3, at=at + timedelta(minutes=5), **how)
            if ground is not None:
                bench.sample(batch.id, "ground", [round(value + ground, 1)] * 3, at=at + timedelta(minutes=9), **how)
            found.append(batch)
        return found

    return made


@pytest.fixture
def steady():
    """steady(n) gives values around 56 that no rule objects to (a fixed seed; see the test that holds this)."""

    def made(many, seed=3):
        print(f"seed {seed}")
        draw = random.Random(seed)
        return [round(56 + 0.4 * draw.uniform(-1, 1), 1) for _ in range(many)]

    return made
