"""What a precision study comes to: the numbers, the drawings, the words, and what accepting it would change."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlite_utils import Database

from webapp import measure
from webapp.measure import Judgement, Sigmas, nested, odd_values
from webapp.store import meter_state, methods, precision, results, spreads
from webapp.store.methods import MethodVersion
from webapp.store.precision import NewOutcome, Outcome, Study
from webapp.store.products import Product, Target
from webapp.studies import precision_drawing as drawing
from webapp.studies import precision_words as words
from webapp.studies.service import targets_in_force
from webapp.ui.numbers import decimal_mark


@dataclass(frozen=True)
class OddValue:
    """Something that a test points at: its number in the drawing, the test's own numbers, and the words."""

    no: int
    found: odd_values.Found
    says: str


@dataclass(frozen=True)
class Row:
    """A source of variation: its standard deviation, the 95 % interval, its share of the whole (0 to 1)."""

    part: str
    sd: float
    interval: tuple[float, float]
    share: float


@dataclass(frozen=True)
class Findings:
    """Everything for the page. `found` and what belongs to it are None or empty while the study is too small; then
    `missing` says what it lacks. `complete`: person's id -> complete fills; `seen`: how many fills were read;
    `between`: of one fill's results, every complete one, None with one person."""

    study: Study
    outcome: Outcome | None
    complete: dict[str, int]
    seen: int
    missing: str = ""
    part: nested.Part | None = None
    found: nested.Components | None = None
    headline: words.Headline | None = None
    rows: tuple[Row, ...] = ()
    slices: Sequence[drawing.Slice] = ()
    dots: drawing.Dots | None = None
    odd: tuple[OddValue, ...] = ()
    left_out: Sequence[str] = ()
    between: nested.Reproducibility | None = None

    @property
    def fine(self) -> float:
        """Statistics are shown to a tenth of the scale's step."""
        return self.study.scale.step / 1000

    def number(self, value: float) -> str:
        """A value in scale units."""
        return measure.show_value(value, self.fine, decimal_mark())

    def give(self, value: float) -> str:
        """A give or take or a limit in scale units, rounded up."""
        return measure.show_give_or_take(value, self.fine, decimal_mark())

    def plain(self, value: float) -> str:
        """A number of a test or of the analysis of variance, to four digits."""
        if value == 0:
            return "0"
        return measure.show_value(value, 10.0 ** min(math.floor(math.log10(abs(value))) - 3, 0), decimal_mark())


def gather(db: Database, study: Study) -> Findings:
    """Look at all that was read so far, or was there when the outcome was stored."""
    there = precision.values(db, study)
    read = {person: there[person] for person in study.persons}
    outcome = precision.find_outcome(db, study.id)
    complete = {person: sum(len(fill) >= study.readings for fill in fills) for person, fills in read.items()}
    seen = len(precision.list_fills(db, study.id))
    try:
        part = nested.complete_part(read, study.readings)
    except nested.TooSmall:
        return Findings(study, outcome, complete, seen, words.missing_words(study, complete))
    found = nested.components(part.values)
    counting = counting_fills(part, read)
    odd = odd_in(part, counting, study)
    return Findings(
        study, outcome, complete, seen, "", part, found, words.headline(found), rows_of(found),
        drawing.slices(found.shares, words.parts_of(found)), draw(study, part, read, counting, odd), odd,
        words.left_out_words(part.left_out, study.persons), between_persons(read, study.readings),
    )  # fmt: skip


def between_persons(read: dict[str, list[list[float]]], readings: int) -> nested.Reproducibility | None:
    """How far one fill's results of different people lie apart: of every complete fill, balanced or not."""
    own = [[measure.mean(fill[:readings]) for fill in fills if len(fill) >= readings] for fills in read.values()]
    groups = [fills for fills in own if fills]
    return nested.reproducibility(groups) if len(groups) > 1 and max(map(len, groups)) > 1 else None


def rows_of(found: nested.Components) -> tuple[Row, ...]:
    """The parts, from the meter outwards."""
    return tuple(
        Row(part, words.sigma_of(found, part), words.interval_of(found, part), found.shares[part])
        for part in words.parts_of(found)
    )


def counting_fills(part: nested.Part, read: dict[str, list[list[float]]]) -> dict[str, list[int]]:
    """Person -> which of their fills count, from 0; none of somebody who is left out."""
    gone = {(out.person, out.fill_no) for out in part.left_out}
    return {
        person: [i for i in range(len(fills)) if person in part.persons and (person, i + 1) not in gone]
        for person, fills in read.items()
    }


def odd_in(part: nested.Part, counting: dict[str, list[int]], study: Study) -> tuple[OddValue, ...]:
    """What Cochran's and Grubbs' tests point at, numbered."""
    numbered, names = [], study.persons
    for no, found in enumerate(odd_values.odd_in(part.values, study.scale.step / 100), 1):
        person = part.persons[found.person_index]
        fill = None if found.fill_index is None else counting[person][found.fill_index] + 1
        numbered.append(OddValue(no, found, words.odd_words(found, names[person], fill)))
    return tuple(numbered)


