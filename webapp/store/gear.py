"""Scales, machines, meters with their plates, grinders with their settings.

Numbers on a scale are integer hundredths of a scale unit. A scale, a plate value and a grinder setting are
never changed once made; machines, meters and grinders can be renamed, retired and brought back. The lists are
by name, what is in use first. Every writing function takes an optional `id` (a UUID made when the form was
opened): the same id with the same content again is the same record, with other content AlreadyThere.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlite_utils import Database

from . import ledger
from .connect import one, write
from .errors import AlreadyThere, NotFound
from .records import bring_back, insert, is_there, new_id, rename, retire
from .times import to_text
from .who import Who

__all__ = [
    "Grinder", "Machine", "Meter", "Plate", "Scale", "Setting", "add_grinder", "add_grinder_setting",
    "add_machine", "add_meter", "add_plate", "add_scale", "bring_back", "get_grinder", "get_machine", "get_meter",
    "get_scale", "list_grinders", "list_machines", "list_meters", "list_plates", "list_scales", "plate_in_force",
    "rename", "retire",
]  # fmt: skip

PlateChange = Literal["replaced", "damaged", "reassigned"]


@dataclass(frozen=True)
class Scale:
    """A meter's number scale: ends and step in hundredths; `lighter`: +1 if a higher number is lighter, or -1."""

    id: str
    name: str
    lower: int
    upper: int
    step: int
    lighter: int


@dataclass(frozen=True)
class Machine:
    """A roasting machine."""

    id: str
    name: str
    active: bool


@dataclass(frozen=True)
class Plate:
    """A reference plate's value on its meter's scale: assigned +/- tolerance, in hundredths.

    `what` happened: another plate replaced the one before, it was damaged (its values stay as they were, and nothing
    is checked on it any more), or it was reassigned a value; None for the first one, and where nobody said.
    """

    id: str
    name: str
    assigned: int
    tolerance: int
    reason: str = ""
    made_at: str = ""
    person_name: str | None = None
    what: PlateChange | None = None

    @property
    def usable(self) -> bool:
        """Whether the meter can be checked on it."""
        return self.what != "damaged"


@dataclass(frozen=True)
class Meter:
    """A meter with its scale and the plate row now in force, usable or not (None: it has no plate)."""

    id: str
    name: str
    scale: Scale
    plate: Plate | None
    active: bool

    @property
    def usable_plate(self) -> Plate | None:
        """The plate that stands behind its readings now; None without one, or when it is damaged."""
        return self.plate if self.plate and self.plate.usable else None


@dataclass(frozen=True)
class Setting:
    """A grinder setting as the bench calls it."""

    id: str
    name: str


@dataclass(frozen=True)
class Grinder:
    """A grinder with its settings, in the order they were made."""

    id: str
    name: str
    active: bool
    settings: tuple[Setting, ...]


def _add(db: Database, kind: str, content: dict, who: Who, now: datetime, record_id: str | None) -> str:
    """Add a record of `kind`, whose table has its name, once; returns the id."""
    record_id = record_id or new_id()
    with write(db):
        if not is_there(db, kind, record_id, content):
            insert(db, kind, {"id": record_id, **content, "created_at": to_text(now)})
            ledger.note(db, f"{kind} added", kind, record_id, now, who.person_id, who.tablet_id)
    return record_id


# Scales ----------------------------------------------------------------------------------------------


def add_scale(
    db: Database, name: str, lower: int, upper: int, step: int, lighter: int, who: Who, now: datetime,
    id: str | None = None,
) -> str:  # fmt: skip
    """A new scale; returns its id. ValueError unless step > 0, lower < upper, and both are multiples of step.

    Readings are whole multiples of the step, counted from zero: an end off that grid could never be read.
    """
    if step <= 0 or lower >= upper or lower % step or upper % step or lighter not in (1, -1):
        raise ValueError("not a scale")
    content = {"name": name, "lower": lower, "upper": upper, "step": step, "lighter": lighter}
    return _add(db, "scale", content, who, now, id)


