"""Made-up mornings at a bench, each from a number: the same number gives the same work (under other ids)."""

from __future__ import annotations

import random
import uuid
from datetime import datetime, timedelta

from tests.support.roastery import Roastery
from webapp.store import corrections, decisions, methods, new_samples, products, samples
from webapp.store.new_samples import NewReading, NewSample
from webapp.store.products import TargetBand
from webapp.store.samples import StepDone
from webapp.store.times import to_text


class Morning:
    """Random work at the roastery, through the store's own functions."""

    def __init__(self, bench: Roastery, seed: int, start: datetime) -> None:
        self.bench, self.db = bench, bench.db
        self.dice = random.Random(seed)
        self.now = start
        self.batches: list[str] = []
        self.samples: list[str] = []

    def work(self, steps: int) -> None:
        """Begin with two batches, then do `steps` random things."""
        self.batch()
        self.batch()
        doings = [self.batch, self.sample, self.sample, self.sample, self.correction, self.decision]
        doings += [self.new_targets, self.new_method]
        for _ in range(steps):
            # Now and then two things in the same millisecond, and the server's clock set back.
            self.now += timedelta(milliseconds=self.dice.choice([0, 1, 1000, 60_000, -5000]))
            self.dice.choice(doings)()

    def fresh(self) -> str:
        """An id."""
        return str(uuid.UUID(int=self.dice.getrandbits(128), version=4))

    def batch(self) -> None:
        """Another roast."""
        self.batches.append(self.bench.batch(at=self.now).id)

    def sample(self) -> None:
        """Whole bean or ground, on either meter, one to three fills, some readings void."""
        dice, kind = self.dice, self.dice.choice(["whole", "ground"])
        meter, centre = dice.choice(
            [(self.bench.meter, {"whole": 5600, "ground": 6100}[kind])] * 4 + [(self.bench.flipped_meter, 4500)]
        )
        centre += dice.choice([0, 0, 60, -140, 200])
        readings = []
        for fill_no in range(1, dice.choice([1, 1, 2, 3]) + 1):
            fill = centre + dice.randint(-5, 5) * 10
            for no in range(1, dice.randint(1, 5) + 1):
                value = fill + dice.randint(-4, 4) * 10
                void = dice.choice(["", "", "", "", "mistyped"])
                readings.append(NewReading(fill_no, no, value, f"{value / 100:.1f}", void))
        version = methods.version_in_force(self.db, self.bench.methods[kind])
        new = NewSample(
            self.fresh(), dice.choice(self.batches[-4:]), kind, version.id, meter, dice.choice(["walked", "page"]), "",
            to_text(self.now), tuple(readings), (StepDone(1, to_text(self.now)),),
        )  # fmt: skip
        new_samples.add_sample(self.db, new, self.bench.who(), self.now)
        self.samples.append(new.id)

    def correction(self) -> None:
        """Another value for a reading, or none."""
        if not self.samples:
            return
        sample = samples.get_sample(self.db, self.dice.choice(self.samples))
        reading = self.dice.choice(sample.readings)
        value = self.dice.choice([None, reading.value + 10, reading.value - 300])
        corrections.add_correction(
            self.db, self.fresh(), sample.id, reading.fill_no, reading.no, value, "Looked again.", self.bench.who(),
            self.now,
        )  # fmt: skip

    def decision(self) -> None:
        """Release, hold or reject."""
        what = self.dice.choice(["release", "hold", "reject"])
        decisions.add_decision(
            self.db, self.fresh(), self.dice.choice(self.batches), what, "So.", self.bench.who("lead"), self.now
        )

    def new_targets(self) -> None:
        """Other bands, another rule, now and then on the other scale or for one kind only."""
        dice, shift = self.dice, self.dice.choice([-100, 0, 50])
        bands = [
            TargetBand("whole", 5450 + shift, 5600 + shift, 5750 + shift),
            TargetBand("ground", dice.choice([None, 5950]), 6100, 6250),
            TargetBand("difference", 350, 500, 650),
        ]
        products.add_target_version(
            self.db, self.bench.product, dice.choice([self.bench.scale] * 3 + [self.bench.flipped]),
            dice.choice(["guarded", "simple"]), dice.choice([0.8, 0.95]), self.bench.methods["whole"],
            dice.choice([None, self.bench.methods["ground"]]), dice.sample(bands, dice.randint(1, 3)), "Tasted.",
            self.bench.who("lead"), self.now,
        )  # fmt: skip

    def new_method(self) -> None:
        """A next version of a method: what is read by it is another series."""
        kind = self.dice.choice(["whole", "ground"])
        there = methods.version_in_force(self.db, self.bench.methods[kind])
        methods.add_version(
            self.db, there.method_id, there.dish, self.dice.randint(1, 4), self.dice.randint(1, 2),
            there.grinder_setting_id, there.steps, "Tried.", self.bench.who("lead"), self.now,
        )  # fmt: skip
