"""The run of a product's results in order of roasting, and what happened at the bench meanwhile.

Everything is read from what is stored; nothing is kept for it. A run is of one kind, one scale and one method version:
what was read otherwise cannot be compared.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from sqlite_utils import Database

from .connect import one
from .meter_state import FINE

Kind = Literal["whole", "ground", "difference"]
KINDS: tuple[Kind, ...] = ("whole", "ground", "difference")

MOST = 5000
"""The longest run that is looked at."""

USUAL = 100
"""As many of the newest results are looked at unless others are asked for: what is kept of every product, too."""


@dataclass(frozen=True)
class Wanted:
    """Which batches of a product: None or "" for all of them. since, until: stored UTC text, until not included.

    method_version_id None: the one that the newest result was read by.
    """

    machine_id: str | None = None
    person_id: str | None = None
    lot: str | None = None
    method_version_id: str | None = None
    since: str = ""
    until: str = ""


ALL = Wanted()


@dataclass(frozen=True)
class TrendPoint:
    """One batch. value, u in scale units. person, meter: of the newest sample of its kind (for a difference: of
    ground). meter_state, grinder_state, verdict, side: as in results.PartResult; target_version_id: what it was judged
    by, None where it was not (a band on another scale says nothing of it); the roast's numbers as in the batch
    (tenths of a degree, seconds, grams), None where they were not written down."""

    batch_id: str
    code: str
    roasted_at: str
    day: str
    lot: str
    machine_id: str
    machine_name: str
    person_id: str
    person_name: str
    meter_id: str
    meter_name: str
    value: float
    u: float
    verdict: str | None
    side: str | None
    target_version_id: str | None
    meter_state: str | None
    grinder_state: str | None
    drop_decicelsius: int | None
    development_s: int | None
    total_s: int | None
    green_g: int | None
    roasted_g: int | None

    @property
    def proven(self) -> bool:
        """Whether a check stands behind its meter, or nobody asks for one."""
        return self.meter_state in FINE


@dataclass(frozen=True)
class Trend:
    """A run, oldest first. apart: how many results in it were kept apart and are left out; more: there are older ones.

    scale_id, method_version_id: what all of it was read on and by; None where there is nothing.
    """

    points: tuple[TrendPoint, ...]
    apart: int
    more: bool
    scale_id: str | None
    method_version_id: str | None


@dataclass(frozen=True)
class Choices:
    """What a run may be narrowed to, by name: (id, name) of machines and persons, (lot, lot), and (id, name, number) of
    method versions."""

    machines: tuple[tuple[str, str], ...]
    persons: tuple[tuple[str, str], ...]
    lots: tuple[tuple[str, str], ...]
    versions: tuple[tuple[str, str, int], ...]


@dataclass(frozen=True)
class Happening:
    """Something in the log. at: stored UTC text; name: of the grinder, its setting, the meter or the version."""

    what: Literal["burrs", "setting", "aligned", "cleaned", "adjusted", "failed", "targets"]
    at: str
    name: str


# The kind of sample that says by whom, on which meter and by which method a part was read.
READ_AS = {"whole": "whole", "ground": "ground", "difference": "ground"}

# Newest first along batch_by_product; all that stands behind a row is found by a key of its own. CROSS JOIN: in this
# order, whatever the engine believes of the tables' sizes, so that it may stop at the last row that is wanted.
_RUN = """
FROM batch b
CROSS JOIN part_result r ON r.batch_id = b.id AND r.kind = :kind
CROSS JOIN part_result m ON m.batch_id = b.id AND m.kind = :read_as
CROSS JOIN sample s ON s.rowid = (SELECT max(x.rowid) FROM sample x WHERE x.batch_id = b.id AND x.kind = :read_as)
WHERE b.product_id = :product
"""
_NEWEST = " ORDER BY b.roasted_at DESC, b.rowid DESC LIMIT :most"


def get_trend(db: Database, product_id: str, kind: Kind, wanted: Wanted = ALL, most: int = MOST) -> Trend:
    """The newest ``most`` results of a product and kind that are wanted. Kept apart ones count into it."""
    asked = {"product": product_id, "kind": kind, "read_as": READ_AS[kind], "most": most + 1}
    where = _conditions(wanted, asked)
    newest = one(
        db, f"SELECT r.scale_id, m.method_version_id {_RUN}{where} AND r.apart_why IS NULL{_NEWEST}",
        asked | {"most": 1},
    )  # fmt: skip
    if newest is None:
        return Trend((), 0, False, None, None)
    rows = list(
        db.query(
            f"SELECT b.id AS batch_id, b.code, b.roasted_at, b.day, b.lot, b.machine_id, s.person_id, s.meter_id,"
            " b.drop_decicelsius, b.development_s, b.total_s, b.green_g, b.roasted_g,"
            " r.value, r.u, r.verdict, r.side, iif(r.verdict IS NULL, NULL, r.target_version_id) AS target_version_id,"
            f" r.meter_state, r.grinder_state, r.apart_why"
            f" {_RUN}{where}"
            f" AND r.scale_id = :scale AND m.method_version_id = :version{_NEWEST}",
            asked | {"scale": newest["scale_id"], "version": newest["method_version_id"]},
        )
    )
    # Names apart: with their tables in the question the engine would look through all samples.
    for table in ("machine", "person", "meter"):
        names = {row["id"]: row["name"] for row in db.query(f"SELECT id, name FROM {table}")}
        for row in rows:
            row[f"{table}_name"] = names[row[f"{table}_id"]]
    more, rows = len(rows) > most, rows[:most][::-1]
    apart = [row.pop("apart_why") is not None for row in rows]
    points = tuple(TrendPoint(**row) for row, off in zip(rows, apart, strict=True) if not off)
    return Trend(points, sum(apart), more, newest["scale_id"], newest["method_version_id"])


def _conditions(wanted: Wanted, asked: dict) -> str:
    """What is wanted as SQL, and its values into ``asked``."""
    columns = {
        "machine_id": "b.machine_id = ", "person_id": "s.person_id = ", "lot": "b.lot = ",
        "method_version_id": "m.method_version_id = ", "since": "b.roasted_at >= ", "until": "b.roasted_at < ",
    }  # fmt: skip
    given = {name: getattr(wanted, name) for name in columns if getattr(wanted, name)}
    asked.update({f"w_{name}": value for name, value in given.items()})
    return "".join(f" AND {columns[name]}:w_{name}" for name in given)


def get_choices(db: Database, product_id: str, kind: Kind, most: int = 2000) -> Choices:
    """What there is to choose from among the newest ``most`` results of a product and kind."""
    asked = {"product": product_id, "kind": kind, "read_as": READ_AS[kind], "most": most}
    rows = list(
        db.query(
            "SELECT DISTINCT machine_id, person_id, lot, method_version_id FROM"
            f" (SELECT b.machine_id, s.person_id, b.lot, m.method_version_id {_RUN}{_NEWEST})",
            asked,
        )
    )
    versions = (
        "SELECT v.id, d.name, v.no FROM method_version v JOIN method d ON d.id = v.method_id"
        " WHERE v.id IN ({marks}) ORDER BY d.name COLLATE NOCASE, v.no"
    )
    named = "SELECT id, name FROM {table} WHERE id IN ({{marks}}) ORDER BY name COLLATE NOCASE, id"
    return Choices(
        _named(db, named.format(table="machine"), {row["machine_id"] for row in rows}),
        _named(db, named.format(table="person"), {row["person_id"] for row in rows}),
        tuple((lot, lot) for lot in sorted({row["lot"] for row in rows if row["lot"]}, key=str.casefold)),
        _named(db, versions, {row["method_version_id"] for row in rows}),
    )


def _named(db: Database, sql: str, ids: set[str]) -> tuple[tuple, ...]:
    rows = db.query(sql.format(marks=", ".join("?" * len(ids))), sorted(ids)) if ids else ()
    return tuple(tuple(row.values()) for row in rows)


def list_happenings(db: Database, product_id: str, trend: Trend) -> list[Happening]:
    """What the logs say of the time of a run, oldest first: its grinder, its meters, its product's targets.

    Only what can have touched it: the grinder of its method version, meters that it was read on. Checks of a meter
    only where it failed or was adjusted.
    """
    if not trend.points:
        return []
    within = (trend.points[0].roasted_at, trend.points[-1].roasted_at)
    meters = sorted({point.meter_id for point in trend.points})
    rows = [*db.query(_GRINDER, (trend.method_version_id, *within)), *db.query(_TARGETS, (product_id, *within))]
    rows += db.query(_CHECKS.format(marks=", ".join("?" * len(meters))), (*meters, *within))
    return sorted((Happening(**row) for row in rows), key=lambda one: (one.at, one.what))


_GRINDER = """
SELECT e.what, e.made_at AS at, g.name || coalesce(': ' || s.name, '') AS name
FROM method_version v JOIN grinder_setting o ON o.id = v.grinder_setting_id
JOIN grinder_event e ON e.grinder_id = o.grinder_id JOIN grinder g ON g.id = e.grinder_id
LEFT JOIN grinder_setting s ON s.id = e.setting_id
WHERE v.id = ? AND e.made_at BETWEEN ? AND ?
"""

_TARGETS = """
SELECT 'targets' AS what, made_at AS at, CAST(no AS TEXT) AS name FROM target_version
WHERE product_id = ? AND made_at BETWEEN ? AND ?
"""

_CHECKS = """
SELECT CASE WHEN r.passed THEN 'adjusted' ELSE 'failed' END AS what, r.made_at AS at, t.name
FROM meter_check_result r JOIN meter t ON t.id = r.meter_id
WHERE r.meter_id IN ({marks}) AND r.made_at BETWEEN ? AND ? AND (r.passed = 0 OR r.left_off IS NOT NULL)
"""


def bands_of(db: Database, versions: Sequence[str], kind: Kind) -> dict[str, tuple[float | None, float, float | None]]:
    """target version id -> (lower, centre, upper) of a kind in scale units; missing where a version has none."""
    ids = sorted(set(versions))
    rows = db.query(
        f"SELECT target_version_id AS id, lower, centre, upper FROM target_band WHERE kind = ? AND target_version_id IN"
        f" ({', '.join('?' * len(ids))})",
        (kind, *ids),
    )
    return {
        row["id"]: tuple(None if row[end] is None else row[end] / 100 for end in ("lower", "centre", "upper"))
        for row in rows
    }
