"""Practice: the same page, checks and arithmetic as a sample, on an invented batch. Nothing of it is stored.

The invented dish comes from the number in the form alone (a random seed), so that the server keeps nothing between the
form and its answer. Its spread is the method's own, so that readings agree and disagree about as often as at the bench.
"""

from __future__ import annotations

import random
import re
import secrets
from dataclasses import asdict, dataclass, replace
from datetime import datetime

from flask_babel import gettext as _
from sqlite_utils import Database

from webapp import measure
from webapp.bench import page as pages
from webapp.bench.filling import MOST_FILLS
from webapp.bench.page import CapturePage, Practice
from webapp.store import gear, meter_state, methods, spreads
from webapp.store.gear import Meter, Scale
from webapp.store.methods import MethodVersion
from webapp.store.new_samples import NewSample
from webapp.store.products import Target, TargetBand
from webapp.store.results import BatchResult, PartResult
from webapp.ui import verdict_words
from webapp.ui.part_views import PartView, drawn
from webapp.ui.verdict_words import Words

INVENTED, OWN = "invented", "own"
DISHES = (INVENTED, OWN)
NUMBER = re.compile(r"practice-([0-9a-f]{16})")
NOTHING = "practice"
# Of an invented dish, on a scale of 100 units: where its band may lie, how wide half of it is, and how far from its
# target the dish may read, in half bands. How often a first fill has one odd reading, and by how many sigmas.
MIDDLE, HALF, FARTHEST, ODD_SHARE, ODD_SIGMAS = (0.4, 0.6), 2.0, 1.5, 0.3, 5.0


@dataclass(frozen=True)
class InventedBatch:
    """Stands where a page shows its batch. Its id is none that a stored batch could have."""

    product_name: str
    code: str
    id: str = NOTHING


@dataclass(frozen=True)
class FillSaid:
    """One fill of the answer, for reading: numbers as printed. odd: the reading farthest from its fellows, if they
    disagree; misread: (reading, typed, shown) where another number was typed than the practice meter showed."""

    no: int
    readings: tuple[str, ...]
    value: str
    how: str
    range: str
    limit: str
    state: str
    odd: int | None
    misread: tuple[tuple[int, str, str], ...]


@dataclass(frozen=True)
class Answer:
    """What a finished practice shows: the part as every result shows it, its words, the fills one by one, and the
    widest range that fills may show ("" with one fill)."""

    view: PartView
    words: Words
    fills: tuple[FillSaid, ...]
    fills_range: str
    fills_limit: str
    checklist: str


def usable(db: Database) -> tuple[list[MethodVersion], list[Meter]]:
    """The methods and meters in use, in the order of choice."""
    return methods.list_methods(db), [m for m in gear.list_meters(db) if m.active]


def new_number() -> str:
    """For a form that is opened: another dish each time."""
    return f"practice-{secrets.token_hex(8)}"


def gather(
    db: Database, asked: dict[str, str], number: str, version_id: str, now: datetime
) -> CapturePage | None:
    """The page; None without a method or a meter. asked: method, dish and meter as the address has them; what is not
    known is the first there is. number and version_id: of the form; a number that is no practice's is replaced, and a
    form finishes on the version of the method that it was opened with."""
    versions, meters = usable(db)
    if not versions or not meters:
        return None
    method = next((v for v in versions if v.method_id == asked.get("method")), versions[0])
    opened = (v for v in methods.list_versions(db, method.method_id) if v.id == version_id)
    method = next(opened, method)
    own = asked.get("dish") == OWN
    chosen = next((m for m in meters if m.id == asked.get("meter")), meters[0])
    meter = chosen if own else replace(chosen, name=_("Practice meter"))
    scale, number = meter.scale, number if NUMBER.fullmatch(number) else new_number()
    sigmas = spreads.sigmas_for(db, method.id, scale.id, method.kind, (scale.upper - scale.lower) / 100)
    target, shows = (None, ()) if own else invent(number, method, scale, sigmas)
    return CapturePage(
        InventedBatch(_("Your own dish") if own else _("Invented coffee"), _("Practice")), method.kind, method, target,
        target.bands[method.kind] if target else None, [meter], meter, sigmas, [],
        pages.settings_for(db, method), u_meter=meter_state.meter_u(db, chosen, now),
        setting=method.grinder_setting_id, practice=Practice(number, shows),
    )  # fmt: skip


