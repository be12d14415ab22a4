"""The run of a product's results in order of roasting. What happened meanwhile: happenings.py.

Everything is read from what is stored; nothing is kept for it. A run is of one kind, one scale and one method version:
what was read otherwise cannot be compared.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

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


class TrendPoint(NamedTuple):
    """One batch, in the order of _POINT. value, u in scale units. person, meter: of the newest sample of its kind (for
    a difference: of ground). meter_state, grinder_state, verdict, side: as in results.PartResult; target_version_id:
    what it was judged by, None where it was not (a band on another scale says nothing of it); the roast's numbers as in
    the batch (tenths of a degree, seconds, grams), None where they were not written down."""

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

    scale_id, method_version_id: what all of it was read on and by; None where there is nothing. beside: what was read
    otherwise before, between and after its batches, if that was asked for.
    """

    points: tuple[TrendPoint, ...]
    apart: int
    more: bool
    scale_id: str | None
    method_version_id: str | None
    beside: tuple[Beside, ...] = ()


@dataclass(frozen=True)
class Beside:
    """Results that are none of a run, since they were read by another method version or on another scale.

    where: as seen from the run. at: when the nearest of them was roasted, as stored; between: the first. batches: how
    many in between; before and after the run they are not counted (0). name, no: of the method version.
    """

    where: Literal["before", "between", "after"]
    method_version_id: str
    scale_id: str
    name: str
    no: int
    at: str
    batches: int


@dataclass(frozen=True)
class Choices:
    """What a run may be narrowed to, by name: (id, name) of machines and persons, (lot, lot), and (id, name, number) of
    method versions."""

    machines: tuple[tuple[str, str], ...]
    persons: tuple[tuple[str, str], ...]
    lots: tuple[tuple[str, str], ...]
    versions: tuple[tuple[str, str, int], ...]


# The kind of sample that says by whom, on which meter and by which method a part was read.
READ_AS = {"whole": "whole", "ground": "ground", "difference": "ground"}

# Newest first along batch_by_product; all that stands behind a row is found by a key of its own. CROSS JOIN: in this
# order, whatever the engine believes of the tables' sizes, so that it may stop at the last row that is wanted.
_RUN = """
FROM batch b
CROSS JOIN part_result r ON r.batch_id = b.id AND r.kind = :kind
{read_as}
{sample}
WHERE b.product_id = :product AND b.blend IS NULL
"""
_SAMPLE = """
CROSS JOIN sample s ON s.rowid = (SELECT max(x.rowid) FROM sample x WHERE x.batch_id = b.id AND x.kind = :read_as)
"""
_READ_AS = "CROSS JOIN part_result m ON m.batch_id = b.id AND m.kind = :read_as"
# A point's columns in its order, but for names; last whether it was kept apart.
_POINT = """
SELECT b.id, b.code, b.roasted_at, b.day, b.lot, b.machine_id, s.person_id, s.meter_id, r.value, r.u, r.verdict, r.side,
  iif(r.verdict IS NULL, NULL, r.target_version_id), r.meter_state, r.grinder_state,
  b.drop_decicelsius, b.development_s, b.total_s, b.green_g, b.roasted_g, r.apart_why
"""
_NEWEST = " ORDER BY b.roasted_at DESC, b.rowid DESC LIMIT :most"


def get_trend(
    db: Database, product_id: str, kind: Kind, wanted: Wanted = ALL, most: int = MOST, beside: bool = False
) -> Trend:
    """The newest ``most`` results of a product and kind that are wanted. Kept apart ones count into it.

    beside: look also for what was read by another method version or on another scale.
    """
    asked = {"product": product_id, "kind": kind, "read_as": READ_AS[kind], "most": most + 1}
    run = _run(kind) + _conditions(wanted, kind, asked)
    method = _method(kind)
    newest = one(
        db, f"SELECT r.scale_id, {method} AS version {run} AND r.apart_why IS NULL{_NEWEST}", asked | {"most": 1}
    )
    if newest is None:
        return Trend((), 0, False, None, None)
    asked |= {"scale": newest["scale_id"], "version": newest["version"]}
    rows = db.conn.execute(
        f"{_POINT}{run} AND r.scale_id = :scale AND {method} = :version{_NEWEST}", asked
    ).fetchall()  # fmt: skip
    more, rows = len(rows) > most, rows[:most][::-1]
    # Names apart: with their tables in the question the engine would look through all samples.
    machines, people, meters = (
        dict(db.conn.execute(f"SELECT id, name FROM {table}").fetchall()) for table in ("machine", "person", "meter")
    )
    points = tuple(
        TrendPoint(*row[:6], machines[row[5]], row[6], people[row[6]], row[7], meters[row[7]], *row[8:-1])
        for row in rows
        if row[-1] is None
    )
    found = Trend(points, len(rows) - len(points), more, newest["scale_id"], newest["version"])
    return replace(found, beside=_beside(db, found, product_id, kind, wanted)) if beside and points else found


