"""What everyday work shows month by month: running sums per method version, scale, month and person, kept for speed.

A month is the site's. The same samples count as in spreads.py, and add up to its sums.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from sqlite_utils import Database

from . import spreads, times
from .connect import one, write
from .samples import Sample, get_sample, get_samples

Key = tuple[str, str, str, str]  # method_version_id, scale_id, month, person_id
Sums = tuple[float, int, float, int, int, int, int, int]
SUMS = (*spreads.SUMS, "samples", "disagreeing")
KEY = ("method_version_id", "scale_id", "month", "person_id")
NOTHING: Sums = (*spreads.NOTHING, 0, 0)

_ADDED = ", ".join(
    f"{name} = max(0.0, {name} + excluded.{name})" if name in ("ss_r", "ss_f") else f"{name} = {name} + excluded.{name}"
    for name in SUMS
)
ADD = (
    f"INSERT INTO routine_spread ({', '.join(KEY + SUMS)}) VALUES ({', '.join('?' * len(KEY + SUMS))})"
    f" ON CONFLICT ({', '.join(KEY)}) DO UPDATE SET {_ADDED}"
)


@dataclass(frozen=True)
class Spread:
    """What some samples come to. Sums of squares in squared scale units with their degrees of freedom: of the readings
    about their fill (r), of the fills' values about their sample (f). How many readings, fills and samples, and in how
    many samples the readings of a fill disagreed to the end."""

    ss_r: float = 0.0
    df_r: int = 0
    ss_f: float = 0.0
    df_f: int = 0
    readings: int = 0
    fills: int = 0
    samples: int = 0
    disagreeing: int = 0

    def without(self, other: Spread) -> Spread:
        """What is left when `other`, which is part of it, is taken out."""
        left = {name: value - getattr(other, name) for name, value in vars(self).items()}
        return Spread(**left | {name: max(0.0, left[name]) for name in ("ss_r", "ss_f")})


@dataclass(frozen=True)
class Month:
    """The spread of a method version on a scale in one month (`2026-05`), all persons together."""

    method_version_id: str
    scale_id: str
    month: str
    spread: Spread


@dataclass(frozen=True)
class OfPerson:
    """The spread of a method on a scale in one person's hands, all its versions and months together."""

    method_id: str
    scale_id: str
    person_id: str
    person_name: str
    spread: Spread


def list_months(db: Database, since: str) -> list[Month]:
    """By method version, scale and month from `since` (`2025-06`) on, the oldest month first; none without samples."""
    return [
        Month(row.pop("method_version_id"), row.pop("scale_id"), row.pop("month"), Spread(**row))
        for row in db.query(
            f"SELECT method_version_id, scale_id, month, {_TOTALS} FROM routine_spread WHERE month >= ?"
            " GROUP BY method_version_id, scale_id, month HAVING sum(samples) > 0"
            " ORDER BY method_version_id, scale_id, month",
            (since,),
        )
    ]


def all_months(db: Database, method_version_id: str, scale_id: str) -> Spread:
    """Everything that a method version was ever used for on a scale."""
    row = one(
        db,
        f"SELECT {_TOTALS} FROM routine_spread WHERE method_version_id = ? AND scale_id = ? HAVING sum(samples) > 0",
        (method_version_id, scale_id),
    )
    return Spread(**row) if row else Spread()


def list_persons(db: Database, since: str) -> list[OfPerson]:
    """By method, scale and person from the month `since` on, in the order of names; none without samples."""
    return [
        OfPerson(*(row.pop(name) for name in ("method_id", "scale_id", "person_id", "name")), Spread(**row))
        for row in db.query(
            f"SELECT v.method_id, r.scale_id, r.person_id, p.name, {_TOTALS} FROM routine_spread r"
            " JOIN method_version v ON v.id = r.method_version_id JOIN person p ON p.id = r.person_id"
            " WHERE r.month >= ? GROUP BY v.method_id, r.scale_id, r.person_id HAVING sum(samples) > 0"
            " ORDER BY p.name, v.method_id, r.scale_id",
            (since,),
        )
    ]


_TOTALS = ", ".join(f"sum({name}) AS {name}" for name in SUMS)


