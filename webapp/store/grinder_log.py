"""The log of a grinder (setting moved, burrs changed, cleaned, aligned) and its grind checks. Append-only.

Sieved masses are integer hundredths of a gram. The newest entry by its own time says at which setting a grinder stands.
After a change of burrs what is ground on it may read otherwise: its results are marked until a comparison has been
settled (`burrs_state`).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlite_utils import Database

from . import ledger, results
from .burrs import burrs_changed
from .connect import one, write
from .errors import NotFound
from .records import insert, is_there
from .times import to_text
from .who import TYPED, Sent, Who

What = Literal["setting", "burrs", "cleaned", "aligned"]
WHATS = ("setting", "burrs", "cleaned", "aligned")


@dataclass(frozen=True)
class GrinderEvent:
    """An entry of the log; `setting_name` only where the setting was moved. `sent_by_name`: who sent it."""

    id: str
    grinder_id: str
    what: str
    setting_id: str | None
    setting_name: str | None
    note: str
    person_id: str
    person_name: str
    made_at: str
    received_at: str
    sent_by: str | None
    sent_by_name: str | None


@dataclass(frozen=True)
class GrindCheck:
    """How much of a ground sample passed a sieve; masses in hundredths of a gram, the opening in micrometres."""

    id: str
    grinder_id: str
    setting_id: str
    setting_name: str
    coffee: str
    sieve_um: int
    total_cg: int
    passing_cg: int
    note: str
    person_id: str
    person_name: str
    made_at: str
    received_at: str
    sent_by: str | None
    sent_by_name: str | None

    @property
    def share(self) -> float:
        """The share that passed, from 0 to 1."""
        return self.passing_cg / self.total_cg


@dataclass(frozen=True)
class NewCheck:
    """What the form of a grind check hands over; masses in hundredths of a gram, `made_at` as stored UTC text."""

    id: str
    grinder_id: str
    setting_id: str
    coffee: str
    sieve_um: int
    total_cg: int
    passing_cg: int
    note: str
    made_at: str


def _own_setting(db: Database, grinder_id: str, setting_id: str | None) -> None:
    if one(db, "SELECT 1 FROM grinder WHERE id = ?", (grinder_id,)) is None:
        raise NotFound(grinder_id)
    if setting_id is not None and not one(
        db, "SELECT 1 FROM grinder_setting WHERE id = ? AND grinder_id = ?", (setting_id, grinder_id)
    ):
        raise NotFound(setting_id)


def add_event(
    db: Database, event_id: str, grinder_id: str, what: What, setting_id: str | None, note: str, who: Who,
    now: datetime, sent: Sent = TYPED, made_at: str | None = None,
) -> None:  # fmt: skip
    """Store an entry of the log once. A change of burrs works out again what was ground after it.

    setting_id: where the grinder stands now, for what='setting' and for nothing else (ValueError otherwise).
    `sent`: how it came. `made_at`: when it happened (stored UTC text); None: now. AlreadyThere: the id is taken by
    another entry. NotFound: no such grinder, or a setting of another one.
    """
    if what not in WHATS or (what == "setting") != (setting_id is not None):
        raise ValueError("an entry says what was done, and the setting only where it was moved")
    content = {"grinder_id": grinder_id, "what": what, "setting_id": setting_id, "note": note}
    moment = made_at or to_text(now)
    with write(db):
        if is_there(db, "grinder_event", event_id, content):
            return
        _own_setting(db, grinder_id, setting_id)
        insert(db, "grinder_event", {"id": event_id, **content} | _by(who, moment, now) | sent.columns())
        ledger.note(db, f"grinder: {what}", "grinder_event", event_id, now, who.person_id, who.tablet_id)
        if what == "burrs":
            work_out_since(db, grinder_id, moment)


def add_grind_check(db: Database, new: NewCheck, who: Who, now: datetime, sent: Sent = TYPED) -> None:
    """Store a grind check once. AlreadyThere: the id is taken by another one. NotFound: see `add_event`.

    ValueError unless 0 <= passing <= total and total > 0.
    """
    if not (new.total_cg > 0 and 0 <= new.passing_cg <= new.total_cg):
        raise ValueError("what passes is a part of all")
    content = {
        "grinder_id": new.grinder_id, "setting_id": new.setting_id, "coffee": new.coffee, "sieve_um": new.sieve_um,
        "total_cg": new.total_cg, "passing_cg": new.passing_cg, "note": new.note,
    }  # fmt: skip
    with write(db):
        if is_there(db, "grind_check", new.id, content):
            return
        _own_setting(db, new.grinder_id, new.setting_id)
        insert(db, "grind_check", {"id": new.id, **content} | _by(who, new.made_at, now) | sent.columns())
        ledger.note(db, "grind check stored", "grind_check", new.id, now, who.person_id, who.tablet_id)


def _by(who: Who, made_at: str, now: datetime) -> dict:
    return {
        "person_id": who.person_id, "role": who.role, "tablet_id": who.tablet_id, "made_at": made_at,
        "received_at": to_text(now),
    }  # fmt: skip


_EVENT = (
    "SELECT e.id, e.grinder_id, e.what, e.setting_id, s.name AS setting_name, e.note, e.person_id,"
    " p.name AS person_name, e.made_at, e.received_at, e.sent_by, x.name AS sent_by_name FROM grinder_event e"
    " JOIN person p ON p.id = e.person_id LEFT JOIN grinder_setting s ON s.id = e.setting_id"
    " LEFT JOIN person x ON x.id = e.sent_by"
)
_CHECK = (
    "SELECT c.id, c.grinder_id, c.setting_id, s.name AS setting_name, c.coffee, c.sieve_um, c.total_cg, c.passing_cg,"
    " c.note, c.person_id, p.name AS person_name, c.made_at, c.received_at, c.sent_by, x.name AS sent_by_name"
    " FROM grind_check c JOIN person p ON p.id = c.person_id JOIN grinder_setting s ON s.id = c.setting_id"
    " LEFT JOIN person x ON x.id = c.sent_by"
)


def list_events(db: Database, grinder_id: str) -> list[GrinderEvent]:
    """The log of a grinder, newest first."""
    rows = db.query(f"{_EVENT} WHERE e.grinder_id = ? ORDER BY e.made_at DESC, e.rowid DESC", (grinder_id,))
    return [GrinderEvent(**row) for row in rows]


def find_event(db: Database, event_id: str) -> GrinderEvent | None:
    """One entry, or None."""
    row = one(db, f"{_EVENT} WHERE e.id = ?", (event_id,))
    return GrinderEvent(**row) if row else None


def list_grind_checks(db: Database, grinder_id: str) -> list[GrindCheck]:
    """The grind checks of a grinder, newest first."""
    rows = db.query(f"{_CHECK} WHERE c.grinder_id = ? ORDER BY c.made_at DESC, c.rowid DESC", (grinder_id,))
    return [GrindCheck(**row) for row in rows]


def find_grind_check(db: Database, check_id: str) -> GrindCheck | None:
    """One grind check, or None."""
    row = one(db, f"{_CHECK} WHERE c.id = ?", (check_id,))
    return GrindCheck(**row) if row else None


def current_setting(db: Database, grinder_id: str, at: datetime | None = None) -> str | None:
    """The id of the setting at which a grinder stood at a moment (None: now) by its log; None if the log says none."""
    row = one(
        db,
        "SELECT setting_id FROM grinder_event WHERE grinder_id = ? AND what = 'setting' AND made_at <= ?"
        " ORDER BY made_at DESC, rowid DESC LIMIT 1",
        (grinder_id, "9999" if at is None else to_text(at)),
    )
    return row["setting_id"] if row else None


def stands_at(db: Database, setting_id: str) -> str | None:
    """The setting at which the grinder of this setting stands now by its log; None if the log says none."""
    row = one(db, "SELECT grinder_id FROM grinder_setting WHERE id = ?", (setting_id,))
    return current_setting(db, row["grinder_id"]) if row else None


def burrs_state(db: Database, setting_id: str, at: str) -> Literal["burrs"] | None:
    """'burrs' while the last burr change of the setting's grinder by `at` (stored UTC text) has not been compared."""
    return "burrs" if burrs_changed(db, setting_id, at) else None


def work_out_since(db: Database, grinder_id: str, since: str) -> None:
    """Work out again every batch with a sample that was ground on this grinder and read from `since` on.

    For whatever changes `burrs_state` of samples that are stored already. Inside the caller's transaction.
    """
    rows = db.query(
        "SELECT DISTINCT batch_id FROM sample WHERE made_at >= ? AND grinder_setting_id IN"
        " (SELECT id FROM grinder_setting WHERE grinder_id = ?)",
        (since, grinder_id),
    )
    for row in list(rows):
        results.recompute(db, row["batch_id"])
