"""Plans of precision studies: one well-mixed coffee, filled and read by several people, in a random order.

A study has a place for every fill, in the order in which they are read; each place is one person's. A plan is a
fact: written once, never changed. precision.py has what is read and what became of it.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime

from sqlite_utils import Database

from . import gear, ledger, methods
from .connect import one, write
from .errors import AlreadyThere, NotFound
from .gear import Meter, Scale
from .methods import MethodVersion
from .records import insert, is_there
from .times import to_text
from .who import Who

SPARE_ROWS = 2


@dataclass(frozen=True)
class NewPlace:
    """One fill of the plan: the `no`th that is read, `fill_no` of this person's."""

    no: int
    preparer_id: str
    fill_no: int


@dataclass(frozen=True)
class Place(NewPlace):
    """The same with the person's name."""

    preparer_name: str


@dataclass(frozen=True)
class NewStudy:
    """A plan. `fills` each person makes, `readings` of each; `places` in the order in which they are read."""

    id: str
    name: str
    coffee: str
    method_version_id: str
    meter_id: str
    fills: int
    readings: int
    places: tuple[NewPlace, ...]


@dataclass(frozen=True)
class Study:
    """A plan as it is stored."""

    id: str
    name: str
    coffee: str
    kind: str
    method: MethodVersion
    scale: Scale
    meter: Meter
    fills: int
    readings: int
    places: tuple[Place, ...]
    person_name: str
    made_at: str

    @property
    def persons(self) -> dict[str, str]:
        """Who takes part: id -> name, by name."""
        names = {place.preparer_id: place.preparer_name for place in self.places}
        return dict(sorted(names.items(), key=lambda item: (item[1].casefold(), item[0])))

    @property
    def rows(self) -> int:
        """Rows for the readings of a fill: the plan, and some in place of those that do not count."""
        return self.readings + SPARE_ROWS

    def place(self, no: int) -> Place:
        """The place with this number. NotFound if there is none."""
        found = next((place for place in self.places if place.no == no), None)
        if found is None:
            raise NotFound(no)
        return found


def add_study(db: Database, new: NewStudy, who: Who, now: datetime) -> None:
    """Store a plan once; its kind is the method's, its scale the meter's.

    ValueError unless everybody has every fill exactly once and the places are numbered from 1; AlreadyThere if the
    id is taken by another plan; NotFound for an unknown method version or meter. Sent again, the same plan may come
    in another random order: the first one stands.
    """
    people = Counter(place.preparer_id for place in new.places)
    asked = sorted((person, fill) for person in people for fill in range(1, new.fills + 1))
    if sorted((place.preparer_id, place.fill_no) for place in new.places) != asked:
        raise ValueError("not every person has every fill exactly once")
    if not asked or [place.no for place in new.places] != list(range(1, len(asked) + 1)):
        raise ValueError("the places are not numbered from 1")
    version, meter = methods.get_version(db, new.method_version_id), gear.get_meter(db, new.meter_id)
    row = {
        "name": new.name, "coffee": new.coffee, "kind": version.kind, "method_version_id": version.id,
        "scale_id": meter.scale.id, "meter_id": meter.id, "fills": new.fills, "readings": new.readings,
    }  # fmt: skip
    with write(db):
        if is_there(db, "precision_study", new.id, row):
            if {place.preparer_id for place in _places(db, new.id)} != set(people):
                raise AlreadyThere(new.id)
            return
        made = {"person_id": who.person_id, "tablet_id": who.tablet_id, "made_at": to_text(now)}
        insert(db, "precision_study", {"id": new.id, **row, **made, "received_at": to_text(now)})
        for place in new.places:
            insert(
                db, "precision_place",
                {"study_id": new.id, "no": place.no, "preparer_id": place.preparer_id, "fill_no": place.fill_no},
            )  # fmt: skip
        ledger.note(db, "precision study planned", "precision_study", new.id, now, who.person_id, who.tablet_id)


_STUDY = "SELECT s.*, p.name AS person_name FROM precision_study s JOIN person p ON p.id = s.person_id"


def get_study(db: Database, study_id: str) -> Study:
    """The plan. NotFound if there is none."""
    row = one(db, f"{_STUDY} WHERE s.id = ?", (study_id,))
    if row is None:
        raise NotFound(study_id)
    return _study(db, row)


def list_studies(db: Database) -> list[Study]:
    """Every plan, newest first."""
    rows = list(db.query(f"{_STUDY} ORDER BY s.made_at DESC, s.rowid DESC"))
    return [_study(db, row) for row in rows]


def list_open(db: Database) -> list[Study]:
    """Every plan that has no outcome yet, newest first."""
    rows = db.query(
        f"{_STUDY} WHERE NOT EXISTS (SELECT 1 FROM precision_outcome o WHERE o.study_id = s.id)"
        " ORDER BY s.made_at DESC, s.rowid DESC"
    )
    return [_study(db, row) for row in list(rows)]


def _study(db: Database, row: dict) -> Study:
    return Study(
        row["id"], row["name"], row["coffee"], row["kind"], methods.get_version(db, row["method_version_id"]),
        gear.get_scale(db, row["scale_id"]), gear.get_meter(db, row["meter_id"]), row["fills"], row["readings"],
        _places(db, row["id"]), row["person_name"], row["made_at"],
    )  # fmt: skip


def _places(db: Database, study_id: str) -> tuple[Place, ...]:
    rows = db.query(
        "SELECT l.no, l.preparer_id, l.fill_no, p.name AS preparer_name FROM precision_place l"
        " JOIN person p ON p.id = l.preparer_id WHERE l.study_id = ? ORDER BY l.no",
        (study_id,),
    )
    return tuple(Place(**row) for row in rows)