def _beside(db: Database, run: Trend, product_id: str, kind: Kind, wanted: Wanted) -> tuple[Beside, ...]:
    """What was read otherwise. Before a run of which there is more lies its own."""
    asked = {
        "product": product_id, "kind": kind, "read_as": READ_AS[kind], "scale": run.scale_id,
        "version": run.method_version_id, "first": run.points[0].roasted_at, "last": run.points[-1].roasted_at,
    }  # fmt: skip
    method = _method(kind)
    others = _run(kind, bool(wanted.person_id))
    others += _conditions(replace(wanted, method_version_id=None), kind, asked)
    others += f" AND r.apart_why IS NULL AND (r.scale_id <> :scale OR {method} <> :version)"
    names = f"{method} AS method_version_id, r.scale_id"
    nearest = "SELECT '{0}' AS place, {1}, b.roasted_at AS at, 0 AS batches {2} AND b.roasted_at {3} LIMIT 1"
    asks = [f"SELECT 'between' AS place, {names}, min(b.roasted_at) AS at, count(*) AS batches {others}"
            f" AND b.roasted_at BETWEEN :first AND :last GROUP BY 2, 3"]  # fmt: skip
    if not run.more:
        asks.insert(0, nearest.format("before", names, others, "< :first ORDER BY b.roasted_at DESC"))
    if wanted.method_version_id:
        asks.append(nearest.format("after", names, others, "> :last ORDER BY b.roasted_at"))
    rows = [row for ask in asks for row in db.query(ask, asked)]
    named = {
        row["id"]: (row["name"], row["no"])
        for row in db.query("SELECT v.id, d.name, v.no FROM method_version v JOIN method d ON d.id = v.method_id")
    }
    return tuple(
        Beside(row["place"], row["method_version_id"], row["scale_id"], *named[row["method_version_id"]], row["at"],
               row["batches"])
        for row in rows
    )  # fmt: skip


def _run(kind: Kind, sample: bool = True) -> str:
    """The rows of a kind. A difference was read by the method of its ground sample, and has that in another row.

    sample: with the sample s that says who read it.
    """
    return _RUN.format(read_as="" if READ_AS[kind] == kind else _READ_AS, sample=_SAMPLE if sample else "")


def _method(kind: Kind) -> str:
    return "r.method_version_id" if READ_AS[kind] == kind else "m.method_version_id"


def _conditions(wanted: Wanted, kind: Kind, asked: dict) -> str:
    """What is wanted as SQL, and its values into ``asked``."""
    columns = {
        "machine_id": "b.machine_id = ", "person_id": "s.person_id = ", "lot": "b.lot = ",
        "method_version_id": f"{_method(kind)} = ", "since": "b.roasted_at >= ", "until": "b.roasted_at < ",
    }  # fmt: skip
    given = {name: getattr(wanted, name) for name in columns if getattr(wanted, name)}
    asked.update({f"w_{name}": value for name, value in given.items()})
    return "".join(f" AND {columns[name]}:w_{name}" for name in given)


def kind_read_by(db: Database, version_id: str) -> str | None:
    """'whole' or 'ground': what a method version is for; None without one of that id."""
    row = one(
        db, "SELECT d.kind FROM method_version v JOIN method d ON d.id = v.method_id WHERE v.id = ?", (version_id,)
    )
    return row["kind"] if row else None


def get_all_choices(db: Database, product_id: str) -> Choices:
    """As get_choices, of all kinds of a product together."""
    found = [get_choices(db, product_id, kind) for kind in KINDS]
    merged = ({item for one in found for item in getattr(one, name)} for name in ("machines", "persons", "lots"))
    versions = dict.fromkeys(version for one in found for version in one.versions)
    return Choices(*(tuple(sorted(items, key=lambda item: item[1].casefold())) for items in merged), tuple(versions))


def get_choices(db: Database, product_id: str, kind: Kind, most: int = 1000) -> Choices:
    """What there is to choose from among the newest ``most`` results of a product and kind."""
    asked = {"product": product_id, "kind": kind, "read_as": READ_AS[kind], "most": most}
    rows = list(
        db.query(
            "SELECT DISTINCT machine_id, person_id, lot, method_version_id FROM"
            f" (SELECT b.machine_id, s.person_id, b.lot, {_method(kind)} AS method_version_id {_run(kind)}{_NEWEST})",
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