def draw(
    study: Study, part: nested.Part, read: dict[str, list[list[float]]], counting: dict[str, list[int]],
    odd: Sequence[OddValue],
) -> drawing.Dots:  # fmt: skip
    """The dots, with the numbers of what is odd."""
    of_fill: dict[tuple[str, int], tuple[int, ...]] = {}
    of_person: dict[str, tuple[int, ...]] = {}
    for one in odd:
        person, fill = part.persons[one.found.person_index], one.found.fill_index
        if fill is None:
            of_person[person] = (*of_person.get(person, ()), one.no)
        else:
            at = person, counting[person][fill]
            of_fill[at] = (*of_fill.get(at, ()), one.no)
    persons = [
        drawing.Person(
            study.persons[person], fills, frozenset(counting[person]),
            {no: marks for (whose, no), marks in of_fill.items() if whose == person}, of_person.get(person, ()),
        )
        for person, fills in read.items()
    ]  # fmt: skip
    return drawing.dots(persons, study.readings, study.scale.step / 100, study.scale.lighter)


def still_to_read(db: Database, study: Study, person_id: str) -> int:
    """How many of a person's places have no fill yet."""
    done = precision.counted_fills(db, study.id)
    return sum(place.preparer_id == person_id and place.no not in done for place in study.places)


def outcome_of(found: Findings, id: str, outcome: str, reason: str) -> NewOutcome:
    """What a lead stores. Without a result there is nothing to accept, and what there is counts as complete fills."""
    study, numbers = found.study, found.found
    if numbers is None:
        done = [n for n in found.complete.values() if n]
        size = len(done), min(done, default=0), study.readings
        return NewOutcome(id, study.id, outcome, *size, None, None, None, None, None, reason)
    size = numbers.persons, numbers.fills, numbers.readings
    if outcome != "accepted":
        return NewOutcome(id, study.id, outcome, *size, None, None, None, None, None, reason)
    return NewOutcome(
        id, study.id, outcome, *size, numbers.sigma_r, float(numbers.df_r), numbers.sigma_f, float(numbers.df_f),
        numbers.sigma_p, reason,
    )  # fmt: skip


# What accepting it changes ---------------------------------------------------------------------------


@dataclass(frozen=True)
class Example:
    """A product's sample half way between target and light limit, judged with the sigmas before and after; and how far
    inside the light limit a value must lie to be called in band (None: not even the target would be)."""

    product: Product
    value: float
    before: Judgement
    after: Judgement
    inside_before: float | None
    inside_after: float | None


@dataclass(frozen=True)
class Change:
    """Sigmas and give or take (of the version's plan) before and after. `version`: the newest of the method that
    would go by the study; `elsewhere`: the version in force where it prepares in another way, else None;
    `person_large`: people differ by more than the give or take allows for."""

    version: MethodVersion
    before: Sigmas
    after: Sigmas
    give_before: float
    give_after: float
    example: Example | None
    elsewhere: MethodVersion | None
    person_large: bool


def change(db: Database, found: Findings, now: datetime) -> Change:
    """See Change; `found` has a result."""
    study, numbers, scale = found.study, found.found, found.study.scale
    in_force = methods.version_in_force(db, study.method.method_id)
    follows = methods.same_preparation(in_force, study.method)
    version = in_force if follows else study.method
    before = spreads.sigmas_for(db, version.id, scale.id, study.kind, (scale.upper - scale.lower) / 100)
    after = Sigmas(numbers.sigma_r, numbers.sigma_f, "study")
    u_meter = meter_state.meter_u(db, study.meter, now)
    u = [standard_u(version, sigmas, scale.step / 100, u_meter) for sigmas in (before, after)]
    return Change(
        version, before, after, 2 * u[0], 2 * u[1], example(db, study, *u), None if follows else in_force,
        person_matters(numbers, u[1]),
    )  # fmt: skip


def standard_u(version: MethodVersion, sigmas: Sigmas, step: float, u_meter: float) -> float:
    """The standard uncertainty of a result by a version's own plan."""
    fills, readings = version.planned_fills, version.planned_fills * version.planned_readings
    return math.sqrt(math.fsum(measure.uncertainty_terms(fills, readings, sigmas, step, u_meter)))


def person_matters(found: nested.Components, u: float) -> bool:
    """Whether people differ by more than one result's standard uncertainty, which does not know of them. Ours."""
    return found.sigma_p is not None and found.sigma_p > u


def example(db: Database, study: Study, u_before: float, u_after: float) -> Example | None:
    """The product with the narrowest two-sided band among those that this method is for; None without one."""
    found = min(judged_by(db, study), key=lambda pair: pair[2].upper - pair[2].lower, default=None)
    if found is None:
        return None
    product, target, band = found
    limit = band.upper if study.scale.lighter > 0 else band.lower
    value, rule = (band.centre + limit) / 2, measure.Rule(target.rule, target.confidence)
    both = [u_before, u_after]
    before, after = (measure.judge(value, u, band, rule, study.scale.lighter) for u in both)
    return Example(product, value, before, after, *(inside_by(limit, u, band, rule) for u in both))


def inside_by(limit: float, u: float, band: measure.Band, rule: measure.Rule) -> float | None:
    """How far inside a limit a value is just called in band, by halving; None if the target is not. Scale units."""

    def inside(value: float) -> bool:
        return measure.judge(value, u, band, rule, 1).verdict == "inside"

    good, bad = band.centre, limit
    if not inside(good):
        return None
    if inside(bad):
        return 0.0
    for _halving in range(40):
        middle = (good + bad) / 2
        good, bad = (middle, bad) if inside(middle) else (good, middle)
    return abs(limit - good)


def judged_by(db: Database, study: Study) -> list[tuple[Product, Target, measure.Band]]:
    """Products in use whose targets have a two-sided band that results of this method on this scale are judged by."""
    found = []
    for product, target in targets_in_force(db):
        band = results.band_of(target, study.kind, study.scale.id, study.method.method_id)
        if band is not None and band.lower is not None and band.upper is not None:
            found.append((product, target, band))
    return found
