"""Sign-offs: whether a trainee's samples of one kind stand alone, on which evidence, and until when. Append-only.

The newest word of a person and kind counts (hands.state_of). Biases, bounds and spreads are in scale units.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlite_utils import Database

from . import ledger, results
from .connect import one, write
from .errors import AlreadyThere
from .hands import SignOffState
from .hands import state_of as state_by_text
from .records import insert, is_there
from .times import to_text
from .who import Who

What = Literal["signed_off", "not_yet", "renewed", "withdrawn"]
KINDS = ("whole", "ground")


@dataclass(frozen=True)
class Evidence:
    """What was found when it was concluded; bias is trainee minus reference, low and high its 90 % interval."""

    coffees: int
    bias: float
    bias_low: float
    bias_high: float
    bound: float
    spread: float | None
    spread_limit: float | None
    spread_df: int | None


@dataclass(frozen=True)
class NewSignOff:
    """One word on somebody's samples. `comparison_id` and `evidence` for 'signed_off' and 'not_yet' alone;
    `valid_until`: stored UTC text, or None without an end; `reason`: needed for all but 'signed_off'."""

    id: str
    person_id: str
    kind: str
    what: What
    comparison_id: str | None
    evidence: Evidence | None
    valid_until: str | None
    reason: str


@dataclass(frozen=True)
class SignOff(NewSignOff):
    """The same as it is stored."""

    person_name: str
    signed_by: str
    signed_by_name: str
    made_at: str


EVIDENCE = tuple(Evidence.__dataclass_fields__)


def add_signoff(db: Database, new: NewSignOff, who: Who, now: datetime) -> None:
    """Store it once, and work out again what the person has read since, if anything has.

    AlreadyThere: the id is taken, or the comparison is concluded, with other content. ValueError: a reason is missing.
    """
    if new.what != "signed_off" and not new.reason.strip():
        raise ValueError("it needs a reason")
    found = {name: getattr(new.evidence, name) if new.evidence else None for name in EVIDENCE}
    content = {
        "person_id": new.person_id, "kind": new.kind, "what": new.what, "comparison_id": new.comparison_id,
        "valid_until": new.valid_until, "reason": new.reason, **found,
    }  # fmt: skip
    with write(db):
        if is_there(db, "signoff", new.id, content):
            return
        if new.comparison_id and find_conclusion(db, new.comparison_id):
            raise AlreadyThere(new.comparison_id)
        moment = to_text(now)
        by = {"signed_by": who.person_id, "tablet_id": who.tablet_id, "made_at": moment, "received_at": moment}
        insert(db, "signoff", {"id": new.id, **content, **by})
        ledger.note(db, f"sign-off: {new.what}", "signoff", new.id, now, who.person_id, who.tablet_id)
        work_out_since(db, new.person_id, new.kind, moment)


def work_out_since(db: Database, person_id: str, kind: str, since: str) -> None:
    """Work out again every batch with a sample of this kind that somebody read from `since` on (stored UTC text)."""
    rows = db.query(
        "SELECT DISTINCT batch_id FROM sample WHERE person_id = ? AND kind = ? AND made_at >= ?",
        (person_id, kind, since),
    )
    for row in list(rows):
        results.recompute(db, row["batch_id"])


def state_of(db: Database, person_id: str, kind: str, at: datetime) -> SignOffState:
    """How somebody stands for a kind at a moment."""
    return state_by_text(db, person_id, kind, to_text(at))


def signed_for(db: Database, person_id: str, at: datetime) -> tuple[str, ...]:
    """The kinds for which somebody is signed off at a moment."""
    return tuple(kind for kind in KINDS if state_of(db, person_id, kind, at).signed)


_SIGNOFF = (
    "SELECT s.*, p.name AS person_name, b.name AS signed_by_name FROM signoff s"
    " JOIN person p ON p.id = s.person_id JOIN person b ON b.id = s.signed_by"
)


def find_conclusion(db: Database, comparison_id: str) -> SignOff | None:
    """What a lead made of a sign-off's coffees, or None while they are under way."""
    row = one(db, f"{_SIGNOFF} WHERE s.comparison_id = ?", (comparison_id,))
    return _signoff(row) if row else None


def list_signoffs(db: Database, person_id: str | None = None) -> list[SignOff]:
    """Every word on one person (None: on everybody), newest first."""
    where, values = ("WHERE s.person_id = ?", (person_id,)) if person_id else ("", ())
    rows = db.query(f"{_SIGNOFF} {where} ORDER BY s.made_at DESC, s.rowid DESC", values)
    return [_signoff(row) for row in rows]


def _signoff(row: dict) -> SignOff:
    evidence = Evidence(**{name: row[name] for name in EVIDENCE}) if row["coffees"] is not None else None
    return SignOff(
        row["id"], row["person_id"], row["kind"], row["what"], row["comparison_id"], evidence, row["valid_until"],
        row["reason"], row["person_name"], row["signed_by"], row["signed_by_name"], row["made_at"],
    )  # fmt: skip
