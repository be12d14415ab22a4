"""Look-backs: when a check has failed, every sample read since the meter was last proven is gone through, one by one.

A look-back is not stored: a failed check opens it, its samples are those read since the last check that proved the
meter, and it is closed when each has an entry. So a sample that arrives late from a tablet stands in it as well.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from sqlite_utils import Database

from webapp import measure

from . import decisions, ledger, results
from .checks import Check
from .connect import one, write
from .errors import AlreadyThere, NotFound
from .meter_state import FINE, sample_state
from .products import get_target
from .records import insert
from .times import to_text
from .who import TYPED, Sent, Who

if TYPE_CHECKING:
    from .new_samples import NewSample


@dataclass(frozen=True)
class Entry:
    """What became of a sample, why, who and when. what: "reread", "accepted" or "held"; `sent_by` to `tablet_seq` as
    in who.Sent."""

    id: str
    check_id: str
    sample_id: str
    what: str
    new_sample_id: str | None
    reason: str
    person_id: str
    person_name: str
    made_at: str
    sent_by: str | None
    claim_id: str | None
    tablet_clock: str | None
    tablet_seq: int | None


@dataclass(frozen=True)
class Doubt:
    """A sample of a look-back. Numbers in scale units.

    part: the part of its batch that it counts into, as it stands; None when it counts no longer (read again).
    moved: how that would be judged if the meter's deviation were subtracted; None where it is not judged. nearness:
    distance to the nearest limit in units of give or take (0 on the limit, below 0 beyond it), or None. decision: the
    last one on the batch, or None.
    """

    sample_id: str
    batch_id: str
    code: str
    product_name: str
    kind: str
    made_at: str
    person_name: str
    part: results.PartResult | None
    moved: measure.Judgement | None
    nearness: float | None
    decision: str | None
    entry: Entry | None

    @property
    def value(self) -> float | None:
        """What its part of the batch reads."""
        return self.part.value if self.part else None

    @property
    def verdict(self) -> str | None:
        """The verdict on its part of the batch."""
        return self.part.verdict if self.part else None

    @property
    def without(self) -> str | None:
        """What that verdict would be if the deviation were subtracted."""
        return self.moved.verdict if self.moved else None

    @property
    def would_change(self) -> bool:
        """Whether its verdict would be another one."""
        return self.without is not None and self.without != self.verdict


_ENTRY = (
    "SELECT e.id, e.check_id, e.sample_id, e.what, e.new_sample_id, e.reason, e.person_id, p.name AS person_name,"
    " e.made_at, e.sent_by, e.claim_id, e.tablet_clock, e.tablet_seq"
    " FROM look_back_entry e JOIN person p ON p.id = e.person_id"
)


# A word on a sample stands; but one that was read again is in question again when the sample that took its place has
# been moved to another batch since, or it has.
_STANDS = (
    "(e.what <> 'reread' OR EXISTS (SELECT 1 FROM sample a JOIN sample n ON n.id = e.new_sample_id"
    " AND n.batch_id = a.batch_id WHERE a.id = e.sample_id))"
)
# The samples of a look-back: read at or after the first moment, and before the second. What is read in the moment of a
# check is read after it (as meter_state has it). What was taken in from a file is history: nobody can read it again.
_INSIDE = "s.meter_id = ? AND s.made_at >= ? AND s.made_at < ? AND s.import_id IS NULL"


def since(db: Database, check: Check) -> str:
    """When something last stood behind the meter before a check (stored UTC text); "" if nothing ever did.

    That is a check which passed as found, also one that was spoilt by the adjustment after it, or which left it proven.
    """
    row = one(
        db, "SELECT max(made_at) AS at FROM meter_check_result WHERE meter_id = ? AND made_at < ?"
        " AND (passed = 1 OR proven = 1)",
        (check.meter_id, check.made_at),
    )  # fmt: skip
    return row["at"] or ""


OPEN = f"""
SELECT c.check_id FROM meter_check_result c WHERE c.passed = 0 AND EXISTS (
  SELECT 1 FROM sample s WHERE s.meter_id = c.meter_id AND s.made_at < c.made_at AND s.import_id IS NULL
  AND s.made_at >= coalesce((SELECT max(made_at) FROM meter_check_result k WHERE k.meter_id = c.meter_id
    AND k.made_at < c.made_at AND (k.passed = 1 OR k.proven = 1)), '')
  AND NOT EXISTS (SELECT 1 FROM look_back_entry e WHERE e.sample_id = s.id AND {_STANDS}))