def invent(
    number: str, method: MethodVersion, scale: Scale, sigmas: measure.Sigmas
) -> tuple[Target, tuple[tuple[str, ...], ...]]:
    """(target with a made-up band, what the practice meter shows of each fill), the same for the same number."""
    chance = random.Random(number)
    lower, upper, step = scale.lower / 100, scale.upper / 100, scale.step / 100
    half = max(round(HALF * (upper - lower) / 100 / step), 2) * step
    centre = round((lower + chance.uniform(*MIDDLE) * (upper - lower)) / step) * step
    truth = centre + chance.uniform(-FARTHEST, FARTHEST) * half
    odd = chance.randrange(method.planned_readings) if chance.random() < ODD_SHARE else None
    turns = method.planned_readings + measure.more_readings(max(2, method.planned_readings))
    shows = []
    for fill in range(MOST_FILLS):
        dish = truth + chance.gauss(0, sigmas.sigma_f)
        row = [dish + chance.gauss(0, sigmas.sigma_r) for _turn in range(turns)]
        if fill == 0 and odd is not None:
            row[odd] += ODD_SIGMAS * sigmas.sigma_r * chance.choice((-1, 1))
        shows.append(tuple(measure.show_value(min(max(value, lower), upper), step) for value in row))
    band = TargetBand(method.kind, *(round(100 * v) for v in (centre - half, centre, centre + half)))
    made = Target(NOTHING, NOTHING, 1, scale, "guarded", 0.8, None, None, {method.kind: band}, "", "", None)
    return made, tuple(shows)


def answer(sample: NewSample, page: CapturePage) -> Answer:
    """What the page of a finished practice says, worked out as a stored sample's result is."""
    planned, step, sigmas = page.method.planned_readings, page.step, page.sigmas
    counted: dict[int, list[tuple[int, float, str]]] = {}
    for reading in sample.readings:
        if not reading.void_reason:
            counted.setdefault(reading.fill_no, []).append((reading.no, reading.value / 100, reading.typed))
    values = {no: [value for _no, value, _typed in row] for no, row in sorted(counted.items())}
    fills = {no: measure.fill_value(row, planned, sigmas.sigma_r, step, final=True) for no, row in values.items()}
    result = measure.sample_result(list(fills.values()), sigmas, step, page.u_meter)
    off = sample.grinder_setting_id != page.method.grinder_setting_id
    part = judged(result, list(fills.values()), page, off)
    means = [fill.value for fill in fills.values()]
    return Answer(
        drawn(part, page.meter.scale, page.target),
        words(part, page, sample if off else None),
        tuple(said(no, fills[no], counted[no], page) for no in fills),
        measure.show_value(max(means) - min(means), step) if len(means) > 1 else "",
        widest(result.fills_limit, step),
        sample.checklist,
    )


def judged(
    result: measure.Result, fills: list[measure.FillValue], page: CapturePage, off: bool
) -> PartResult:
    """The part, against the made-up band unless there is none, or it was ground at another setting."""
    found: dict = {}
    if page.band and not off:
        band, rule, lighter = page.band.in_units(), page.target.as_rule(), page.meter.scale.lighter
        found = asdict(measure.judge(result.value, result.u, band, rule, lighter))
        if found["verdict"] == "undecided":
            per_fill = max(1, round(result.readings / result.fills))
            found["settle_fills"] = measure.fills_to_settle(
                result.value, result.fills, per_fill, page.sigmas, page.step, page.u_meter, band, rule, lighter
            )
    return PartResult(
        NOTHING, page.kind, result.value, result.u, *result.terms.values(), result.fills, result.readings, 1,
        int(any(fill.state == "disagree" for fill in fills)), int(result.fills_disagree), 0, page.meter.scale.id,
        NOTHING if page.target else None, page.method.id, page.sigmas.sigma_r, page.sigmas.sigma_f,
        page.sigmas.source, "", **found, apart_why="setting" if off else None,
    )  # fmt: skip


def words(part: PartResult, page: CapturePage, off: NewSample | None) -> Words:
    """The verdict in the words of every result; `off`: the sample, if it was ground at another setting."""
    if off is None and page.band is None:
        no_band = _("A dish of your own has no band here: practice does not know the coffee.")
        return Words("unjudged", None, _("Read, not judged."), no_band, "")
    names = {one.id: one.name for one in page.settings}
    ground_at = off and (names.get(off.grinder_setting_id, ""), names.get(page.method.grinder_setting_id, ""))
    stands = BatchResult(NOTHING, part.verdict or "unjudged", part.chance, ())
    return verdict_words.plain_words(stands, {part.kind: part}, {part.kind: page.step}, ground_at)


def said(no: int, fill: measure.FillValue, row: list[tuple[int, float, str]], page: CapturePage) -> FillSaid:
    """One fill, for reading."""
    step = page.step
    shown = page.practice.shows[no - 1] if page.practice.shows else ()
    values = [value for _no, value, _typed in row]
    disagree = fill.limit is not None and fill.state != "agree"
    middle = measure.median(values)
    typed = [(reading, measure.show_value(value, step)) for reading, value, _typed in row]
    return FillSaid(
        no,
        tuple(text for _no, text in typed),
        measure.show_value(fill.value, step),
        fill.how,
        measure.show_value(fill.range, step),
        widest(fill.limit, step),
        fill.state,
        max(row, key=lambda one: abs(one[1] - middle))[0] if disagree and len(row) > 2 else None,
        tuple(
            (reading, text, shown[reading - 1]) for reading, text in typed
            if reading <= len(shown) and text != shown[reading - 1]
        ),
    )  # fmt: skip


def widest(limit: float | None, step: float) -> str:
    """The widest range that still agrees, as readings can show it: a whole number of steps. "" without a limit."""
    return "" if limit is None else measure.show_value(int(limit / step + 1e-9) * step, step)
