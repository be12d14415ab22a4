"""Preparation methods in versions. A version and its steps are never changed: an edit is the next version."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from sqlite_utils import Database

from . import ledger
from .connect import one, write
from .errors import AlreadyThere, NotFound
from .records import insert, is_there, new_id
from .times import to_text
from .who import Who

Kind = Literal["whole", "ground"]


@dataclass(frozen=True)
class Step:
    """One screen of a method.

    no          counts from 1
    title       the instruction in a few words; body says it in full, why gives the reason
    done_label  text of the button that ticks the step ('': the screen's own word)
    picture     name of a drawing in static/pictures, without .svg ('': none)
    caution     what could hurt somebody here ('': nothing)
    timer_s     seconds the step counts down, or None
    note_label, note_unit  a value to write down at this step ('': none), and its unit
    """

    no: int
    title: str
    body: str = ""
    why: str = ""
    done_label: str = ""
    picture: str = ""
    caution: str = ""
    timer_s: int | None = None
    note_label: str = ""
    note_unit: str = ""


@dataclass(frozen=True)
class MethodVersion:
    """A version of a method with its steps in order; `grinder_name` and `setting_name` None without a setting."""

    id: str
    method_id: str
    name: str
    kind: Kind
    no: int
    dish: str
    planned_readings: int
    planned_fills: int
    grinder_setting_id: str | None
    grinder_name: str | None
    setting_name: str | None
    reason: str
    made_at: str
    person_name: str | None
    active: bool
    steps: tuple[Step, ...]


def add_method(
    db: Database, name: str, kind: Kind, dish: str, planned_readings: int, planned_fills: int,
    grinder_setting_id: str | None, steps: Sequence[Step], who: Who, now: datetime, reason: str = "",
    id: str | None = None,
) -> str:  # fmt: skip
    """A new method with its version 1; returns the method's id. Steps are numbered in the order given.

    AlreadyThere: the id is taken by a method with another name or another first version.
    """
    method_id = id or new_id()
    with write(db):
        if is_there(db, "method", method_id, {"name": name, "kind": kind}):
            first = list_versions(db, method_id)[-1]
            given = (dish, planned_readings, planned_fills, grinder_setting_id, reason)
            there = (first.dish, first.planned_readings, first.planned_fills, first.grinder_setting_id, first.reason)
            if given != there or not _same_steps(first, steps):
                raise AlreadyThere(method_id)
        else:
            insert(db, "method", {"id": method_id, "name": name, "kind": kind, "created_at": to_text(now)})
            ledger.note(db, "method added", "method", method_id, now, who.person_id, who.tablet_id)
            add_version(
                db, method_id, dish, planned_readings, planned_fills, grinder_setting_id, steps, reason, who, now
            )
    return method_id


def add_version(
    db: Database, method_id: str, dish: str, planned_readings: int, planned_fills: int,
    grinder_setting_id: str | None, steps: Sequence[Step], reason: str, who: Who, now: datetime,
    id: str | None = None,
) -> str:  # fmt: skip
    """The next version of a method, in force from now on; returns its id. NotFound if there is no such method.

    ValueError for no step, or a grinder setting in a whole-bean method; AlreadyThere if the id is taken by a version
    with other content.
    """
    version_id = id or new_id()
    content = {
        "method_id": method_id, "dish": dish, "planned_readings": planned_readings,
        "planned_fills": planned_fills, "grinder_setting_id": grinder_setting_id, "reason": reason,
    }  # fmt: skip
    with write(db):
        if is_there(db, "method_version", version_id, content):
            if not _same_steps(get_version(db, version_id), steps):
                raise AlreadyThere(version_id)
            return version_id
        kind = _kind(db, method_id)
        if not steps or (kind == "whole" and grinder_setting_id):
            raise ValueError("a method has steps, and a grinder setting only for ground coffee")
        newest = one(db, "SELECT max(no) AS no FROM method_version WHERE method_id = ?", (method_id,))
        made = {"no": (newest["no"] or 0) + 1, "person_id": who.person_id, "made_at": to_text(now)}
        insert(db, "method_version", {"id": version_id, **content, **made})
        for no, step in enumerate(steps, start=1):
            insert(db, "method_step", {"method_version_id": version_id, **_step_row(step), "no": no})
        ledger.note(db, "method version made", "method_version", version_id, now, who.person_id, who.tablet_id)
    return version_id


def _kind(db: Database, method_id: str) -> Kind:
    row = one(db, "SELECT kind FROM method WHERE id = ?", (method_id,))
    if row is None:
        raise NotFound(method_id)
    return row["kind"]


_STEP_COLUMNS = (
    "no", "title", "body", "why", "done_label", "picture", "caution", "timer_s", "note_label", "note_unit",
)  # fmt: skip


def _same_steps(there: MethodVersion, steps: Sequence[Step]) -> bool:
    return there.steps == tuple(replace(step, no=no) for no, step in enumerate(steps, start=1))


def _step_row(step: Step) -> dict:
    return {name: getattr(step, name) for name in _STEP_COLUMNS}


_VERSION = (
    "SELECT v.id, v.method_id, m.name, m.kind, v.no, v.dish, v.planned_readings, v.planned_fills,"
    " v.grinder_setting_id, g.name AS grinder_name, s.name AS setting_name, v.reason, v.made_at,"
    " p.name AS person_name, m.active"
    " FROM method_version v JOIN method m ON m.id = v.method_id"
    " LEFT JOIN grinder_setting s ON s.id = v.grinder_setting_id LEFT JOIN grinder g ON g.id = s.grinder_id"
    " LEFT JOIN person p ON p.id = v.person_id"
)


def _version(db: Database, row: dict) -> MethodVersion:
    rows = db.query(
        f"SELECT {', '.join(_STEP_COLUMNS)} FROM method_step WHERE method_version_id = ? ORDER BY no",
        (row["id"],),
    )
    return MethodVersion(**row | {"active": bool(row["active"])}, steps=tuple(Step(**step) for step in rows))


def get_version(db: Database, version_id: str) -> MethodVersion:
    """The version. NotFound if there is none."""
    row = one(db, f"{_VERSION} WHERE v.id = ?", (version_id,))
    if row is None:
        raise NotFound(version_id)
    return _version(db, row)


def version_in_force(db: Database, method_id: str, at: datetime | None = None) -> MethodVersion | None:
    """The version in force at a moment (None: now): the last one made by then. None if there was none yet.

    NotFound if there is no such method.
    """
    row = one(
        db,
        f"{_VERSION} WHERE v.method_id = ? AND v.made_at <= ? ORDER BY v.no DESC LIMIT 1",
        (method_id, "9999" if at is None else to_text(at)),
    )
    if row is None:
        _kind(db, method_id)
    return _version(db, row) if row else None


def list_methods(db: Database, kind: Kind | None = None, active_only: bool = True) -> list[MethodVersion]:
    """The newest version of every method: those in use first, whole bean before ground, by name."""
    rows = db.query(
        f"{_VERSION} WHERE (? IS NULL OR m.kind = ?) AND m.active >= ?"
        " AND v.no = (SELECT max(no) FROM method_version WHERE method_id = m.id)"
        " ORDER BY m.active DESC, m.kind DESC, m.name COLLATE NOCASE, m.id",
        (kind, kind, int(active_only)),
    )
    return [_version(db, row) for row in list(rows)]


def list_versions(db: Database, method_id: str) -> list[MethodVersion]:
    """Every version of a method, newest first. NotFound if there is no such method."""
    _kind(db, method_id)
    rows = db.query(f"{_VERSION} WHERE v.method_id = ? ORDER BY v.no DESC", (method_id,))
    return [_version(db, row) for row in list(rows)]


def same_preparation(one: MethodVersion, other: MethodVersion) -> bool:
    """Whether two versions prepare a sample in the same way: of one method, with the same dish, grinder setting and
    steps. How many fills and readings they plan may differ."""

    def told(version: MethodVersion) -> tuple:
        return version.method_id, version.dish, version.grinder_setting_id, version.steps

    return told(one) == told(other)


def batches_read_by(db: Database, version_id: str) -> int:
    """How many batches have a sample that was prepared by this version."""
    row = one(db, "SELECT count(DISTINCT batch_id) AS n FROM sample WHERE method_version_id = ?", (version_id,))
    return row["n"]
