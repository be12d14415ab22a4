"""Sign-offs: the trainee's for whole bean some weeks ago, and the one for ground coffee that is under way today."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from random import Random

from demo import nature
from demo.comparing import READINGS, Study
from demo.scenario import Person
from demo.setting import Setting
from demo.work import Day
from webapp import measure
from webapp.store import comparisons, methods, signoffs
from webapp.store.comparisons import NewComparisonSample, NewSide
from webapp.store.new_samples import NewReading
from webapp.store.signoffs import NewSignOff
from webapp.store.times import to_text
from webapp.store.who import Who
from webapp.studies import sign_off

COFFEES = 10
# The first working day from then on.
WHOLE_FROM = -18
# How many cups of the one under way are read by now: by the roaster, by the trainee.
READ_TODAY = {"a": 6, "b": 4}


class Hands(Study):
    """A sign-off: the same coffees in two people's hands."""

    def __init__(self, setting: Setting, kind: str, reference: Person, trainee: Person) -> None:
        meter = setting.scenario.meters[0]
        word = "whole bean" if kind == "whole" else "ground"
        super().__init__(setting, f"{trainee.name}, {word}", kind, (meter, meter), COFFEES)
        self.fills, self.hands = 2, {"a": reference, "b": trainee}

    def plan_it(self, who: Who, moment: datetime) -> None:
        """The plan, with the method version in force."""
        version = methods.version_in_force(self.db, self.setting.methods[self.kind], moment)
        meter_id = self.setting.ids["meters", self.meters["a"].key]
        sides = tuple(
            NewSide(meter_id, version.id, version.grinder_setting_id, self.setting.ids["people", person.key])
            for person in self.hands.values()
        )
        self.plan("people", sides, who, moment)

    def read_by(self, no: int, side: str, day: int, moment: datetime) -> None:
        """One cup in one of the two pairs of hands."""
        coffee, person = comparisons.get_comparison(self.db, self.id).coffee(no), self.hands[side]
        product, level = self.coffees[coffee.name]
        level += Random(f"{self.name}/{no}").gauss(0, 0.3) + nature.finer(self.scenario, self.kind, day)
        meter = self.meters[side]
        dish = nature.Dish(
            Random(f"{self.name}/{no}/{side}"), self.scenario, product, self.kind, level, person, meter,
            self.setting.errors.of(meter, day), day,
        )  # fmt: skip
        readings = []
        for fill_no in range(1, self.fills + 1):
            for n in range(1, READINGS + 1):
                value = dish.read()
                readings.append(NewReading(fill_no, n, value, measure.show_value(value / 100, dish.scale.step / 100)))
            dish.fill()
        new = NewComparisonSample(
            self.setting.id_for(self.id, no, side), self.id, no, side, "", to_text(moment), tuple(readings)
        )
        comparisons.add_sample(self.db, new, self.setting.who(person.key, "cupping"), moment)

    def conclude(self, who: Who, moment: datetime) -> None:
        """What the numbers say, for a year."""
        there = comparisons.get_comparison(self.db, self.id)
        found = sign_off.gather(self.db, there, who.person_id)
        until = sign_off.end_of(moment, 12, self.scenario.site["time_zone"]) if found.passed else None
        new = NewSignOff(
            self.setting.id_for(self.id, "sign-off"), there.b.person_id, self.kind,
            "signed_off" if found.passed else "not_yet", self.id, found.evidence, until,
            "Steady hands: go on like this." if found.passed else "Practise filling and levelling, then again.",
        )  # fmt: skip
        signoffs.add_signoff(self.db, new, who, moment)


def plan_sign_offs(day: Day) -> None:
    """Whole bean on one working day of the past, ground coffee today."""
    setting, today = day.setting, day.planned[0].day
    trainee = next((p for p in day.scenario.people if p.role == "trainee"), None)
    if trainee is None or ("people", trainee.key) not in setting.ids:
        return
    roasters = [p for p in day.scenario.people if p.role == "roaster"]
    lead = setting.who(day.scenario.people[0].key, "cupping")
    if today >= WHOLE_FROM and not setting.signed_off:
        setting.signed_off = True
        plan_whole(day, Hands(setting, "whole", roasters[0], trainee), lead)
    if today == 0 and day.planned[0].drop < day.now:
        plan_ground(day, Hands(setting, "ground", roasters[1], trainee), lead)


def plan_whole(day: Day, study: Hands, lead: Who) -> None:
    """Planned in the morning, read by both, concluded in the afternoon."""
    today, at = day.planned[0].day, day.local(time(9, 40))
    day.at(at, lambda then: study.plan_it(lead, then))
    for no in range(1, COFFEES + 1):
        for side in comparisons.SIDES:
            at += timedelta(minutes=5)
            day.at(at, lambda then, no=no, side=side: study.read_by(no, side, today, then))
    day.at(at + timedelta(hours=2), lambda then: study.conclude(lead, then))


def plan_ground(day: Day, study: Hands, lead: Who) -> None:
    """As many cups as are read by now, in what time there has been."""
    first, places = day.planned[0].drop, [(no, side) for side, most in READ_TODAY.items() for no in range(1, most + 1)]
    day.at(first, lambda then: study.plan_it(lead, then))
    gap = min((day.now - first) / (len(places) + 1), timedelta(minutes=7))
    for at, (no, side) in enumerate(sorted(places), 1):
        day.at(first + gap * at, lambda then, no=no, side=side: study.read_by(no, side, 0, then))
