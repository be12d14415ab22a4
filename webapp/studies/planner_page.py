"""The planner: what each number of fills and readings gives and costs, and what the plan in force gives."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from sqlite_utils import Database
from werkzeug.datastructures import MultiDict
from wtforms import HiddenField, RadioField, SelectField
from wtforms.fields.choices import SelectChoice

from webapp import measure
from webapp.measure import planner
from webapp.store import gear, meter_state, products, spreads
from webapp.store.gear import Meter
from webapp.store.methods import MethodVersion
from webapp.studies import precision_drawing as drawing
from webapp.ui.fields import HundredthsField
from webapp.ui.forms import BaseForm, required
from webapp.ui.numbers import decimal_mark, shortest
from webapp.ui.record_fields import NOT_OFFERED, LineField, RecordIdField
from webapp.ui.spread_words import SpreadLine, spread_line

# Hundredths of a minute, to start with: emptying, filling and levelling a dish, and one reading. An assumption of this
# project, from no source: the form shows it, and a lead types what it takes at their bench.
FILL_MINUTES, READING_MINUTES = 2_00, 25
# Drawings of steps that fill a dish: what is waited for before them is waited for once a sample, not once a fill.
FILLING = ("fill-deep", "spread-shallow")
FIELDS = ("meter", "fill_minutes", "reading_minutes", "wanted")


class CostForm(BaseForm):
    """What a fill and a reading cost, and the give or take that is wanted. Sent by GET: it stores nothing."""

    class Meta(BaseForm.Meta):
        """Nothing is stored, so nothing has to be proven."""

        csrf = False

    meter = SelectField(_l("Meter"), invalid_choice_message=NOT_OFFERED)
    fill_minutes = HundredthsField(
        _l("Minutes for a fill"), message=_l("Type how many minutes."), least=0, most=120_00
    )
    reading_minutes = HundredthsField(
        _l("Minutes for a reading"), message=_l("Type how many minutes."), least=0, most=60_00
    )
    wanted = HundredthsField(_l("Give or take that you want"), least=1, most=100_000_00)

    @classmethod
    def asked(cls, args: Mapping[str, str], meters: list[Meter], likely: Meter, version: MethodVersion) -> CostForm:
        """The form with what was asked, and what there is to start with for the rest."""
        usual = {
            "meter": likely.id, "fill_minutes": shortest(FILL_MINUTES + refill_minutes(version), 2),
            "reading_minutes": shortest(READING_MINUTES, 2), "wanted": "",
        }  # fmt: skip
        form = cls(formdata=MultiDict(usual | {name: args[name] for name in FIELDS if name in args}))
        form.meter.choices = [SelectChoice(m.id, f"{m.name} ({m.scale.name})") for m in meters]
        return form


class ApplyForm(BaseForm):
    """The plan that becomes the method's next version. `base`: the version that the page was shown for."""

    id = RecordIdField()
    base = HiddenField()
    plan = RadioField(
        _l("Plan"), validators=[required(_l("Choose a plan in the table."))], invalid_choice_message=NOT_OFFERED,
        choices=[SelectChoice(f"{fills}x{readings}") for fills in range(1, 5) for readings in range(1, 6)],
    )  # fmt: skip
    reason = LineField(_l("Why is it changed?"), message=_l("Say in a few words why."), most=200)

    def chosen(self) -> tuple[int, int]:
        """(fills, readings) of a form that is valid."""
        fills, readings = self.plan.data.split("x")
        return int(fills), int(readings)

    def same_as(self, version: MethodVersion) -> bool:
        """Whether the chosen plan is the one in force; says so beside it."""
        if self.chosen() != (version.planned_fills, version.planned_readings):
            return False
        self.plan.errors = [_("This is the plan in force. Choose another one.")]
        return True


