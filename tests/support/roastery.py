"""A small made-up roastery for the tests: three people, one tablet, two scales, one of each piece of gear."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from sqlite_utils import Database

from webapp.gear.defaults import install_default_methods
from webapp.store import (
    batches,
    checks,
    gear,
    meter_rules,
    methods,
    new_samples,
    people,
    products,
    samples,
    sessions,
    site,
)
from webapp.store.batches import NewBatch
from webapp.store.checks import CheckReading, NewCheck
from webapp.store.connect import write
from webapp.store.new_samples import NewReading, NewSample
from webapp.store.products import TargetBand
from webapp.store.samples import StepDone
from webapp.store.times import to_text
from webapp.store.who import SYSTEM, Who

PINS = {"lead": "271828", "roaster": "314159", "trainee": "161803"}
NAMES = {"lead": "Ada", "roaster": "Ravi", "trainee": "Tomas"}
# Everything is set up well before the tests' own moments.
BEGINNING = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)


@dataclass
class Roastery:
    """Ids of everything, and short ways to make more."""

    db: Database
    now: datetime = field(default_factory=lambda: datetime.now(UTC))
    people: dict[str, str] = field(default_factory=dict)

    def who(self, role: str = "roaster") -> Who:
        """The person with this role, on the tablet."""
        return Who(self.people[role], role, self.tablet)

    def batch(self, code: str = "", product: str | None = None, at: datetime | None = None) -> batches.Batch:
        """A batch that was roasted at `at`."""
        at = at or self.now
        new = NewBatch(
            str(uuid.uuid4()), code or f"T-{uuid.uuid4().hex[:6]}", product or self.product, self.machine, "Lot 1",
            12000, 10200, 2050, 690, 105, "", to_text(at), to_text(at),
        )  # fmt: skip
        return batches.add_batch(self.db, new, self.who(), at)

    def sample(
        self, batch_id: str, kind: str, *fills: list[float], at: datetime | None = None, role: str = "roaster",
        meter: str | None = None,
    ) -> samples.Sample:  # fmt: skip
        """A sample with these fills of readings, in scale units."""
        at = at or self.now
        readings = tuple(
            NewReading(fill_no, no, round(value * 100), f"{value}")
            for fill_no, fill in enumerate(fills, 1)
            for no, value in enumerate(fill, 1)
        )
        version = self.versions[kind]
        steps = tuple(StepDone(step.no, to_text(at)) for step in version.steps)
        new = NewSample(
            str(uuid.uuid4()), batch_id, kind, version.id, meter or self.meter, "walked", "", to_text(at), readings,
            steps,
        )  # fmt: skip
        return new_samples.add_sample(self.db, new, self.who(role), at)

    def check(
        self, found: list[float], left: list[float] | None = None, at: datetime | None = None, meter: str | None = None,
        role: str = "roaster",
    ) -> checks.Check:  # fmt: skip
        """A check of a meter: readings of its plate as found, and as left if it was adjusted, in scale units."""
        at, meter = at or self.now, meter or self.meter
        plate = gear.plate_in_force(self.db, meter)
        readings = tuple(
            CheckReading(stage, no, round(value * 100), f"{value}")
            for stage, values in (("found", found), ("left", left or []))
            for no, value in enumerate(values, 1)
        )
        steps = tuple((step, to_text(at)) for step in checks.STEPS)
        adjusted = left is not None
        new = NewCheck(str(uuid.uuid4()), meter, plate.id, plate.name, adjusted, "", to_text(at), readings, steps)
        return checks.add_check(self.db, new, self.who(role), at)

    def ask_for_checks(
        self, due: str = "hours", every: int | None = 8, starts: str = "", at: datetime | None = None
    ) -> str:
        """A rule for the meter, from `at`."""
        return meter_rules.add_rule(
            self.db, self.meter, due, every, starts, 600, 3, "First rule.", self.who("lead"), at or BEGINNING
        )


def make(db: Database) -> Roastery:
    """Set it up in an empty, migrated database."""
    made = Roastery(db)
    then = BEGINNING
    with write(db):
        site.put_site(db, site.Site("Test roastery", "Europe/Vienna", 10, 12), SYSTEM, then)
        for role, name in NAMES.items():
            made.people[role] = people.add_person(db, name, role, PINS[role], SYSTEM, then)
        made.tablet, made.tablet_secret = sessions.enrol_tablet(db, "Bench tablet", SYSTEM, then)
        made.scale = gear.add_scale(db, "Scale A", 0, 15000, 10, 1, SYSTEM, then)
        made.flipped = gear.add_scale(db, "Scale B", 0, 10000, 10, -1, SYSTEM, then)
        made.meter = gear.add_meter(db, "Meter A", made.scale, "Plate 1", 6000, 20, SYSTEM, then)
        made.flipped_meter = gear.add_meter(db, "Meter B", made.flipped, "Plate 2", 5000, 20, SYSTEM, then)
        made.machine = gear.add_machine(db, "Machine 1", SYSTEM, then)
        made.grinder = gear.add_grinder(db, "Grinder 1", SYSTEM, then)
        made.setting = gear.add_grinder_setting(db, made.grinder, "7", SYSTEM, then)
        made.methods = install_default_methods(db, SYSTEM, then, made.setting)
        made.product = products.add_product(
            db, "Lantern House", "LH", made.scale, "guarded", 0.8, made.methods["whole"], made.methods["ground"],
            [
                TargetBand("whole", 5450, 5600, 5750),
                TargetBand("ground", 5950, 6100, 6250),
                TargetBand("difference", 350, 500, 650),
            ],
            SYSTEM, then,
        )  # fmt: skip
    made.versions = {kind: methods.version_in_force(db, made.methods[kind]) for kind in ("whole", "ground")}
    return made


def later(moment: datetime, **delta: float) -> datetime:
    """`moment` plus a timedelta."""
    return moment + timedelta(**delta)
