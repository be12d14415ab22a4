"""What one person's everyday work shows: samples and agreement by month, and how much their fills vary."""

from __future__ import annotations

from dataclasses import dataclass

from sqlite_utils import Database

from webapp import measure

from . import precision
from .connect import one


@dataclass(frozen=True)
class OwnMonth:
    """A kind in one month (`2026-05`): samples, and those whose readings disagreed to the end."""

    kind: str
    month: str
    samples: int
    disagreeing: int
    fills: int


@dataclass(frozen=True)
class OwnSpread:
    """How much somebody's fills of one sample vary with a method version on a scale: squared scale units and degrees of
    freedom, with the readings of a fill on average."""

    kind: str
    method_version_id: str
    scale_id: str
    ss_f: float
    df_f: int
    readings_each: float


def months_of(db: Database, person_id: str, since: str) -> list[OwnMonth]:
    """By kind and month, from the month `since` (`2025-06`) on, oldest first."""
    rows = db.query(
        "SELECT v.kind, r.month, sum(r.samples) AS samples, sum(r.disagreeing) AS disagreeing, sum(r.fills) AS fills"
        " FROM routine_spread r JOIN method_version w ON w.id = r.method_version_id JOIN method v ON v.id = w.method_id"
        " WHERE r.person_id = ? AND r.month >= ? GROUP BY v.kind, r.month HAVING sum(r.samples) > 0"
        " ORDER BY v.kind, r.month",
        (person_id, since),
    )
    return [OwnMonth(**row) for row in rows]


def spreads_of(db: Database, person_id: str, since: str) -> list[OwnSpread]:
    """By method version and scale, from the month `since` on; those known best first."""
    rows = db.query(
        "SELECT v.kind, r.method_version_id, r.scale_id, sum(r.ss_f) AS ss_f, sum(r.df_f) AS df_f,"
        " max(1.0, sum(r.readings) * 1.0 / sum(r.fills)) AS readings_each FROM routine_spread r"
        " JOIN method_version w ON w.id = r.method_version_id JOIN method v ON v.id = w.method_id"
        " WHERE r.person_id = ? AND r.month >= ? GROUP BY r.method_version_id, r.scale_id HAVING sum(r.fills) > 0"
        " ORDER BY sum(r.df_f) DESC",
        (person_id, since),
    )
    return [OwnSpread(**row) for row in rows]


def shop_sigmas(
    db: Database, person_id: str, method_version_id: str, scale_id: str, kind: str, span: float
) -> measure.Sigmas:  # fmt: skip
    """What is known of a method version's spread in everybody else's hands, scale units: as spreads.sigmas_for, without
    this person's own everyday work, against which they are not to be measured."""
    accepted = precision.accepted_for(db, method_version_id, scale_id)
    if accepted is not None:
        return measure.Sigmas(accepted.sigma_r, accepted.sigma_f, "study")
    left = one(
        db,
        "SELECT total(ss_r) AS ss_r, sum(df_r) AS df_r, total(ss_f) AS ss_f, sum(df_f) AS df_f,"
        " sum(readings) AS readings, sum(fills) AS fills FROM routine_spread"
        " WHERE method_version_id = ? AND scale_id = ? AND person_id <> ?",
        (method_version_id, scale_id, person_id),
    )
    known = (None, None)
    if left["fills"]:
        each = left["readings"] / left["fills"]
        known = measure.pooled_sigmas(left["ss_r"], left["df_r"], left["ss_f"], left["df_f"], each)
    return measure.choose_sigmas(None, *known, kind, span)
