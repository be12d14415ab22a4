"""Runs of a product, as they come about at the bench."""

from __future__ import annotations

import random
import uuid
from datetime import timedelta

import pytest

from webapp.store import baselines


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


@pytest.fixture
def fields():
    """fields(page, **typed): the hidden fields of a page's posting form, with what was typed."""

    def of(page, **typed):
        inside = [e for e in page.find("input", type="hidden") if "form" in e.inside]
        return {e.attrs["name"]: e.attrs.get("value", "") for e in inside if e.attrs.get("name")} | typed

    return of


@pytest.fixture
def freeze(bench, db):
    """freeze(batches, centre, sigma): limits frozen from them by the lead, at the present moment."""

    def made(batches, centre=56.0, sigma=0.25, version=None, kind="whole", when=None):
        version = version or bench.versions[kind].id
        place = baselines.Place(bench.product, kind, bench.scale, version)
        limits = baselines.Frozen(batches[0].id, batches[-1].id, len(batches), centre, sigma)
        new = baselines.NewBaseline(str(uuid.uuid4()), place, limits, "Steady since March.")
        baselines.add_baseline(db, new, bench.who("lead"), when or bench.now)
        return baselines.find_baseline(db, place)

    return made
