"""Whose hands a sample came from: a trainee who was signed off for its kind when it was read, or somebody who was not.

What a trainee reads before the sign-off waits until somebody signed off has countersigned it. Worked out from the facts
(signoff, countersigned_sample) by the time of reading, so that what arrives late counts where it belongs.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from sqlite_utils import Database

from .connect import one

if TYPE_CHECKING:
    from .samples import Sample

HandsState = Literal["waiting"]


@dataclass(frozen=True)
class SignOffState:
    """Whether somebody's samples of one kind stand alone at a moment.

    since, until: of the sign-off that counts (stored UTC text; until None: without an end). expired: it had an end, and
    that is over. withdrawn: a lead took it back.
    """

    signed: bool
    since: str | None = None
    until: str | None = None
    expired: bool = False
    withdrawn: bool = False


NOT_SIGNED = SignOffState(False)


def state_of(db: Database, person_id: str, kind: str, at: str) -> SignOffState:
    """How somebody stood for a kind at a moment (stored UTC text). The last word counts; "not yet" takes nothing
    away from a sign-off that is there."""
    row = one(
        db,
        "SELECT what, valid_until, (SELECT max(made_at) FROM signoff f WHERE f.person_id = s.person_id"
        " AND f.kind = s.kind AND f.what = 'signed_off' AND f.made_at <= :at) AS since FROM signoff s"
        " WHERE s.person_id = :person AND s.kind = :kind AND s.made_at <= :at AND s.what <> 'not_yet'"
        " ORDER BY s.made_at DESC, s.rowid DESC LIMIT 1",
        {"person": person_id, "kind": kind, "at": at},
    )
    if row is None:
        return NOT_SIGNED
    if row["what"] == "withdrawn":
        return SignOffState(False, withdrawn=True)
    over = row["valid_until"] is not None and at > row["valid_until"]
    return SignOffState(not over, row["since"], row["valid_until"], expired=over)


def waiting(db: Database, taken: Iterable[Sample]) -> list[Sample]:
    """Those among these samples that a trainee read before the sign-off, and that nobody has countersigned."""
    return [
        sample for sample in taken
        if sample.role == "trainee"
        and not state_of(db, sample.person_id, sample.kind, sample.made_at).signed
        and not one(db, "SELECT 1 FROM countersigned_sample WHERE sample_id = ?", (sample.id,))
    ]  # fmt: skip


def hands_state(db: Database, taken: Iterable[Sample]) -> HandsState | None:
    """'waiting' while one of these samples waits for a countersignature."""
    return "waiting" if waiting(db, taken) else None
