"""The shapes of comparisons: a plan with its sides and coffees, and one coffee read on one side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from webapp import measure

from .errors import NotFound
from .gear import Meter, Scale, Setting
from .methods import MethodVersion
from .readings import NewReading

What = Literal["meters", "grinders", "settings", "methods", "people"]
SideName = Literal["a", "b"]
SIDES: tuple[SideName, ...] = ("a", "b")


@dataclass(frozen=True)
class NewSide:
    """What one side is read with, and by whom where two people are compared."""

    meter_id: str
    method_version_id: str
    setting_id: str | None
    person_id: str | None = None


@dataclass(frozen=True)
class Coffee:
    """One coffee of the plan. `code`: what stands on the cup; `first`: the side on which it is read first."""

    no: int
    name: str
    code: str
    first: SideName


@dataclass(frozen=True)
class NewComparison:
    """A plan. `bound`: how far apart the two may be and still count as the same, in hundredths."""

    id: str
    name: str
    what: What
    kind: str
    scale_id: str
    a: NewSide
    b: NewSide
    fills: int
    readings: int
    bound: int
    blind: bool
    coffees: tuple[Coffee, ...]


@dataclass(frozen=True)
class Side:
    """One side with everything it is read with; `setting` and `grinder_name` None without a grinder, `person_id` and
    `person_name` None where everybody may read it."""

    meter: Meter
    method: MethodVersion
    setting: Setting | None
    grinder_name: str | None
    person_id: str | None = None
    person_name: str | None = None

    def open_to(self, person_id: str) -> bool:
        """Whether this person may read it."""
        return self.person_id in (None, person_id)


@dataclass(frozen=True)
class Comparison:
    """A plan as it is stored, with its coffees in the order in which they are read."""

    id: str
    name: str
    what: What
    kind: str
    scale: Scale
    a: Side
    b: Side
    fills: int
    readings: int
    bound: int
    blind: bool
    coffees: tuple[Coffee, ...]
    person_name: str
    made_at: str

    @property
    def rows(self) -> int:
        """Rows for the readings of a fill: the plan, the further readings that disagreement asks for, and one to
        spare."""
        planned = max(2, self.readings)
        return planned + measure.more_readings(planned) + 1

    def side(self, name: SideName) -> Side:
        """The side of this name."""
        return self.a if name == "a" else self.b

    @property
    def in_turn(self) -> bool:
        """Whether all coffees are read on side a, and only then on side b."""
        return all(coffee.first == "a" for coffee in self.coffees)

    def coffee(self, no: int) -> Coffee:
        """The coffee with this number. NotFound if there is none."""
        found = next((coffee for coffee in self.coffees if coffee.no == no), None)
        if found is None:
            raise NotFound(no)
        return found


@dataclass(frozen=True)
class NewComparisonSample:
    """One coffee read on one side, as the form hands it over."""

    id: str
    comparison_id: str
    coffee_no: int
    side: SideName
    note: str
    made_at: str
    readings: tuple[NewReading, ...]


@dataclass(frozen=True)
class ComparisonSample:
    """The same as it is stored; `sent_by` to `tablet_seq` as in who.Sent."""

    id: str
    comparison_id: str
    coffee_no: int
    side: SideName
    note: str
    person_id: str
    person_name: str
    role: str
    made_at: str
    received_at: str
    sent_by: str | None
    claim_id: str | None
    tablet_clock: str | None
    tablet_seq: int | None
    readings: tuple[NewReading, ...]
