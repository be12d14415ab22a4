"""A working day at the bench: batches are noted, samples read, mistakes corrected, batches released or held.

Each step is an event at its time, stored through the same functions as the screens use. What lies after the
present moment is simply not done yet: so today is as unfinished as a real day.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable
from datetime import UTC, datetime, time, timedelta
from itertools import count
from random import Random
from zoneinfo import ZoneInfo

from demo import nature, words
from demo.capture import Capture
from demo.plan import Planned
from demo.scenario import Person
from demo.setting import Setting
from webapp.store import batches, corrections, countersigns, decisions, results
from webapp.store.batches import NewBatch
from webapp.store.connect import write
from webapp.store.meter_state import FINE
from webapp.store.times import to_text

# Among so many of today's newest batches the trainee's still wait for somebody to countersign.
STILL_WAIT = 10


class Day:
    """Runs one day's events in the order of time, in one transaction."""

    def __init__(
        self, setting: Setting, seed: str, planned: list[Planned], now: datetime, twice: bool, elsewhere: bool
    ) -> None:  # fmt: skip
        self.setting, self.db, self.scenario = setting, setting.db, setting.scenario
        self.seed, self.planned, self.now = seed, planned, now
        self.twice = next((p.number for p in planned if len(p.product.kinds()) == 2), None) if twice else None
        # The batch whose ground sample is first ground on the wrong grinder.
        usual = self.scenario.meters[0].scale
        both = (p.number for p in planned if len(p.product.kinds()) == 2 and p.product.scale == usual)
        self.elsewhere = next(both, None) if elsewhere else None
        self.queue: list[tuple[datetime, int, Callable]] = []
        self.tie = count()

    def at(self, moment: datetime, action: Callable[[datetime], None]) -> None:
        """Do something then."""
        heapq.heappush(self.queue, (moment, next(self.tie), action))

    def local(self, clock: time) -> datetime:
        """A clock time of this day, in UTC."""
        return datetime.combine(self.planned[0].date, clock, ZoneInfo(self.scenario.site["time_zone"])).astimezone(UTC)

    def run(self) -> None:
        """Everything up to now."""
        open_now = self.left_open()
        for plan in self.planned:
            work = Work(self, plan, most=open_now.get(plan.number, 2))
            self.setting.works[work.batch_id] = work
            self.at(plan.drop + work.minutes(1, 3), work.note_batch)
        with write(self.db):
            while self.queue and self.queue[0][0] <= self.now:
                moment, _tie, action = heapq.heappop(self.queue)
                action(moment)

    def left_open(self) -> dict[int, int]:
        """Today's batch number -> how many kinds are read of it so far: none of the last, one of one before it."""
        begun = [p for p in self.planned if p.day == 0 and p.drop < self.now]
        if not begun:
            return {}
        half = next((p.number for p in reversed(begun[:-1]) if len(p.product.kinds()) == 2), None)
        return {half: 1, begun[-1].number: 0}