ORDER BY c.made_at DESC
"""


def open_checks(db: Database) -> list[str]:
    """Ids of the failed checks whose look-back has a sample that nobody has said anything about, newest first."""
    return [row["check_id"] for row in db.query(OPEN)]


def _inside(db: Database, check: Check) -> tuple[str, str, str]:
    return check.meter_id, since(db, check), check.made_at


def doubts(db: Database, check: Check) -> list[Doubt]:
    """Every sample in the look-back of a failed check: those whose verdict would change first, then by nearness.

    [] for a check that passed as found.
    """
    if check.passed:
        return []
    rows = db.query(
        "SELECT s.id, s.batch_id, b.code, p.name AS product_name, s.kind, s.made_at, w.name AS person_name"
        " FROM sample s JOIN batch b ON b.id = s.batch_id JOIN product p ON p.id = b.product_id"
        f" JOIN person w ON w.id = s.person_id WHERE {_INSIDE}",
        _inside(db, check),
    )
    found = [_doubt(db, row, check.found) for row in list(rows)]
    far = float("inf")
    # On which side of the limit it lies makes it no nearer.
    return sorted(found, key=lambda d: (not d.would_change, far if d.nearness is None else abs(d.nearness), d.made_at))


def _doubt(db: Database, row: dict, deviation: float) -> Doubt:
    entry = entry_of(db, row["id"])
    gone = entry is not None and entry.what == "reread"
    part = None if gone else results.get_parts(db, row["batch_id"]).get(row["kind"])
    made = decisions.get_decisions(db, row["batch_id"])
    return Doubt(
        row["id"], row["batch_id"], row["code"], row["product_name"], row["kind"], row["made_at"], row["person_name"],
        part, *_moved(db, part, deviation), made[-1].what if made else None, entry,
    )  # fmt: skip


def _moved(
    db: Database, part: results.PartResult | None, deviation: float
) -> tuple[measure.Judgement | None, float | None]:
    """(judgement without the deviation, nearness to the nearest limit as it stands)."""
    if part is None or part.verdict is None:
        return None, None
    target = get_target(db, part.target_version_id)
    band = results.band_of(target, part.kind, part.scale_id, None)
    rule = measure.Rule(target.rule, target.confidence)
    moved = measure.judge(part.value - deviation, part.u, band, rule, target.scale.lighter)
    room = [part.value - band.lower] if band.lower is not None else []
    room += [band.upper - part.value] if band.upper is not None else []
    return moved, min(room) / part.U


def entry_of(db: Database, sample_id: str) -> Entry | None:
    """What was said about a sample, or None. A later word counts: what was held may be accepted or read again."""
    row = one(db, f"{_ENTRY} WHERE e.sample_id = ? AND {_STANDS} ORDER BY e.rowid DESC LIMIT 1", (sample_id,))
    return Entry(**row) if row else None


def find_entry(db: Database, entry_id: str) -> Entry | None:
    """The entry with this id, or None."""
    row = one(db, f"{_ENTRY} WHERE e.id = ?", (entry_id,))
    return Entry(**row) if row else None


def open_count(db: Database, check: Check) -> int:
    """How many samples of a failed check's look-back nobody has said anything about yet."""
    if check.passed:
        return 0
    row = one(
        db,
        f"SELECT count(*) AS n FROM sample s WHERE {_INSIDE}"
        f" AND NOT EXISTS (SELECT 1 FROM look_back_entry e WHERE e.sample_id = s.id AND {_STANDS})",
        _inside(db, check),
    )
    return row["n"]


def sample_count(db: Database, check: Check) -> int:
    """How many samples a failed check's look-back has."""
    if check.passed:
        return 0
    return one(db, f"SELECT count(*) AS n FROM sample s WHERE {_INSIDE}", _inside(db, check))["n"]


def closed_by(db: Database, check: Check) -> Entry | None:
    """The word that closed a look-back: the last of the first words on its samples. None: open, or without samples."""
    if check.passed or open_count(db, check):
        return None
    row = one(
        db,
        f"{_ENTRY} WHERE e.rowid IN (SELECT min(f.rowid) FROM look_back_entry f JOIN sample s ON s.id = f.sample_id"
        f" WHERE {_INSIDE} GROUP BY f.sample_id) ORDER BY e.rowid DESC LIMIT 1",
        _inside(db, check),
    )
    return Entry(**row) if row else None


