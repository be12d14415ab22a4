"""What a meter was worth at a moment: proven by a check, or not, and what that makes of a sample read on it.

Worked out from the facts (rules, checks, look-back entries) by the time at which a sample was read, so that a check
that arrives late from a tablet counts where it belongs.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Literal, NamedTuple

from sqlite_utils import Database

from webapp import measure

from .connect import one
from .meter_rules import MeterRule, due_at, rule_in_force
from .site import get_site
from .times import from_text, to_text

if TYPE_CHECKING:
    from .gear import Meter
    from .samples import Sample

# proven: a check stands behind it. missing, overdue, failed: none does. doubted: the check after it failed, and nobody
# has said yet what becomes of it. accepted: somebody has, with a reason. None: nobody has asked for checks.
State = Literal["proven", "accepted", "missing", "overdue", "failed", "doubted"]
WORST_FIRST = ("doubted", "failed", "missing", "overdue", "accepted", "proven")
FINE = (None, "proven", "accepted")


@dataclass(frozen=True)
class LastCheck:
    """The newest check by a moment: id, when (stored UTC text), passed as found, proven when it was over, by whom."""

    id: str
    made_at: str
    passed: bool
    proven: bool
    person_name: str


@dataclass(frozen=True)
class Standing:
    """A meter at a moment. `due_at`: when the next check is due, if a clock decides; `samples_left`: before it is."""

    state: State | None
    rule: MeterRule | None
    last: LastCheck | None
    due_at: datetime | None = None
    samples_left: int | None = None


def last_check(db: Database, meter_id: str, at: str) -> LastCheck | None:
    """The newest check of a meter made by a moment (stored UTC text)."""
    row = one(
        db,
        "SELECT r.check_id, r.made_at, r.passed, r.proven, p.name FROM meter_check_result r"
        " JOIN meter_check c ON c.id = r.check_id JOIN person p ON p.id = c.person_id"
        " WHERE r.meter_id = ? AND r.made_at <= ? ORDER BY r.made_at DESC, r.rowid DESC LIMIT 1",
        (meter_id, at),
    )
    if row is None:
        return None
    return LastCheck(row["check_id"], row["made_at"], bool(row["passed"]), bool(row["proven"]), row["name"])


def standing(db: Database, meter_id: str, at: datetime, but: str = "") -> Standing:
    """How the meter stands at a moment. `but`: the id of a sample that is not to be counted (the one in question)."""
    rule, when = rule_in_force(db, meter_id, at), to_text(at)
    last = last_check(db, meter_id, when)
    asked = rule is not None and rule.due != "never"
    if last is None:
        return Standing("missing" if asked else None, rule, None, at if asked else None)
    if not last.proven:
        return Standing("failed", rule, last, at)
    if not asked:
        return Standing("proven", rule, last)
    asks = Asked(rule.due, rule.every, rule.shift_starts)
    state, due, left = _since_check(db, meter_id, asks, last.made_at, when, but)
    return Standing(state, rule, last, due, left)


class Asked(NamedTuple):
    """By what a check is due, as in MeterRule; never by "never"."""

    due: str
    every: int | None
    shift_starts: str


def _since_check(
    db: Database, meter_id: str, asked: Asked, checked_at: str, at: str, but: str
) -> tuple[State, datetime | None, int | None]:
    """(state, when the next check is due, samples left before it) after a check that proved the meter."""
    if asked.due == "samples":
        left = max(0, asked.every - read_between(db, meter_id, checked_at, at, but))
        return ("proven" if left else "overdue"), None, left
    zone = get_site(db).time_zone if asked.due == "shift" else ""
    due = due_at(*asked, checked_at, zone)
    return ("proven" if from_text(at) < due else "overdue"), due, None


def samples_since(db: Database, meter_id: str, since: str) -> int:
    """How many samples were read on a meter after a moment (stored UTC text)."""
    return one(db, "SELECT count(*) AS n FROM sample WHERE meter_id = ? AND made_at >= ?", (meter_id, since))["n"]


def failed_after(db: Database, meter_id: str, made_at: str) -> str | None:
    """The id of the check that came after a moment (stored UTC text), if it failed as found: its look-back has what was
    read at that moment."""
    after = one(
        db,
        "SELECT check_id, passed FROM meter_check_result WHERE meter_id = ? AND made_at > ?"
        " ORDER BY made_at, rowid LIMIT 1",
        (meter_id, made_at),
    )
    return after["check_id"] if after and not after["passed"] else None


# Everything that says what stands behind a sample, in one question: it is asked at every sample that is stored.
BEHIND = """
SELECT r.due, r.every, r.shift_starts, k.made_at AS last_at, k.proven, a.passed AS after_passed
FROM (SELECT 1)
LEFT JOIN meter_rule r ON r.id = (SELECT id FROM meter_rule WHERE meter_id = :meter AND made_at <= :at
  ORDER BY no DESC LIMIT 1)
LEFT JOIN meter_check_result k ON k.check_id = (SELECT check_id FROM meter_check_result
  WHERE meter_id = :meter AND made_at <= :at ORDER BY made_at DESC, rowid DESC LIMIT 1)
