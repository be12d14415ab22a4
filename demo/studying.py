"""Precision studies: one of ground coffee some weeks ago, read by three roasters and accepted; one under way today.

What is read is chance's of the study's name: the finished one is the same on whichever day the demo is built.
"""

from __future__ import annotations

from datetime import datetime, time, timedelta
from random import Random

from demo import nature
from demo.setting import Setting
from demo.work import Day
from webapp import measure
from webapp.measure import nested
from webapp.store import methods, precision
from webapp.store.precision import NewFill, NewOutcome, NewPlace, NewStudy
from webapp.store.readings import NewReading
from webapp.store.times import to_text

FINISHED, UNDER_WAY = "Ground, on the new burrs", "Whole bean, with Tomas"
FINISHED_FROM = -20
FILLS, READINGS, READ_BY_NOW = 4, 3, 5


class Study:
    """One study: its plan, and the fills that are read for it."""

    def __init__(self, setting: Setting, name: str, kind: str, people: tuple[str, ...]) -> None:
        self.setting, self.db, self.scenario = setting, setting.db, setting.scenario
        self.id, self.name, self.kind = setting.id_for("precision study", name), name, kind
        self.people, self.meter, self.product = people, self.scenario.meters[0], self.scenario.products[0]

    def plan(self, moment: datetime) -> None:
        """Store it, in rounds whose order chance gives."""
        rng, ids = Random(self.name), self.setting.ids
        order = [(key, no) for no in range(1, FILLS + 1) for key in rng.sample(self.people, len(self.people))]
        places = tuple(NewPlace(no, ids["people", key], fill) for no, (key, fill) in enumerate(order, 1))
        version = methods.version_in_force(self.db, self.setting.methods[self.kind], moment)
        new = NewStudy(
            self.id, self.name, f"{self.product.name}, one batch", version.id, ids["meters", self.meter.key], FILLS,
            READINGS, places,
        )  # fmt: skip
        precision.add_study(self.db, new, self.lead(), moment)

    def lead(self):
        """Who plans it and accepts it."""
        return self.setting.who(self.scenario.people[1].key, "cupping")

    def read(self, no: int, day: int, moment: datetime) -> None:
        """The fill at one place, by its own person."""
        place = precision.get_study(self.db, self.id).place(no)
        person = next(p for p in self.scenario.people if self.setting.ids["people", p.key] == place.preparer_id)
        dish = nature.Dish(
            Random(f"{self.name}/{no}"), self.scenario, self.product, self.kind,
            nature.finer(self.scenario, self.kind, day), person, self.meter,
            self.setting.errors.of(self.meter, day), day,
        )  # fmt: skip
        values = [dish.read() for _reading in range(READINGS)]
        readings = tuple(
            NewReading(1, n, value, measure.show_value(value / 100, dish.scale.step / 100))
            for n, value in enumerate(values, 1)
        )
        new = NewFill(self.setting.id_for(self.id, no), self.id, no, "", to_text(moment), readings)
        precision.add_fill(self.db, new, self.setting.who(person.key, self.setting.bench()), moment)

    def accept(self, moment: datetime) -> None:
        """What all of it says is taken."""
        study = precision.get_study(self.db, self.id)
        part = nested.complete_part(precision.values(self.db, study), READINGS)
        found = nested.components(part.values)
        new = NewOutcome(
            self.setting.id_for("precision outcome", self.id), self.id, "accepted", len(part.persons), part.fills,
            part.readings, found.sigma_r, found.df_r, found.sigma_f, found.df_f, found.sigma_p,
            "All twelve fills read within one afternoon, from one batch.",
        )  # fmt: skip
        precision.add_outcome(self.db, new, self.lead(), moment)


def plan_precision(day: Day) -> None:
    """What is done for precision studies on this day."""
    setting, today = day.setting, day.planned[0].day
    if today >= FINISHED_FROM and setting.studied is None:
        setting.studied = today
        finish(day, Study(setting, FINISHED, "ground", ("ravi", "lucia", "anneliese")), today)
    if today == 0 and day.planned[0].drop < day.now:
        begin(day, Study(setting, UNDER_WAY, "whole", ("ines", "ravi", "tomas")))


def finish(day: Day, study: Study, today: int) -> None:
    """Planned, read and accepted in an afternoon."""
    at = day.local(time(13))
    day.at(at, study.plan)
    for no in range(1, len(study.people) * FILLS + 1):
        at += timedelta(minutes=5)
        day.at(at, lambda then, no=no: study.read(no, today, then))
    day.at(at + timedelta(minutes=20), study.accept)


def begin(day: Day, study: Study) -> None:
    """Planned this morning; some of the fills are read by now."""
    first = day.planned[0].drop
    day.at(first, study.plan)
    gap = min((day.now - first) / (READ_BY_NOW + 1), timedelta(minutes=6))
    for no in range(1, READ_BY_NOW + 1):
        day.at(first + gap * no, lambda then, no=no: study.read(no, 0, then))