def settle(
    db: Database, check: Check, sample_id: str, what: str, reason: str, who: Who, now: datetime, id: str,
    sent: Sent = TYPED, made_at: str | None = None,
) -> None:  # fmt: skip
    """Accept a sample of a look-back with a reason, or put its batch on hold ("held": a decision of its own).

    `sent`: how it came. `made_at`: when it was said (stored UTC text); None: now. NotFound: the sample is not in it.
    AlreadyThere: the id is taken by other content, or the sample was accepted or read again already. ValueError: no
    reason.
    """
    if what not in ("accepted", "held") or not reason:
        raise ValueError("accepted or held, with a reason")
    with write(db):
        sample = one(db, "SELECT batch_id, meter_id, made_at FROM sample WHERE id = ?", (sample_id,))
        inside = sample and sample["meter_id"] == check.meter_id and since(db, check) <= sample["made_at"]
        if check.passed or not inside or sample["made_at"] >= check.made_at:
            raise NotFound(sample_id)
        there = entry_of(db, sample_id)
        if there and there.id == id:
            if (there.what, there.reason, there.check_id) != (what, reason, check.id):
                raise AlreadyThere(id)
            return
        if there and (there.what != "held" or what == "held"):
            raise AlreadyThere(sample_id)
        _add(db, id, check.id, sample_id, what, None, reason, who, now, sent, made_at)
        if what == "held":
            hold = _made_of(id, "hold")
            decisions.add_decision(db, hold, sample["batch_id"], "hold", reason, who, now, sent, made_at)
        results.recompute(db, sample["batch_id"])


def read_again(db: Database, sample: NewSample, who: Who, now: datetime) -> None:
    """A sample has just been stored: if its meter was proven, earlier ones of its batch and kind in doubt count
    as read again, and count no longer. Inside the caller's transaction."""
    rows = list(db.query(
        "SELECT s.id, s.meter_id, s.made_at FROM sample s WHERE s.batch_id = ? AND s.kind = ? AND s.id <> ?"
        " AND s.made_at < ? AND NOT EXISTS (SELECT 1 FROM look_back_entry e WHERE e.sample_id = s.id"
        f" AND e.what <> 'held' AND {_STANDS})",
        (sample.batch_id, sample.kind, sample.id, sample.made_at),
    ))  # fmt: skip
    if not rows or sample_state(db, sample.id, sample.meter_id, sample.made_at) not in FINE:
        return
    for row in rows:
        check = one(
            db,
            "SELECT check_id, passed FROM meter_check_result WHERE meter_id = ? AND made_at > ? AND made_at <= ?"
            " ORDER BY made_at, rowid LIMIT 1",
            (row["meter_id"], row["made_at"], sample.made_at),
        )
        if check and not check["passed"]:
            _add(db, _made_of(sample.id, row["id"]), check["check_id"], row["id"], "reread", sample.id, "", who, now)


def _made_of(record_id: str, name: str) -> str:
    """The id of what follows from a record, always the same one: so sending it twice makes one."""
    return str(uuid.uuid5(uuid.UUID(record_id), name))


def _add(
    db: Database, id: str, check_id: str, sample_id: str, what: str, new_sample_id: str | None, reason: str, who: Who,
    now: datetime, sent: Sent = TYPED, made_at: str | None = None,
) -> None:  # fmt: skip
    row = {
        "id": id, "check_id": check_id, "sample_id": sample_id, "what": what, "new_sample_id": new_sample_id,
        "reason": reason, "person_id": who.person_id, "tablet_id": who.tablet_id, "made_at": made_at or to_text(now),
        "received_at": to_text(now),
    }  # fmt: skip
    insert(db, "look_back_entry", row | sent.columns())
    ledger.note(db, f"look-back: {what}", "look_back_entry", id, now, who.person_id, who.tablet_id)


def failed_checks(db: Database, meter_id: str | None = None) -> list[str]:
    """Ids of the checks that failed as found, newest first; of one meter, or of all."""
    rows = db.query(
        "SELECT check_id FROM meter_check_result WHERE passed = 0 AND (? IS NULL OR meter_id = ?)"
        " ORDER BY made_at DESC",
        (meter_id, meter_id),
    )
    return [row["check_id"] for row in rows]