def _scale(row: dict) -> Scale:
    return Scale(row["id"], row["name"], row["lower"], row["upper"], row["step"], row["lighter"])


def get_scale(db: Database, scale_id: str) -> Scale:
    """The scale. NotFound if there is none."""
    row = one(db, "SELECT * FROM scale WHERE id = ?", (scale_id,))
    if row is None:
        raise NotFound(scale_id)
    return _scale(row)


def list_scales(db: Database) -> list[Scale]:
    """Every scale, by name."""
    return [_scale(row) for row in db.query("SELECT * FROM scale ORDER BY name COLLATE NOCASE, id")]


# Machines --------------------------------------------------------------------------------------------


def add_machine(db: Database, name: str, who: Who, now: datetime, id: str | None = None) -> str:
    """A new roasting machine; returns its id."""
    return _add(db, "machine", {"name": name}, who, now, id)


def get_machine(db: Database, machine_id: str) -> Machine:
    """The machine. NotFound if there is none."""
    row = one(db, "SELECT id, name, active FROM machine WHERE id = ?", (machine_id,))
    if row is None:
        raise NotFound(machine_id)
    return Machine(row["id"], row["name"], bool(row["active"]))


def list_machines(db: Database, active_only: bool = True) -> list[Machine]:
    """Machines by name, those in use first."""
    rows = db.query(
        "SELECT id, name, active FROM machine WHERE active >= ?"
        " ORDER BY active DESC, name COLLATE NOCASE, id",
        (int(active_only),),
    )
    return [Machine(row["id"], row["name"], bool(row["active"])) for row in rows]


# Meters and plates -----------------------------------------------------------------------------------


def add_meter(
    db: Database, name: str, scale_id: str, plate_name: str | None, assigned: int | None,
    tolerance: int | None, who: Who, now: datetime, id: str | None = None,
) -> str:  # fmt: skip
    """A new meter with its plate (`plate_name` None: without one); returns its id."""
    record_id = id or new_id()
    with write(db):
        if is_there(db, "meter", record_id, {"name": name, "scale_id": scale_id}):
            first = [(p.name, p.assigned, p.tolerance) for p in list_plates(db, record_id)[-1:]]
            if first != ([] if plate_name is None else [(plate_name, assigned, tolerance)]):
                raise AlreadyThere(record_id)
        else:
            _add(db, "meter", {"name": name, "scale_id": scale_id}, who, now, record_id)
            if plate_name is not None:
                add_plate(db, record_id, plate_name, assigned, tolerance, "", who, now)
    return record_id


def add_plate(
    db: Database, meter_id: str, name: str, assigned: int, tolerance: int, reason: str, who: Who,
    now: datetime, id: str | None = None, what: PlateChange | None = None,
) -> str:  # fmt: skip
    """What became of a meter's plate, in force from now on; returns its id. The rows before it stay.

    what: see Plate. A damaged plate is written with the values that it had.
    """
    record_id = id or new_id()
    content = {
        "meter_id": meter_id, "name": name, "assigned": assigned, "tolerance": tolerance, "reason": reason,
        "what": what,
    }  # fmt: skip
    with write(db):
        if not is_there(db, "plate", record_id, content):
            insert(
                db, "plate", {"id": record_id, **content, "person_id": who.person_id, "made_at": to_text(now)}
            )
            ledger.note(db, "plate value set", "plate", record_id, now, who.person_id, who.tablet_id)
    return record_id


_PLATE = (
    "SELECT plate.id, plate.name, assigned, tolerance, reason, made_at, person.name AS person_name, what"
    " FROM plate LEFT JOIN person ON person.id = plate.person_id WHERE meter_id = ?"
)


def plate_in_force(db: Database, meter_id: str, at: datetime | None = None) -> Plate | None:
    """The plate row in force at a moment (None: now), usable or not: the last one set by then; None if there was none.
    """
    when = "9999" if at is None else to_text(at)
    row = one(db, f"{_PLATE} AND made_at <= ? ORDER BY made_at DESC, plate.rowid DESC LIMIT 1", (meter_id, when))
    return Plate(**row) if row else None