LEFT JOIN meter_check_result a ON a.check_id = (SELECT check_id FROM meter_check_result
  WHERE meter_id = :meter AND made_at > :at ORDER BY made_at, rowid LIMIT 1)
"""


def state_of(db: Database, sample: Sample) -> State | None:
    """What stands behind a stored sample. Of one that was taken in from a file nobody knows: as if none were asked."""
    return None if sample.import_id else sample_state(db, sample.id, sample.meter_id, sample.made_at)


def sample_state(db: Database, sample_id: str, meter_id: str, made_at: str) -> State | None:
    """What stands behind a sample read on a meter at a moment (stored UTC text): as `standing` has it, but for the
    check that came after."""
    row = one(db, BEHIND, {"meter": meter_id, "at": made_at})
    if row["after_passed"] == 0:
        said = "SELECT what FROM look_back_entry WHERE sample_id = ? ORDER BY rowid DESC LIMIT 1"
        entry = one(db, said, (sample_id,))
        return "accepted" if entry and entry["what"] == "accepted" else "doubted"
    asked = row["due"] not in (None, "never")
    if row["last_at"] is None:
        return "missing" if asked else None
    if not row["proven"]:
        return "failed"
    if not asked:
        return "proven"
    asks = Asked(row["due"], row["every"], row["shift_starts"])
    return _since_check(db, meter_id, asks, row["last_at"], made_at, sample_id)[0]


def read_between(db: Database, meter_id: str, since: str, until: str, but: str) -> int:
    """How many samples were read on a meter from one moment until another (stored UTC text), without one of them."""
    row = one(
        db, "SELECT count(*) AS n FROM sample WHERE meter_id = ? AND made_at >= ? AND made_at < ? AND id <> ?",
        (meter_id, since, until, but),
    )  # fmt: skip
    return row["n"]


def worst(states: list[State | None]) -> State | None:
    """The one that counts among several."""
    return next((state for state in WORST_FIRST if state in states), None)


def deviations(db: Database, meter_id: str, at: datetime) -> list[float]:
    """As-found deviations of the last checks made by a moment, oldest first, scale units; as many as count."""
    rows = db.query(
        "SELECT found FROM meter_check_result WHERE meter_id = ? AND made_at <= ?"
        " ORDER BY made_at DESC, rowid DESC LIMIT ?",
        (meter_id, to_text(at), measure.CHECKS_USED),
    )
    return [row["found"] for row in rows][::-1]


def uncertainty(
    db: Database, meter_id: str, tolerance: int | None, span: float, at: datetime
) -> tuple[float, Literal["checks", "assumed"]]:
    """The meter's standard uncertainty at a moment, in scale units, and its source.

    tolerance: its plate's, in hundredths, or None; span: of its scale, in scale units.
    """
    within = tolerance / 100 if tolerance else measure.assumed_tolerance(span)
    return measure.meter_uncertainty(deviations(db, meter_id, at), within)


def meter_u(db: Database, meter: Meter, at: datetime) -> float:
    """The same for a meter with its plate: from its checks, else assumed."""
    span = (meter.scale.upper - meter.scale.lower) / 100
    plate = meter.usable_plate
    return uncertainty(db, meter.id, plate.tolerance if plate else None, span, at)[0]


def touched_by_check(db: Database, meter_id: str, made_at: str, passed: bool = False) -> list[str]:
    """The batches whose results depend on a check made at a moment: read on the meter between its neighbours.

    The one before counts from the last that proved the meter: everything since is in the look-back of one that failed.
    A newest check that passed throws no other light on what was read before it (passed: as found).
    """
    before = one(
        db, "SELECT max(made_at) AS at FROM meter_check_result WHERE meter_id = ? AND made_at < ? AND proven = 1",
        (meter_id, made_at),
    )  # fmt: skip
    after = one(
        db, "SELECT min(made_at) AS at FROM meter_check_result WHERE meter_id = ? AND made_at > ?", (meter_id, made_at)
    )
    since = made_at if passed and after["at"] is None else before["at"] or ""
    return batches_between(db, meter_id, since, after["at"] or "9999")


def touched_by_sample(db: Database, meter_id: str, made_at: str) -> list[str]:
    """The batches whose meter may now be overdue because of a sample that arrived late: only where samples count."""
    if not one(db, "SELECT 1 FROM sample WHERE meter_id = ? AND made_at > ? LIMIT 1", (meter_id, made_at)):
        return []
    rule = rule_in_force(db, meter_id, from_text(made_at))
    if rule is None or rule.due != "samples":
        return []
    after = one(
        db, "SELECT min(made_at) AS at FROM meter_check_result WHERE meter_id = ? AND made_at > ?", (meter_id, made_at)
    )
    return batches_between(db, meter_id, made_at, after["at"] or "9999")


def batches_between(db: Database, meter_id: str, since: str, until: str) -> list[str]:
    """The batches with a sample read on a meter from one moment to another, both within (stored UTC text)."""
    rows = db.query(
        "SELECT DISTINCT batch_id FROM sample WHERE meter_id = ? AND made_at >= ? AND made_at <= ?",
        (meter_id, since, until),
    )
    return [row["batch_id"] for row in rows]
