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


# The batches that wait at all are found first: they are few.
_WAITING = """
SELECT DISTINCT b.id FROM batch b CROSS JOIN batch_result r ON r.batch_id = b.id AND r.hands_state = 'waiting'
CROSS JOIN sample s ON s.batch_id = b.id AND s.kind IN ({kinds}) AND s.role = 'trainee'
WHERE b.product_id = ? AND b.roasted_at BETWEEN ? AND ?
AND NOT EXISTS (SELECT 1 FROM countersigned_sample c WHERE c.sample_id = s.id)
AND NOT coalesce((SELECT f.what <> 'withdrawn' AND (f.valid_until IS NULL OR s.made_at <= f.valid_until) FROM signoff f
  WHERE f.person_id = s.person_id AND f.kind = s.kind AND f.made_at <= s.made_at AND f.what <> 'not_yet'
  ORDER BY f.made_at DESC, f.rowid DESC LIMIT 1), 0)
"""


def waiting_batches(db: Database, product_id: str, kind: str, since: str, until: str) -> frozenset[str]:
    """Ids of the batches of a product, roasted from since to until (stored UTC text), whose samples of one kind wait
    for a countersignature; of a difference: whose samples of either kind do."""
    kinds = "'whole', 'ground'" if kind == "difference" else "?"
    given = () if kind == "difference" else (kind,)
    rows = db.query(_WAITING.format(kinds=kinds), (*given, product_id, since, until))
    return frozenset(row["id"] for row in rows)