class Work:
    """What happens to one batch; `most`: how many kinds are read of it at most."""

    def __init__(self, day: Day, plan: Planned, most: int) -> None:
        self.day, self.plan, self.setting, self.db = day, plan, day.setting, day.db
        self.scenario = day.scenario
        self.rng = Random(f"{day.seed}/{plan.day}/{plan.number}")
        self.roast = nature.roast(self.rng, self.scenario, plan.product, plan.machine, plan.day, plan.nth)
        self.batch_id = self.setting.id_for(day.seed, plan.day, plan.number)
        self.kinds = self.which_kinds(most)
        self.meter = self.which_meter()
        self.apart = False

    def minutes(self, least: float, most: float) -> timedelta:
        """Some time, less of it on a day that is squeezed."""
        return timedelta(minutes=self.rng.uniform(least, most) * self.plan.pace)

    def which_kinds(self, most: int) -> list[str]:
        """Which kinds will be read. On past days some batches were forgotten, wholly or half."""
        if self.plan.number == self.day.elsewhere:
            return self.plan.product.kinds()
        kinds, luck, odd = self.plan.product.kinds(), self.rng.random(), self.scenario.odd
        if self.plan.day == 0:
            return kinds[:most]
        return [] if luck < odd["unmeasured"] else kinds[:1] if luck < odd["unmeasured"] + odd["half"] else kinds

    def which_meter(self):
        """The meter at hand for this batch, one for both kinds."""
        usable = [m for m in self.scenario.meters if m.scale == self.plan.product.scale]
        return next((m for m in usable if m.share < 1 and self.rng.random() < m.share), usable[0])

    def tablet(self, other: bool = False) -> str:
        """The tablet at hand."""
        bench = self.setting.bench()
        near = "second" if self.plan.machine.key == "small" else bench
        return ("second" if near == bench else bench) if other else near

    def hands(self) -> Person:
        """Who reads: the roaster, or the trainee while he learns, now and then a lead."""
        trainees = [p for p in self.scenario.people if p.role == "trainee" and ("people", p.key) in self.setting.ids]
        if trainees and (self.rng.random() < 0.25 or (self.plan.day == 0 and self.plan.number % 4 == 2)):
            return trainees[0]
        leads = [p for p in self.scenario.people if p.role == "lead"]
        return self.rng.choice(leads) if self.rng.random() < 0.08 else self.plan.roaster

    def note_batch(self, moment: datetime) -> None:
        """The batch is written down while it cools."""
        plan, roast, ids = self.plan, self.roast, self.setting.ids
        who = self.setting.who(plan.roaster.key, self.tablet())
        sparse = self.rng.random() < 0.06
        day = plan.date.isoformat()
        new = NewBatch(
            self.batch_id, batches.propose_code(self.db, day), ids["products", plan.product.key],
            ids["machines", plan.machine.key], plan.lot, roast.green_g, None if sparse else self.weighed(),
            None if sparse else roast.drop_decicelsius, None if sparse else roast.total_s,
            None if sparse else roast.development_s, words.batch_note(self.rng), to_text(plan.drop), to_text(moment),
        )  # fmt: skip
        batches.add_batch(self.db, new, who, moment)
        reader = self.hands()
        after = moment + self.minutes(8, 15)
        for kind in self.kinds:
            self.day.at(after, self.reading_by(reader, kind, self.tablet(self.rng.random() < 0.06)))
            after += self.minutes(4, 7)
        if self.plan.number == self.day.twice:
            other = next(p for p in self.scenario.people if p.role == "lead")
            self.day.at(moment + self.minutes(15, 16), self.reading_by(other, "whole", self.tablet(other=True)))

    def weighed(self) -> int:
        """The roasted mass as it is written down: once, another batch's."""
        mix_up = self.scenario.mix_up
        here = self.plan.day >= mix_up["day"] and self.plan.product.key == mix_up["product"] and len(self.kinds) == 2
        if self.setting.mixed_up or not here:
            return self.roast.roasted_g
        self.setting.mixed_up = self.batch_id
        return round(self.roast.green_g * (1 - self.scenario.get("products", mix_up["of"]).loss / 100))

    def reading_by(self, reader: Person, kind: str, tablet: str) -> Callable[[datetime], None]:
        """The event of reading one sample."""

        def read(moment: datetime) -> None:
            who = self.setting.who(reader.key, tablet)
            if kind == "ground" and self.plan.number == self.day.elsewhere and not self.apart:
                self.apart = True
                wrong = self.setting.ids["settings", self.scenario.grind["setting"]]
                Capture(self, reader, kind, wrong).store(who, moment, "elsewhere")
                self.day.at(moment + self.minutes(6, 9), read)
                return
            capture = Capture(self, reader, kind)
            slip = capture.store(who, moment)
            if slip:
                self.day.at(moment + self.minutes(6, 25), lambda then: self.correct(slip, who, then))
            if kind == self.kinds[-1]:
                self.day.at(moment + self.minutes(1, 4), self.decide)

        return read

    def correct(self, slip: tuple[str, int, int, int], who, moment: datetime) -> None:
        """The wrong digit is seen on the strip and put right."""
        sample_id, fill_no, reading_no, value = slip
        corrections.add_correction(
            self.db, self.setting.id_for(sample_id, "correction"), sample_id, fill_no, reading_no, value,
            self.rng.choice(words.CORRECTED), who, moment,
        )  # fmt: skip

    def decide(self, moment: datetime) -> None:
        """The roaster releases what is in band, and holds the rest for a lead."""
        roaster = self.setting.who(self.plan.roaster.key, self.tablet())
        if not self.countersigned(roaster, moment):
            return
        result = results.get_batch_result(self.db, self.batch_id)
        verdict, fine = result.verdict, result.meter_state in FINE
        if not fine:
            self.say("hold", self.rng.choice(words.NOT_PROVEN), roaster, moment)
        elif verdict in ("inside", "unjudged"):
            if self.plan.day < 0 or self.rng.random() < 0.9:
                self.say("release", "", roaster, moment)
            return
        elif verdict != "incomplete" and self.rng.random() < 0.75:
            self.say("hold", words.held(self.rng, verdict), roaster, moment)
        if self.plan.day < 0 and self.rng.random() < 0.97:
            self.day.at(moment + self.minutes(40, 220), self.settle)

    def countersigned(self, who, moment: datetime) -> bool:
        """Whether somebody stands behind what the trainee has read. The newest of today still wait for that."""
        waiting = [sample.id for sample in countersigns.waiting_samples(self.db, self.batch_id)]
        begun = [p.number for p in self.day.planned if p.day == 0 and p.drop < self.day.now]
        if waiting and self.plan.number in begun[-STILL_WAIT:]:
            return False
        if waiting:
            sign_id = self.setting.id_for(self.batch_id, "countersigned", *waiting)
            countersigns.add_countersignature(self.db, sign_id, self.batch_id, waiting, "", who, moment)
        return True

    def settle(self, moment: datetime) -> None:
        """A lead looks at what was held. It may have been corrected, or completed, in the meantime."""
        leads = [p for p in self.scenario.people if p.role == "lead"]
        lead = self.setting.who(self.rng.choice(leads).key, "cupping")
        self.countersigned(lead, moment)
        result = results.get_batch_result(self.db, self.batch_id)
        what, reason = words.settled(self.rng, result.verdict, result.meter_state)
        if self.plan.day == -1 and result.verdict == "undecided" and what == "concession":
            what, reason = "remeasure", words.READ_AGAIN
        self.say(what, reason, lead, moment)

    def say(self, what: str, reason: str, who, moment: datetime) -> None:
        """Store a decision."""
        decision_id = self.setting.id_for(self.batch_id, what, to_text(moment))
        customer = words.CUSTOMERS.get(reason)
        decisions.add_decision(self.db, decision_id, self.batch_id, what, reason, who, moment, customer=customer)
