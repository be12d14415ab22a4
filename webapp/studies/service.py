"""The rules of a comparison: how it is planned, and how one coffee's readings are taken."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from secrets import SystemRandom

from flask_babel import gettext as _
from flask_babel import ngettext
from sqlite_utils import Database
from werkzeug.datastructures import MultiDict

from webapp import measure
from webapp.measure.compare import LEAST_COFFEES
from webapp.store import compared, gear, products
from webapp.store.comparisons import Coffee, Comparison, NewComparison, NewComparisonSample, SideName
from webapp.store.gear import Scale
from webapp.store.times import claimed_time
from webapp.studies import taking
from webapp.studies.forms import PlanForm, SampleForm

chance = SystemRandom()


# The plan --------------------------------------------------------------------------------------------


def usual_bound(db: Database, scale_id: str, kind: str) -> int | None:
    """A quarter of the narrowest band of this kind that products in use have on this scale, in hundredths.

    Our own convention: a shift of that size moves no batch from the target to a limit. None without such a band.
    """
    widths = [
        band.upper - band.lower
        for _product, target in targets_in_force(db)
        if target.scale.id == scale_id
        for band in target.bands.values()
        if band.kind == kind and band.lower is not None and band.upper is not None
    ]
    return max(1, min(widths) // 4) if widths else None


def usual_bounds(db: Database) -> list[tuple[Scale, str, int]]:
    """(scale, kind, usual bound) for every scale and kind that has one."""
    found = [(s, kind, usual_bound(db, s.id, kind)) for s in gear.list_scales(db) for kind in ("whole", "ground")]
    return [(scale, kind, bound) for scale, kind, bound in found if bound is not None]


def targets_in_force(db: Database) -> list[tuple[products.Product, products.Target]]:
    """Every product in use with its targets."""
    pairs = [(product, products.target_in_force(db, product.id)) for product in products.list_products(db)]
    return [(product, target) for product, target in pairs if target is not None]


def in_random_order(names: list[str], in_turn: bool = False) -> tuple[Coffee, ...]:
    """The coffees in a random order, each with a random three-digit code; half of them are read on side b first.

    in_turn: all of them on side a, then all on side b, because what is compared cannot be had again.

    Random order and three-digit codes are common practice in blind tasting, no source: neither the place in the row
    nor the code says anything about the coffee.
    """
    shuffled, codes = list(names), chance.sample(range(100, 1000), len(names))
    first = ["a", "b"] * (len(names) // 2) + [chance.choice("ab")] * (len(names) % 2)
    chance.shuffle(shuffled)
    chance.shuffle(first)
    if in_turn:
        first = ["a"] * len(names)
    return tuple(
        Coffee(no, name, str(code), side)
        for no, (name, code, side) in enumerate(zip(shuffled, codes, first, strict=True), 1)
    )


def settle_bound(field, db: Database, scale: Scale, kind: str) -> None:
    """Offer the usual bound where none was typed, and refuse one that is no bound; messages go beside the field."""
    if field.data is None and (usual := usual_bound(db, scale.id, kind)) is not None:
        field.raw_data, field.data = None, usual
        field.errors = [
            _("This is a quarter of the narrowest band on this scale. Change it if you like, then store the plan.")
        ]
    elif field.data is None:
        field.errors = [_("There is no band on this scale to go by. Type how far apart still counts as the same.")]
    elif field.data > (scale.upper - scale.lower) // 4:
        field.errors = [_("This is more than a quarter of the whole scale. Type a smaller number.")]


def plan(form: PlanForm, db: Database) -> NewComparison | None:
    """The plan from a form that is valid so far; None after adding what is missing beside its field."""
    meter, version = form.chosen_meter, form.version
    settle_bound(form.bound, db, meter.scale, version.kind)
    if form.errors:
        return None
    a, b = form.sides()
    what = form.what
    if what == "grinders" and form.grinder_of[a.setting_id] == form.grinder_of[b.setting_id]:
        what = "settings"
    return NewComparison(
        form.id.data, form.name.data, what, version.kind, meter.scale.id, a, b, form.fills.data, form.readings.data,
        form.bound.data, bool(form.blind.data),
        in_random_order(form.names(), what != "meters" and bool(form.in_turn.data)),
    )  # fmt: skip


# Where it stands -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Progress:
    """What has been read: by coffee and side whether it is done, how many coffees are complete, and what is next."""

    done: dict[tuple[int, SideName], bool]
    complete: int
    next: tuple[Coffee, SideName] | None

    @property
    def missing(self) -> int:
        """How many coffees are missing before there can be an outcome."""
        return max(0, LEAST_COFFEES - self.complete)


def progress(db: Database, comparison: Comparison) -> Progress:
    """Where it stands. No number is in it: whoever reads may see it."""
    there = compared.values(db, comparison)
    done = {place: value.fills >= comparison.fills for place, value in there.items()}
    order = [
        (coffee, side)
        for coffee in comparison.coffees
        for side in (coffee.first, "b" if coffee.first == "a" else "a")
    ]
    if comparison.in_turn:
        order.sort(key=lambda place: place[1])
    following = next(((coffee, side) for coffee, side in order if not done[coffee.no, side]), None)
    return Progress(done, len(compared.complete(comparison, there)), following)


# One coffee on one side ------------------------------------------------------------------------------


def with_rows(posted: Mapping[str, str], comparison: Comparison) -> tuple[MultiDict, list[str]]:
    """The posted fields with every row that the plan has room for, and the names of those it has no room for."""
    room = [f"fills-{fill}-readings-{row}" for fill in range(comparison.fills) for row in range(comparison.rows)]
    return taking.with_rows(posted, "fills", room)


def concluded() -> str:
    """What is said to readings that come too late."""
    return _("This comparison is concluded: nothing further counts.")


def others(comparison: Comparison, side: SideName) -> str:
    """What is said to somebody who reads a cup of a sign-off that is another person's."""
    name = comparison.side(side).person_name
    return _(
        "This cup is for %(name)s. In a sign-off each reads alone: if you are %(name)s, change person first; else read"
        " your own cup.",
        name=name,
    )  # fmt: skip


