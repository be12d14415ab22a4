"""The meters under control: each plate read in the morning and at midday, and what follows where a check fails."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from random import Random

from demo import words
from demo.capture import Capture
from demo.nature import plate_readings
from demo.scenario import Meter
from demo.work import Day
from webapp import measure
from webapp.store import checks, gear, look_backs
from webapp.store.checks import CheckReading, NewCheck
from webapp.store.gear import Plate
from webapp.store.look_backs import Doubt
from webapp.store.times import to_text

READINGS = 3
MIDDAY = time(12)
YESTERDAY = -1


def plan_checks(day: Day, yesterday: bool) -> None:
    """Every meter is checked before the first batch of the day and again at midday; `yesterday`: see day_plan."""
    for place, meter in enumerate(day.scenario.meters):
        Checked(day, meter, is_knocked(day, meter, yesterday)).plan(minutes_before=11 - 3 * place)


def is_knocked(day: Day, meter: Meter, yesterday: bool) -> bool:
    """Whether something happens to the meter today: once, and not on a Saturday if it can be another day."""
    if meter.knock is None or meter.key in day.setting.errors.adjusted:
        return False
    if meter.knock["day"] == YESTERDAY:
        return yesterday
    first = day.planned[0]
    return meter.knock["day"] <= first.day < YESTERDAY and first.date.weekday() < 5


class Checked:
    """One meter on one day; `knocked`: something happens to it after its first check."""

    def __init__(self, day: Day, meter: Meter, knocked: bool) -> None:
        self.day, self.meter, self.knocked = day, meter, knocked
        self.setting, self.db, self.scenario = day.setting, day.db, day.scenario
        self.today, self.pace = day.planned[0].day, day.planned[0].pace
        self.rng = Random(f"{day.seed}/{self.today}/checks/{meter.key}")

    def minutes(self, least: float, most: float) -> timedelta:
        """Some time, less of it on a day that is squeezed."""
        return timedelta(minutes=self.rng.uniform(least, most) * self.pace)

    def plan(self, minutes_before: float) -> None:
        """When it is checked: by the start of each shift at the latest, or at midday."""
        first, last = self.day.planned[0], self.day.planned[-1]
        before = (minutes_before + self.rng.uniform(-1.2, 1.2)) * first.pace
        opening = first.drop - timedelta(minutes=before)
        self.day.at(opening, self.open)
        clocks = [time.fromisoformat(text) for text in self.meter.check.get("starts", "").split()] or [MIDDAY]
        later = [self.day.local(clock) + timedelta(minutes=self.rng.uniform(0.2, 1.5)) for clock in clocks]
        later = [moment for moment in later if moment > opening]
        if first.date.weekday() >= 5 and self.today < 0:
            # On a Saturday everybody has gone home by then.
            later = [last.drop + timedelta(minutes=60)] if self.knocked else []
        for moment in later:
            self.day.at(moment, self.check)

    def open(self, moment: datetime) -> None:
        """The first check of the day."""
        self.check(moment)
        if self.knocked:
            self.setting.errors.knock(self.meter)

    def check(self, moment: datetime) -> None:
        """The plate is read; a meter that is off is adjusted at once and its plate read again."""
        meter_id = self.setting.ids["meters", self.meter.key]
        plate = gear.get_meter(self.db, meter_id).plate
        readings = self.read("found", plate)
        failed = not checks.work_out(readings, False, plate.assigned, plate.tolerance).passed
        if failed:
            self.setting.errors.adjust(self.meter, self.today)
            readings += self.read("left", plate)
        each = self.minutes(0.3, 0.6)
        steps = tuple(
            (step, to_text(moment - each * (len(checks.STEPS) + 1 - no))) for no, step in enumerate(checks.STEPS)
        )
        new = NewCheck(
            self.setting.id_for("check", self.meter.key, to_text(moment)), meter_id, plate.id, plate.name, failed,
            words.ADJUSTED if failed else "", to_text(moment), tuple(readings), steps,
        )  # fmt: skip
        on_shift = [p for p in self.day.planned if p.drop <= moment] or self.day.planned[:1]
        who = self.setting.who(on_shift[-1].roaster.key, self.setting.bench())
        checks.add_check(self.db, new, who, moment)
        self.setting.u_meters.pop(meter_id, None)
        # Yesterday's look-back is left open: somebody has to find one.
        if failed and not (self.knocked and self.meter.knock["day"] == YESTERDAY):
            self.day.at(moment + self.minutes(60, 200), lambda then: self.look_back(new.id, then))

    def read(self, stage: str, plate: Plate) -> list[CheckReading]:
        """The readings of one stage."""
        step = self.scenario.get("scales", self.meter.scale).step / 100
        error = self.setting.errors.of(self.meter, self.today)
        values = plate_readings(self.rng, self.scenario, self.meter, error, READINGS)
        return [CheckReading(stage, no, v, measure.show_value(v / 100, step)) for no, v in enumerate(values, 1)]

    def look_back(self, check_id: str, moment: datetime) -> None:
        """A lead goes through what was read since the meter was good: the most urgent is held, the rest accepted."""
        check = checks.get_check(self.db, check_id)
        lead = self.setting.who(self.scenario.people[0].key, "cupping")
        doubts = look_backs.doubts(self.db, check)
        for place, doubt in enumerate(doubts):
            held = place == 0 and len(doubts) > 1
            what, reasons = ("held", words.DOUBTED) if held else ("accepted", words.accepted(doubt.would_change))
            look_backs.settle(
                self.db, check, doubt.sample_id, what, self.rng.choice(reasons), lead, moment,
                self.setting.id_for(check_id, doubt.sample_id),
            )  # fmt: skip
            work = self.setting.works[doubt.batch_id]
            if held:
                self.day.at(moment + self.minutes(20, 35), lambda then, doubt=doubt: self.again(doubt, then))
            elif doubt.decision == "hold":
                self.day.at(moment + self.minutes(2, 4), work.settle)

    def again(self, doubt: Doubt, moment: datetime) -> None:
        """A sample is read again, on a meter that is proven."""
        work, lead = self.setting.works[doubt.batch_id], self.scenario.people[0]
        work.meter = next(m for m in self.scenario.meters if m.scale == self.meter.scale)
        who = self.setting.who(lead.key, "cupping")
        slip = Capture(work, lead, doubt.kind).store(who, moment, "again")
        if slip:
            self.day.at(moment + self.minutes(1, 2), lambda then: work.correct(slip, who, then))
        self.day.at(moment + self.minutes(3, 5), work.settle)