def refill_minutes(version: MethodVersion) -> int:
    """What the method's timers add to each fill, in hundredths of a minute."""
    first = next((at for at, step in enumerate(version.steps) if step.picture in FILLING), 0)
    return round(sum(step.timer_s or 0 for step in version.steps[first:]) * 100 / 60)


def likely_meter(db: Database, version: MethodVersion, meters: list[Meter]) -> Meter | None:
    """One on a scale on which this version is read or its products have targets; else any."""
    read = spreads.scales_read_on(db, [version.id])
    targets = (products.target_in_force(db, product.id) for product in products.list_products(db))
    aimed = {t.scale.id for t in targets if t and version.method_id in (t.whole_method_id, t.ground_method_id)}
    for scales in (read, aimed):
        found = next((meter for meter in meters if meter.scale.id in scales), None)
        if found:
            return found
    return next(iter(meters), None)


@dataclass(frozen=True)
class Planned:
    """The table and what goes with it. Numbers in scale units and minutes.

    `give_now`, `minutes_now`: of the plan in force, which may lie outside of the table; `stays`: what its fills leave
    of the give or take however often they are read; `by_reading`, `by_fill`: both drawings.
    """

    version: MethodVersion
    meter: Meter
    line: SpreadLine
    cells: tuple[planner.Cell, ...]
    wanted: float | None
    cheapest: planner.Cell | None
    floor: float
    give_now: float
    minutes_now: float
    stays: float
    other: float
    by_reading: list[drawing.Bar]
    by_fill: list[drawing.Bar]

    @property
    def now(self) -> tuple[int, int]:
        """Fills and readings of the plan in force."""
        return self.version.planned_fills, self.version.planned_readings

    @property
    def rows(self) -> list[tuple[planner.Cell, ...]]:
        """The table's rows: one number of fills each."""
        return [tuple(c for c in self.cells if c.fills == fills) for fills in sorted({c.fills for c in self.cells})]

    def give(self, value: float) -> str:
        """A give or take, to a tenth of the scale's step, rounded up."""
        return measure.show_give_or_take(value, self.line.fine, decimal_mark())

    def minutes(self, value: float) -> str:
        """Minutes as they are typed: to a tenth, without an empty decimal."""
        return measure.show_value(value, 1 if abs(value - round(value)) < 0.05 else 0.1, decimal_mark())

    def reaches(self, cell: planner.Cell) -> bool:
        """Whether a plan gives what is wanted."""
        return self.wanted is not None and planner.cheapest([cell], self.wanted) is not None


def gather(db: Database, version: MethodVersion, form: CostForm, now: datetime) -> Planned:
    """The planner of a valid form."""
    meter = gear.get_meter(db, form.meter.data)
    line, step = spread_line(db, version, meter.scale), meter.scale.step / 100
    u_meter = meter_state.meter_u(db, meter, now)
    costs = planner.Costs(form.fill_minutes.data / 100, form.reading_minutes.data / 100)
    cells = planner.table(line.sigmas.sigma_r, line.sigmas.sigma_f, step, u_meter, costs)
    wanted = None if form.wanted.data is None else form.wanted.data / 100
    fills, readings = version.planned_fills, version.planned_readings
    fill, reading, *rest = measure.uncertainty_terms(fills, fills * readings, line.sigmas, step, u_meter)
    along = [c for c in cells if c.fills == fills], [c for c in cells if c.readings == min(readings, 5)]
    most = max((c.give_or_take / 2) ** 2 for side in along for c in side)
    by_reading, by_fill = (drawing.bars(side, most, (fills, readings)) for side in along)
    return Planned(
        version, meter, line, cells, wanted, None if wanted is None else planner.cheapest(cells, wanted),
        planner.floor(cells), 2 * math.sqrt(math.fsum((fill, reading, *rest))),
        fills * (costs.fill_minutes + readings * costs.reading_minutes), 2 * math.sqrt(math.fsum((fill, *rest))),
        2 * math.sqrt(math.fsum(rest)), by_reading, by_fill,
    )  # fmt: skip