def kept_out(comparison: Comparison, side: SideName, late: bool, own: bool) -> list[str]:
    """Why readings cannot be stored, whatever they are; nothing if they can."""
    return [concluded()] if late else [] if own else [others(comparison, side)]


@dataclass
class Taken(taking.Rows):
    """A filled form looked through: the sample if it can be stored, and what is wrong with the form as a whole."""

    problems: list[str] = field(default_factory=list)
    sample: NewComparisonSample | None = None


def take(
    form: SampleForm, db: Database, comparison: Comparison, coffee: Coffee, side: SideName, now: datetime,
    made_at: str | None = None, *, insist: bool = True,
) -> Taken:  # fmt: skip
    """The sample from its form. `made_at`: when it was read (None: as the form says).

    `insist`: ask about what is unlikely, and for more where readings disagree; without it such questions come back
    as remarks, since the coffee may be gone when a record arrives from an outbox.
    """
    sigma_r = compared.sigmas_of(db, comparison, side).sigma_r
    taken, fine = Taken(), form.validate()
    for fill_no, fill in enumerate(form.fills, 1):
        fine &= taking.take_fill(fill.form.readings, fill_no, comparison.scale, sigma_r, taken, insist)
    taken.problems += enough(form, comparison, taken, sigma_r, insist) if fine else []
    if fine and not taken.problems:
        at = made_at or claimed_time(form.made_at.data, now)
        taken.sample = NewComparisonSample(
            form.id.data, comparison.id, coffee.no, side, form.note.data or "", at, tuple(taken.readings)
        )
    return taken


def enough(form: SampleForm, comparison: Comparison, taken: Taken, sigma_r: float, insist: bool) -> list[str]:
    """What is still missing: readings of the plan, one more where they disagree."""
    step, problems = comparison.scale.step / 100, []
    counted = {no: [] for no in range(1, comparison.fills + 1)}
    for reading in taken.readings:
        if not reading.void_reason:
            counted[reading.fill_no].append(reading.value / 100)
    if not any(counted.values()):
        return [_("Type at least one reading that counts.")]
    if form.as_is.data:
        return []
    for fill_no, values in counted.items():
        if len(values) < comparison.readings:
            problems.append(
                ngettext(
                    "Fill %(fill)d has %(num)d reading, the plan asks for %(planned)d. Read on, or tick that you"
                    " store it as it is.",
                    "Fill %(fill)d has %(num)d readings, the plan asks for %(planned)d. Read on, or tick that you"
                    " store it as it is.",
                    len(values), fill=fill_no, planned=comparison.readings,
                )
            )  # fmt: skip
            continue
        state = measure.fill_value(values, comparison.readings, sigma_r, step)
        if state.state == "more":
            said = ngettext(
                "The readings of fill %(fill)d disagree. Take %(num)d more, or tick that none can be taken.",
                "The readings of fill %(fill)d disagree. Take %(num)d more, or tick that none can be taken.",
                state.more, fill=fill_no,
            )  # fmt: skip
            (problems if insist else taken.questions).append(said)
    return problems
