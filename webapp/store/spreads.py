"""What routine work shows about a method's spread: running sums per method version and scale, kept for speed."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

from sqlite_utils import Database

from webapp import measure

from . import precision
from .connect import one

if TYPE_CHECKING:
    from .samples import Sample

Sums = tuple[float, int, float, int, int, int]  # ss_r, df_r, ss_f, df_f, readings, fills
SUMS = ("ss_r", "df_r", "ss_f", "df_f", "readings", "fills")
NOTHING: Sums = (0.0, 0, 0.0, 0, 0, 0)
ADD = (
    "INSERT INTO method_spread (method_version_id, scale_id, ss_r, df_r, ss_f, df_f, readings, fills)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (method_version_id, scale_id) DO UPDATE SET"
    " ss_r = max(0.0, ss_r + excluded.ss_r), df_r = df_r + excluded.df_r,"
    " ss_f = max(0.0, ss_f + excluded.ss_f), df_f = df_f + excluded.df_f,"
    " readings = readings + excluded.readings, fills = fills + excluded.fills"
)


def sigmas_for(db: Database, method_version_id: str, scale_id: str, kind: str, span: float) -> measure.Sigmas:
    """What is known now about this method version's spread: its newest accepted study, else routine work if there is
    enough, else assumed."""
    accepted = precision.accepted_for(db, method_version_id, scale_id)
    if accepted is not None:
        return measure.Sigmas(accepted.sigma_r, accepted.sigma_f, "study")
    row = one(
        db,
        "SELECT * FROM method_spread WHERE method_version_id = ? AND scale_id = ?",
        (method_version_id, scale_id),
    )
    routine = (None, None)
    if row and row["fills"]:
        routine = measure.pooled_sigmas(
            row["ss_r"], row["df_r"], row["ss_f"], row["df_f"], row["readings"] / row["fills"]
        )
    return measure.choose_sigmas(None, *routine, kind, span)


def scales_read_on(db: Database, method_version_ids: Iterable[str]) -> set[str]:
    """The scales on which any of these method versions has a reading that counts."""
    ids = tuple(method_version_ids)
    marks = ", ".join("?" for _id in ids)
    rows = db.query(f"SELECT scale_id FROM method_spread WHERE readings > 0 AND method_version_id IN ({marks})", ids)
    return {row["scale_id"] for row in rows}


def spread_of(sample: Sample) -> Sums:
    """What a sample adds to its method version's sums: nothing, where it was not ground as the version says, and where
    it was taken from a file with one number a fill. That may be an average, and would pass for a fill that was read
    once: the number of readings to a fill, by which the fills' own scatter is found, would be too small."""
    if sample.off_setting or (sample.import_id and len({r.fill_no for r in sample.readings}) == len(sample.readings)):
        return NOTHING
    by_fill: dict[int, list[float]] = {}
    for reading in sample.readings:
        if reading.counts is not None:
            by_fill.setdefault(reading.fill_no, []).append(reading.counts / 100)
    within = [measure.within_fill(values) for values in by_fill.values()]
    between = measure.between_fills([fill.value for fill in sample.fills()]) if by_fill else (0.0, 0)
    return (
        math.fsum(ss for ss, _df in within),
        sum(df for _ss, df in within),
        *between,
        sum(len(v) for v in by_fill.values()),
        len(by_fill),
    )


def count_spread(db: Database, sample: Sample, sign: int) -> None:
    """Add a sample to its method version's running sums, or (sign -1) take it out again before a correction."""
    values = [sign * v for v in spread_of(sample)]
    db.conn.execute(ADD, (sample.method_version_id, sample.scale_id, *values))


class Totals:
    """The sums worked out anew from samples, to compare with what is stored."""

    def __init__(self) -> None:
        self.sums: dict[tuple[str, str], Sums] = {}

    def add(self, taken: Iterable[Sample]) -> None:
        """Count these samples."""
        for sample in taken:
            self.put(sample, spread_of(sample))

    def put(self, sample: Sample, spread: Sums) -> None:
        """Count a sample whose spread is known."""
        key = sample.method_version_id, sample.scale_id
        self.sums[key] = tuple(a + b for a, b in zip(self.sums.get(key, NOTHING), spread, strict=True))

    def keep(self, db: Database) -> None:
        """Add these sums to those that are stored, inside the caller's transaction."""
        found = sorted((key, sums) for key, sums in self.sums.items() if sums != NOTHING)
        db.conn.executemany(ADD, [(*key, *sums) for key, sums in found])

    def rebuild(self, db: Database, store: bool) -> list[str]:
        """The stored sums that differ by more than rounding, in words; mends them if `store`."""
        there = {
            (row["method_version_id"], row["scale_id"]): tuple(row[name] for name in SUMS)
            for row in db.query("SELECT * FROM method_spread")
        }
        changed = []
        for key in sorted(self.sums.keys() | there.keys()):
            sums = self.sums.get(key, NOTHING)
            if not all(map(_close, sums, there.get(key, NOTHING))):
                changed.append(f"the spread of method version {key[0]}")
                if store:
                    db.conn.execute("DELETE FROM method_spread WHERE method_version_id = ? AND scale_id = ?", key)
                    db.conn.execute("INSERT INTO method_spread VALUES (?, ?, ?, ?, ?, ?, ?, ?)", (*key, *sums))
        return changed


def _close(a: float, b: float) -> bool:
    """Equal, up to what adding and taking out again in another order leaves."""
    return math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-9)
