"""Reading one sample, as the capture page would have it: the steps, the readings, one more when they disagree."""

from __future__ import annotations

from datetime import datetime, timedelta

from demo import words
from demo.nature import Dish, finer, hurried
from demo.scenario import Person
from webapp import measure
from webapp.store import gear, meter_state, methods, new_samples, products, spreads
from webapp.store.methods import MethodVersion
from webapp.store.new_samples import NewReading, NewSample
from webapp.store.samples import StepDone
from webapp.store.times import to_text
from webapp.store.who import Who


class Capture:
    """One sample of one kind, taken by one person. `elsewhere`: the setting at which it was ground by mistake."""

    def __init__(self, work, reader: Person, kind: str, elsewhere: str | None = None) -> None:
        self.work, self.reader, self.kind, self.db, self.rng = work, reader, kind, work.db, work.rng
        plan, self.odd = work.plan, work.scenario.odd
        self.elsewhere = elsewhere
        truth = work.roast.whole if kind == "whole" else work.roast.ground
        ground = work.scenario.grind["elsewhere"] if elsewhere else finer(work.scenario, kind, plan.day)
        error = work.setting.errors.of(work.meter, plan.day)
        self.dish = Dish(
            self.rng, work.scenario, plan.product, kind, truth + ground, reader, work.meter, error, plan.day,
            hurried(work.scenario, kind, plan.date, plan.day),
        )  # fmt: skip
        self.meter = gear.get_meter(self.db, work.setting.ids["meters", work.meter.key])
        self.readings: list[NewReading] = []
        self.slip: tuple[int, int, int] | None = None

    def store(self, who: Who, moment: datetime, name: str = "") -> tuple[str, int, int, int] | None:
        """Store it; returns (sample, fill, reading, right value) if a wrong digit went in.

        `name`: tells it from another sample of the same batch, kind and person.
        """
        setting, plan = self.work.setting, self.work.plan
        version = methods.version_in_force(self.db, setting.methods[self.kind], moment)
        self.read(version, moment)
        sample_id = setting.id_for(self.work.batch_id, self.kind, self.reader.key, *filter(None, (name,)))
        checklist = self.checklist()
        new = NewSample(
            sample_id, self.work.batch_id, self.kind, version.id, self.meter.id, checklist,
            words.sample_note(self.rng), to_text(moment - timedelta(seconds=0.4)), tuple(self.readings),
            self.steps(version, checklist, moment, plan.pace), self.elsewhere,
        )  # fmt: skip
        new_samples.add_sample(self.db, new, who, moment)
        return (sample_id, *self.slip) if self.slip else None

    def checklist(self) -> str:
        """How the steps were gone through: a trainee walks them, others mostly tick them at once."""
        if self.reader.role == "trainee" or not self.reader.short:
            return "walked"
        return self.rng.choices(("short", "walked", "page"), (85, 13, 2))[0]

    def steps(self, version: MethodVersion, checklist: str, moment: datetime, pace: float) -> tuple[StepDone, ...]:
        """Each step with the time at which it was ticked."""
        each = timedelta(seconds=0 if checklist == "short" else self.rng.uniform(8, 20) * pace)
        start = moment - each * len(version.steps) - timedelta(seconds=35 * pace)
        return tuple(
            StepDone(s.no, to_text(start + each * s.no), str(self.rng.randint(19, 25)) if s.note_label else "")
            for s in version.steps
        )

    def read(self, version: MethodVersion, moment: datetime) -> None:
        """Readings of the first fill; of a second one where the result is too close to call, most of the time."""
        span = (self.meter.scale.upper - self.meter.scale.lower) / 100
        sigmas = spreads.sigmas_for(self.db, version.id, self.meter.scale.id, self.kind, span)
        step = self.meter.scale.step / 100
        fills = [self.read_fill(1, version.planned_readings, sigmas, step)]
        if self.too_close(fills, sigmas, step, moment) and self.rng.random() < 0.7:
            self.dish.fill()
            self.read_fill(2, version.planned_readings, sigmas, step)

    def read_fill(self, fill_no: int, planned: int, sigmas: measure.Sigmas, step: float) -> measure.FillValue:
        """As many readings as the method asks for, and the further ones that their disagreement asks for."""
        counted: list[float] = []
        while True:
            value = self.dish.read()
            no = 1 + sum(r.fill_no == fill_no for r in self.readings)
            if self.rng.random() < self.odd["struck_out"]:
                wrong = self.on_scale(value + self.rng.choice((-1, 1)) * round(self.rng.uniform(4, 12)) * self.far())
                self.add(fill_no, no, wrong, void=self.rng.choice(("mistyped", "moved", "other")))
                no += 1
            typed = value
            if self.slip is None and self.rng.random() < self.odd["mistyped"] / 3:
                typed = self.on_scale(value - 10 * self.far())
                self.slip = (fill_no, no, value)
            self.add(fill_no, no, typed, sure=typed != value)
            counted.append(typed / 100)
            found = measure.fill_value(counted, planned, sigmas.sigma_r, step)
            if len(counted) >= planned and found.state != "more":
                return found

    def add(self, fill_no: int, no: int, value: int, void: str = "", sure: bool = False) -> None:
        """One reading, as it was typed."""
        text = measure.show_value(value / 100, self.meter.scale.step / 100)
        if self.rng.random() < self.odd["comma"]:
            text = text.replace(".", ",")
        self.readings.append(NewReading(fill_no, no, value, text, void, sure))

    def far(self) -> int:
        """One unit of lightness on this scale, in hundredths."""
        return round(self.dish.scale.unit * 100)

    def on_scale(self, value: int) -> int:
        """Within the scale's ends."""
        return min(self.meter.scale.upper, max(self.meter.scale.lower, value))

    def too_close(self, fills: list[measure.FillValue], sigmas: measure.Sigmas, step: float, moment: datetime) -> bool:
        """Whether the page would say so by now."""
        product_id = self.work.setting.ids["products", self.work.plan.product.key]
        target = products.target_in_force(self.db, product_id, moment)
        result = measure.sample_result(fills, sigmas, step, self.u_meter(moment))
        band = target.bands[self.kind].in_units()
        found = measure.judge(result.value, result.u, band, target.as_rule(), self.meter.scale.lighter)
        return found.verdict == "undecided"

    def u_meter(self, moment: datetime) -> float:
        """The meter's uncertainty, the same until its next check."""
        known, scale = self.work.setting.u_meters, self.meter.scale
        if self.meter.id not in known:
            span, tolerance = (scale.upper - scale.lower) / 100, self.meter.plate.tolerance
            known[self.meter.id] = meter_state.uncertainty(self.db, self.meter.id, tolerance, span, moment)[0]
        return known[self.meter.id]