def count_sample(db: Database, sample: Sample, sign: int) -> None:
    """Add a sample to its month's running sums, or (sign -1) take it out again before a correction."""
    sums = _sums_of(sample)
    if sums != NOTHING:
        db.conn.execute(ADD, (*_key(sample, _zone(db)), *(sign * value for value in sums)))


def _zone(db: Database) -> str:
    site = one(db, "SELECT time_zone FROM site")
    return site["time_zone"] if site else "UTC"


def _key(sample: Sample, zone: str) -> Key:
    month = times.local_day(times.from_text(sample.made_at), zone)[:7]
    return sample.method_version_id, sample.scale_id, month, sample.person_id


def _sums_of(sample: Sample, known: spreads.Sums | None = None) -> Sums:
    spread = known or spreads.spread_of(sample)
    if spread == spreads.NOTHING:
        return NOTHING
    return (*spread, 1, int(any(fill.state == "disagree" for fill in sample.fills())))


def change_zone(db: Database, before: str, after: str) -> None:
    """The site has another time zone: samples near the turn of a month move to the one they are in now."""
    # No two zones are more than 26 hours apart.
    days = "('01', '02', '03', '27', '28', '29', '30', '31')"
    for row in list(db.query(f"SELECT id, made_at FROM sample WHERE substr(made_at, 9, 2) IN {days}")):
        moment = times.from_text(row["made_at"])
        if times.local_day(moment, before)[:7] == times.local_day(moment, after)[:7]:
            continue
        sample = get_sample(db, row["id"])
        sums = _sums_of(sample)
        if sums != NOTHING:
            db.conn.execute(ADD, (*_key(sample, before), *(-value for value in sums)))
            db.conn.execute(ADD, (*_key(sample, after), *sums))


def fill_if_empty(db: Database) -> None:
    """Work the sums out from the samples of a bench that is older than they are. Does nothing to one that has some."""
    if one(db, "SELECT 1 FROM routine_spread LIMIT 1") or not one(db, "SELECT 1 FROM sample LIMIT 1"):
        return
    with write(db):
        totals = Totals(db)
        for row in list(db.query("SELECT id FROM batch ORDER BY id")):
            totals.add(get_samples(db, row["id"]))
        totals.keep(db)


class Totals:
    """The sums worked out anew from samples, to compare with what is stored."""

    def __init__(self, db: Database) -> None:
        self.zone = _zone(db)
        self.sums: dict[Key, Sums] = {}

    def add(self, taken: Iterable[Sample]) -> None:
        """Count these samples."""
        for sample in taken:
            self.put(sample)

    def put(self, sample: Sample, spread: spreads.Sums | None = None) -> None:
        """Count a sample; spread: what spreads.spread_of says of it, where that is known."""
        sums = _sums_of(sample, spread)
        if sums != NOTHING:
            key = _key(sample, self.zone)
            self.sums[key] = tuple(a + b for a, b in zip(self.sums.get(key, NOTHING), sums, strict=True))

    def keep(self, db: Database) -> None:
        """Add these sums to those that are stored, inside the caller's transaction."""
        db.conn.executemany(ADD, [(*key, *sums) for key, sums in sorted(self.sums.items())])

    def rebuild(self, db: Database, store: bool) -> list[str]:
        """The stored sums that differ by more than rounding, in words; mends them if `store`."""
        there = {
            tuple(row[name] for name in KEY): tuple(row[name] for name in SUMS)
            for row in db.query("SELECT * FROM routine_spread")
        }
        changed = []
        for key in sorted(self.sums.keys() | there.keys()):
            sums = self.sums.get(key, NOTHING)
            if not all(map(_close, sums, there.get(key, NOTHING))):
                version, _scale, month, person = key
                changed.append(f"the routine spread of method version {version} in {month} by person {person}")
                if store:
                    db.conn.execute(
                        f"DELETE FROM routine_spread WHERE {' AND '.join(f'{name} = ?' for name in KEY)}", key
                    )
                    db.conn.execute(ADD, (*key, *sums))
        return changed


def _close(a: float, b: float) -> bool:
    """Equal, up to what adding and taking out again in another order leaves."""
    return math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-9)
