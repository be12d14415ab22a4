"""Comparisons: ten coffees on the old burrs and the new ones, concluded; and two meters, under way today.

What the coffees of the burrs read is the same on whichever day the demo is built: it always ends in moved targets.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time, timedelta
from random import Random

from demo import nature
from demo.scenario import Meter, Product
from demo.setting import Setting
from demo.work import Day
from webapp import measure
from webapp.measure import compare
from webapp.store import compared, comparisons, methods, products
from webapp.store.comparisons import Coffee, NewComparison, NewComparisonSample, NewSide
from webapp.store.new_samples import NewReading
from webapp.store.times import to_text
from webapp.store.who import Who
from webapp.studies import outcome
from webapp.studies.service import usual_bound

ROASTS = {"as usual": 0.0, "darker": -1.5, "lighter": 1.5}
BURR_COFFEES, METER_COFFEES, READ_ON_BOTH = 10, 12, 5
READINGS = 3


class Study:
    """One comparison: its plan, and the coffees that are read for it."""

    def __init__(self, setting: Setting, name: str, kind: str, meters: tuple[Meter, Meter], coffees: int) -> None:
        self.setting, self.db, self.scenario = setting, setting.db, setting.scenario
        self.id, self.name, self.kind = setting.id_for("comparison", name), name, kind
        self.meters = dict(zip(comparisons.SIDES, meters, strict=True))
        self.coffees = self.choose(coffees)
        self.fills = 2 if kind == "ground" else 1

    def choose(self, count: int) -> dict[str, tuple[Product, float]]:
        """Name -> (product, how much lighter than its target), enough of them, along the scale."""
        scale = self.meters["a"].scale
        fitting = [p for p in self.scenario.products if p.scale == scale and self.kind in p.kinds()]
        every = [(f"{p.name}, {roast}", (p, by)) for roast, by in ROASTS.items() for p in fitting]
        every += [(f"{p.name}, {roast}, other lot", (p, by + 0.4)) for roast, by in ROASTS.items() for p in fitting]
        return dict(every[:count])

    def plan(self, what: str, sides: tuple[NewSide, NewSide], who: Who, moment: datetime) -> None:
        """Store it, the coffees in an order and under codes that chance gives."""
        rng = Random(self.name)
        names, codes = rng.sample(list(self.coffees), len(self.coffees)), rng.sample(range(100, 1000), 12)
        firsts = rng.sample(comparisons.SIDES * (len(names) // 2), len(names))
        scale_id = self.setting.ids["scales", self.meters["a"].scale]
        comparisons.add_comparison(
            self.db,
            NewComparison(
                self.id, self.name, what, self.kind, scale_id, *sides, self.fills, READINGS,
                usual_bound(self.db, scale_id, self.kind), True,
                tuple(Coffee(n + 1, names[n], str(codes[n]), firsts[n]) for n in range(len(names))),
            ),
            who, moment,
        )  # fmt: skip

    def read(self, no: int, second: bool, day: int, who: Who, moment: datetime) -> None:
        """One coffee on the side that comes first for it, or on the other one."""
        coffee = comparisons.get_comparison(self.db, self.id).coffee(no)
        side = coffee.first if not second else "b" if coffee.first == "a" else "a"
        product, level = self.coffees[coffee.name]
        level += Random(f"{self.name}/{no}").gauss(0, 0.3)
        if side == "b":
            level += nature.finer(self.scenario, self.kind, day)
        lead, meter = self.scenario.people[1], self.meters[side]
        error = self.setting.errors.of(meter, day)
        dish = nature.Dish(
            Random(f"{self.name}/{no}/{side}"), self.scenario, product, self.kind, level, lead, meter, error, day
        )
        readings = []
        for fill_no in range(1, self.fills + 1):
            for n in range(1, READINGS + 1):
                value = dish.read()
                readings.append(NewReading(fill_no, n, value, measure.show_value(value / 100, dish.scale.step / 100)))
            dish.fill()
        new = NewComparisonSample(
            self.setting.id_for(self.id, no, side), self.id, no, side, "", to_text(moment), tuple(readings)
        )
        comparisons.add_sample(self.db, new, who, moment)


# The burrs -------------------------------------------------------------------------------------------


def burr_studies(setting: Setting) -> list[Study]:
    """One for each scale: the first meter on it."""
    first = {meter.scale: meter for meter in reversed(setting.scenario.meters)}
    return [
        Study(setting, f"New burrs, {first[scale.key].name}", "ground", (first[scale.key],) * 2, BURR_COFFEES)
        for scale in setting.scenario.scales
    ]


def plan_burrs(day: Day) -> None:
    """Planned on the day of the change, when the first coffees are read; the others on the working day after it.

    Ten coffees were ground on the old burrs before they came out, and kept closed.
    """
    setting, today = day.setting, day.planned[0].day
    since = setting.burr_days.index(today) if today in setting.burr_days else 2
    if since > 1:
        return
    who, at = setting.who(setting.scenario.people[1].key, "cupping"), day.local(time(10, 30))
    studies = burr_studies(setting)
    if since == 0:
        for study in studies:
            meter_id = setting.ids["meters", study.meters["a"].key]
            sides = tuple(NewSide(meter_id, *pair) for pair in setting.burr_sides())
            day.at(at, lambda then, study=study, sides=sides: study.plan("settings", sides, who, then))
    for no in range(1, 5) if since == 0 else range(5, BURR_COFFEES + 1):
        for study in studies:
            for second in (False, True):
                at += timedelta(minutes=4)
                day.at(at, lambda then, s=study, no=no, second=second: s.read(no, second, today, who, then))


def conclude_burrs(setting: Setting, who: Who, moment: datetime) -> bool:
    """The ground targets follow, by what the coffees say; False while they are not all read (see plan_burrs)."""
    if len(setting.burr_days) < 3:
        return False
    for study in burr_studies(setting):
        comparison = comparisons.get_comparison(setting.db, study.id)
        move(setting, comparison, compared.values(setting.db, comparison), who, moment)
    return True


def move(setting: Setting, comparison, values, who: Who, moment: datetime) -> None:
    """One outcome and the target versions that it makes; then the band of the difference, by hand."""
    old, new = ([values[coffee.no, side].value for coffee in comparison.coffees] for side in comparisons.SIDES)
    result, told = compare.comparison_outcome(old, new, comparison.bound / 100), setting.scenario.retarget
    moves = outcome.moves(setting.db, comparison, result.bias)
    fine = comparison.scale.step / 1000
    compared.add_outcome(
        setting.db,
        compared.NewOutcome(
            setting.id_for("outcome", comparison.id), comparison.id, result.outcome, len(old), result.bias, result.U,
            told["reason"],
        ),
        [outcome.moved_target(comparison, one, one.target.id) for one in moves],
        f"Moved by {measure.show_signed(result.bias, fine)} after the comparison {comparison.name}: {told['reason']}",
        who, moment,
    )  # fmt: skip
    for one in moves:
        if one.difference_stays:
            move_difference(setting, one, who, moment)


def move_difference(setting: Setting, moved: outcome.Move, who: Who, moment: datetime) -> None:
    """The difference moves with the ground: a comparison of ground coffee leaves it to a lead."""
    target, by = products.target_in_force(setting.db, moved.product.id), moved.moved.centre - moved.band.centre
    bands = [
        band if band.kind != "difference"
        else replace(band, lower=band.lower + by, centre=band.centre + by, upper=band.upper + by)
        for band in target.bands.values()
    ]  # fmt: skip
    products.add_target_version(
        setting.db, moved.product.id, target.scale.id, target.rule, target.confidence, target.whole_method_id,
        target.ground_method_id, bands, setting.scenario.retarget["difference"], who, moment,
    )  # fmt: skip


# Two meters ------------------------------------------------------------------------------------------


def plan_meters(day: Day) -> None:
    """Today: the two meters of one scale on the same coffees, blind, five of twelve read on both by now."""
    setting, first = day.setting, day.planned[0]
    if first.day < 0 or first.drop >= day.now:
        return
    pair = tuple(m for m in day.scenario.meters if m.scale == day.scenario.meters[0].scale)[:2]
    study = Study(setting, f"{pair[0].name} against {pair[1].name}", "whole", pair, METER_COFFEES)
    who = setting.who(setting.scenario.people[1].key, "cupping")

    def plan(moment: datetime) -> None:
        version = methods.version_in_force(setting.db, setting.methods["whole"], moment)
        study.plan("meters", tuple(NewSide(setting.ids["meters", m.key], version.id, None) for m in pair), who, moment)

    day.at(first.drop, plan)
    gap = min((day.now - first.drop) / (2 * READ_ON_BOTH + 1), timedelta(minutes=6))
    for place in range(2 * READ_ON_BOTH):
        no, second = place // 2 + 1, place % 2 == 1
        day.at(
            first.drop + gap * (place + 1),
            lambda then, no=no, second=second: study.read(no, second, first.day, who, then),
        )
