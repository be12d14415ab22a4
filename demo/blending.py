"""A blend-off, once: what is held is mixed with what helps, tried, read, and carried out."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from random import Random

from demo.scenario import Product
from demo.work import Day
from webapp.measure.blend import Held, Mix, largest
from webapp.store import batches, blend_candidates, blends, decisions, methods, new_samples, products, results
from webapp.store.batches import NewBatch
from webapp.store.blends import Blend, Expected, Known, NewBlend, NewPart
from webapp.store.new_samples import NewReading, NewSample
from webapp.store.products import Target
from webapp.store.samples import StepDone
from webapp.store.times import to_text

# The first working day from then on, on which something that is held can be mixed.
FROM = -14
STEP, TRIAL = 100, 1000
HELPING = 2
# How much darker than expected a mix reads, in units of lightness, and how much that varies.
MIXED, SCATTER = -0.15, 0.12


def plan_blend(day: Day) -> None:
    """After the day's roasting, until it was done."""
    if FROM <= day.planned[0].day < 0 and not day.setting.blended:
        day.at(day.local(time(17)), lambda then: look_for_one(day, then))


def look_for_one(day: Day, moment: datetime) -> None:
    """The first product of which there is a mix of something held."""
    setting = day.setting
    for product in day.scenario.products:
        target = products.target_in_force(setting.db, setting.ids["products", product.key], moment)
        since = to_text(moment - timedelta(days=7))
        found = [one for one in blend_candidates.list_candidates(setting.db, target, since, since)
                 if one.lacks is None and one.left_g]  # fmt: skip
        held = [one for one in found if one.group == "held" and one.verdict == "outside"]
        helping = [one for one in found if one.group == "inside"][-HELPING:]
        if not held or len(held) + len(helping) < 2:
            continue
        taken = [*held, *helping]
        bands = {kind: band.in_units() for kind, band in target.bands.items()}
        mix = largest([Held(one.left_g, one.readings(bands)) for one in taken], bands, target.as_rule(), STEP)
        parts = [(one, round(mass)) for one, mass in zip(taken, getattr(mix, "masses", ()), strict=False) if mass]
        if len(parts) > 1 and any(one.group == "held" for one, _mass in parts):
            setting.blended = store(day, product, target, mix, parts, moment)
            return


def store(day: Day, product: Product, target: Target, mix: Mix, parts: list[tuple], moment: datetime) -> str:
    """The trial as a batch; it is read in half an hour."""
    setting, now = day.setting, to_text(moment)
    lead = setting.who(day.scenario.people[0].key, "cupping")
    code = batches.propose_code(setting.db, day.planned[0].date.isoformat())
    batch = NewBatch(
        setting.id_for("blended", code), code, target.product_id, max(parts, key=lambda part: part[1])[0].machine_id,
        "", None, None, None, None, None, "", now, now,
    )  # fmt: skip
    known = tuple(
        NewPart(one.batch_id, grams, {k: Known(one.parts[k].value, one.parts[k].u) for k in target.bands})
        for one, grams in parts
    )
    expected = {kind: Expected(p.value, p.u, p.chance) for kind, p in mix.predicted.items()}
    new = NewBlend(setting.id_for("blend", code), batch, target.id, target.confidence, TRIAL,
                   "Too good for the office: mixed it is in band.", known, expected)  # fmt: skip
    blend = blends.add_blend(setting.db, new, lead, moment)
    day.at(moment + timedelta(minutes=30), lambda then: read(day, product, blend, then))
    day.at(moment + timedelta(minutes=50), lambda then: carry_out(day, blend, then))
    return blend.id


def read(day: Day, product: Product, blend: Blend, moment: datetime) -> None:
    """Two fills of each kind, around what is expected."""
    setting, rng = day.setting, Random(f"{day.seed}/blend")
    roaster = setting.who(next(p.key for p in day.scenario.people if p.role == "roaster"), setting.bench())
    meter = next(m for m in day.scenario.meters if m.scale == product.scale)
    scale = day.scenario.get("scales", product.scale)
    off = rng.gauss(MIXED, SCATTER) * scale.unit * scale.lighter
    for kind in product.kinds():
        version = methods.version_in_force(setting.db, setting.methods[kind], moment)
        value = blend.expected[kind].value + off
        readings = []
        for fill_no in (1, 2):
            for no in range(1, version.planned_readings + 1):
                hundredths = round((value + rng.gauss(0, 0.1) * scale.unit) * 100 / scale.step) * scale.step
                readings.append(NewReading(fill_no, no, hundredths, f"{hundredths / 100:g}"))
        steps = tuple(StepDone(step.no, to_text(moment), "21" if step.note_label else "") for step in version.steps)
        new = NewSample(
            setting.id_for(blend.id, kind), blend.batch_id, kind, version.id, setting.ids["meters", meter.key], "short",
            "", to_text(moment), tuple(readings), steps,
        )  # fmt: skip
        new_samples.add_sample(setting.db, new, roaster, moment)


def carry_out(day: Day, blend: Blend, moment: datetime) -> None:
    """In band: the lead releases the trial and decides about its parts."""
    setting = day.setting
    lead = setting.who(day.scenario.people[0].key, "cupping")
    stands = results.get_batch_result(setting.db, blend.batch_id)
    if stands.verdict != "inside":
        return
    decision = setting.id_for(blend.id, "release")
    decisions.add_decision(setting.db, decision, blend.batch_id, "release", "", lead, moment)
    there = blends.get_blend(setting.db, blend.id)
    if blends.ready(setting.db, there) and not blends.changed_parts(setting.db, there):
        blends.carry_out(setting.db, blend.id, "The trial is in band: mixed and bagged.", lead, moment)