def list_plates(db: Database, meter_id: str) -> list[Plate]:
    """Every plate row of a meter, newest first."""
    return [Plate(**row) for row in db.query(f"{_PLATE} ORDER BY made_at DESC, plate.rowid DESC", (meter_id,))]


# Each with the row of its plate that is in force now.
_METER = (
    "SELECT meter.id AS meter_id, meter.name AS meter_name, meter.active, scale.*, p.id AS plate_id,"
    " p.name AS plate_name, p.assigned, p.tolerance, p.reason, p.made_at, w.name AS person_name, p.what"
    " FROM meter JOIN scale ON scale.id = meter.scale_id LEFT JOIN plate p ON p.rowid = (SELECT rowid FROM plate"
    " WHERE meter_id = meter.id ORDER BY made_at DESC, rowid DESC LIMIT 1) LEFT JOIN person w ON w.id = p.person_id"
)
_OF_PLATE = ("plate_id", "plate_name", "assigned", "tolerance", "reason", "made_at", "person_name", "what")


def _meter(row: dict) -> Meter:
    plate = Plate(*(row[name] for name in _OF_PLATE)) if row["plate_id"] else None
    return Meter(row["meter_id"], row["meter_name"], _scale(row), plate, bool(row["active"]))


def get_meter(db: Database, meter_id: str) -> Meter:
    """The meter. NotFound if there is none."""
    row = one(db, f"{_METER} WHERE meter.id = ?", (meter_id,))
    if row is None:
        raise NotFound(meter_id)
    return _meter(row)


def list_meters(db: Database, active_only: bool = True, scale_id: str | None = None) -> list[Meter]:
    """Meters by name, those in use first; only those on one scale if asked."""
    rows = db.query(
        f"{_METER} WHERE meter.active >= ? AND (? IS NULL OR scale_id = ?)"
        " ORDER BY meter.active DESC, meter.name COLLATE NOCASE, meter.id",
        (int(active_only), scale_id, scale_id),
    )
    return [_meter(row) for row in rows]


# Grinders --------------------------------------------------------------------------------------------


def add_grinder(db: Database, name: str, who: Who, now: datetime, id: str | None = None) -> str:
    """A new grinder, still without settings; returns its id."""
    return _add(db, "grinder", {"name": name}, who, now, id)


def add_grinder_setting(
    db: Database, grinder_id: str, name: str, who: Who, now: datetime, id: str | None = None
) -> str:
    """A new setting of a grinder; returns its id. AlreadyThere if this grinder has one of that name."""
    content = {"grinder_id": grinder_id, "name": name}
    record_id = id or new_id()
    with write(db):
        if is_there(db, "grinder_setting", record_id, content):
            return record_id
        if one(db, "SELECT 1 FROM grinder_setting WHERE grinder_id = ? AND name = ?", (grinder_id, name)):
            raise AlreadyThere(name)
        return _add(db, "grinder_setting", content, who, now, record_id)


def _grinder(db: Database, row: dict) -> Grinder:
    settings = db.query(
        "SELECT id, name FROM grinder_setting WHERE grinder_id = ? ORDER BY rowid", (row["id"],)
    )
    return Grinder(
        row["id"], row["name"], bool(row["active"]), tuple(Setting(**setting) for setting in settings)
    )


def get_grinder(db: Database, grinder_id: str) -> Grinder:
    """The grinder. NotFound if there is none."""
    row = one(db, "SELECT id, name, active FROM grinder WHERE id = ?", (grinder_id,))
    if row is None:
        raise NotFound(grinder_id)
    return _grinder(db, row)


def list_grinders(db: Database, active_only: bool = True) -> list[Grinder]:
    """Grinders by name, those in use first."""
    rows = db.query(
        "SELECT id, name, active FROM grinder WHERE active >= ?"
        " ORDER BY active DESC, name COLLATE NOCASE, id",
        (int(active_only),),
    )
    return [_grinder(db, row) for row in list(rows)]
