"""Planning a precision study: what it takes, and the random order in which it is read; and where it stands."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from secrets import SystemRandom

from sqlite_utils import Database

from webapp.store import precision
from webapp.store.methods import MethodVersion
from webapp.store.precision import Fill, NewPlace, NewStudy, Place, Study
from webapp.studies.precision_forms import StudyForm

chance = SystemRandom()
# What a fill takes besides the method's timers, to start with: an assumption of this project, from no source. The
# form shows it, and a lead types what it is at their bench.
ASSUMED_MINUTES = 3_00


# What it takes ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Needs:
    """What a plan takes: fills, readings and seconds in all, seconds of each person, of which timers of one fill;
    grams of coffee (None: nobody said how much a fill takes)."""

    fills: int
    readings: int
    seconds: int
    seconds_each: int
    timers: int
    grams: int | None

    @property
    def minutes(self) -> int:
        """All of it in whole minutes, rounded up."""
        return -(-self.seconds // 60)

    @property
    def minutes_each(self) -> int:
        """Of each person, in whole minutes, rounded up."""
        return -(-self.seconds_each // 60)


def timers_of(version: MethodVersion) -> int:
    """Seconds that the timers of the steps run, once through the method."""
    return sum(step.timer_s or 0 for step in version.steps)


def needs(form: StudyForm) -> Needs:
    """What the plan of a valid form takes."""
    persons, fills, timers = len(set(form.persons.data)), form.fills.data, timers_of(form.version)
    # Hundredths of a minute.
    each = fills * (timers + round(form.minutes.data * 60 / 100))
    grams = form.grams.data and form.grams.data * persons * fills
    return Needs(persons * fills, persons * fills * form.readings.data, persons * each, each, timers, grams)


def mark(form: StudyForm) -> str:
    """Stands for everything that `needs` and the order come from: whether what was shown is what is stored."""
    facts = (form.method.data, form.meter.data, sorted(set(form.persons.data)), form.fills.data, form.readings.data,
             form.minutes.data, form.grams.data)  # fmt: skip
    return hashlib.sha256(repr(facts).encode()).hexdigest()[:16]


# The plan --------------------------------------------------------------------------------------------


def in_rounds(persons: Iterable[str], fills: int) -> tuple[NewPlace, ...]:
    """As many rounds as fills; in each everybody has one fill, in a random order.

    Rounds keep what walks with time (the meter, the coffee, tired hands) from looking like somebody's own: randomised
    blocks, as in NIST/SEMATECH e-Handbook 5.3.3.2.
    """
    each = sorted(set(persons))
    order = [(person, fill) for fill in range(1, fills + 1) for person in chance.sample(each, len(each))]
    return tuple(NewPlace(no, person, fill) for no, (person, fill) in enumerate(order, 1))


def plan(form: StudyForm) -> NewStudy:
    """The plan of a valid form, in a random order."""
    return NewStudy(
        form.id.data, form.name.data, form.coffee.data, form.version.id, form.meter.data, form.fills.data,
        form.readings.data, in_rounds(form.persons.data, form.fills.data),
    )  # fmt: skip


# Where it stands -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Share:
    """One person's part: their name, and for each of their fills whether it is read."""

    person_id: str
    name: str
    read: tuple[bool, ...]

    @property
    def done(self) -> int:
        """How many are read."""
        return sum(self.read)


@dataclass(frozen=True)
class Progress:
    """What has been read; no number is in it: whoever reads may see it.

    `done`: the numbers of the places that are read; `next`: the first place that is not; `own`: the first that is not
    and is the asking person's.
    """

    done: frozenset[int]
    shares: tuple[Share, ...]
    next: Place | None
    own: Place | None


def progress(db: Database, study: Study, person_id: str) -> Progress:
    """Where it stands for this person."""
    done = frozenset(precision.counted_fills(db, study.id))
    open_places = [place for place in study.places if place.no not in done]
    return Progress(
        done, shares(study, done), next(iter(open_places), None),
        next((place for place in open_places if place.preparer_id == person_id), None),
    )  # fmt: skip


def shares(study: Study, done: frozenset[int]) -> tuple[Share, ...]:
    """Everybody's part, by name; their fills in order."""
    return tuple(
        Share(id, name, tuple(p.no in done for p in by_fill(study.places) if p.preparer_id == id))
        for id, name in study.persons.items()
    )


def by_fill(places: Sequence[Place]) -> list[Place]:
    """Places in the order of each person's fills."""
    return sorted(places, key=lambda place: place.fill_no)


@dataclass(frozen=True)
class Kept:
    """A fill as it was stored, and whether it counts: None if it does, else 'second' or 'late'."""

    fill: Fill
    place: Place
    why_not: str | None


def all_kept(db: Database, study: Study) -> list[Kept]:
    """Every fill that was stored, oldest first."""
    counted = {fill.id for fill in precision.counted_fills(db, study.id).values()}
    outcome, found = precision.find_outcome(db, study.id), []
    for fill in precision.list_fills(db, study.id):
        late = outcome is not None and fill.received_at > outcome.received_at
        why_not = None if fill.id in counted else "late" if late else "second"
        found.append(Kept(fill, study.place(fill.place_no), why_not))
    return found
