"""How each product stands now: what its newest results say, kept for every screen that has no time to work it out.

One row for each product and kind that was measured: the newest USUAL results of the newest scale and method version,
judged by measure.standing as a trend's page judges them. It is kept in the transaction of whatever changes a result,
the baseline or the choice of rules, and rebuilt with the results.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, fields
from typing import Literal
from weakref import WeakKeyDictionary

from sqlite_utils import Database

from webapp.measure.advice import Word
from webapp.measure.capability import inside
from webapp.measure.charts import LEAST_BASELINE
from webapp.measure.standing import Standing, frozen_limits, stand

# Both keep this table when they are written, and are read by it: hence by module, not by name.
from . import baselines, trend_rules
from .connect import one, write
from .trends import KINDS, READ_AS, USUAL, Kind

Side = Literal["lighter", "darker"]


@dataclass(frozen=True)
class State:
    """How a product stands in one kind; numbers in the scale's own units.

    batches: how many results are judged or shown, those kept apart left out; looked_at: with them; first_roasted_at:
    of the oldest of them; last_batch_id, last_roasted_at: the newest result's batch; baseline_id: whose frozen limits
    judge; missing: batches that are still needed before anything can be said; word, rule, sure: as in measure.advice;
    point_batch_id: the batch at which the signal fired, since_batch_id: the first one that it counts; side: where the
    values went, or the limit that is near; centre, sigma: of the limits, sigma None where there are none; lean: how far
    the running mean has gone of the way to its limit, lighter above zero, None where it says nothing; judged, outside:
    how many values were held against the newest band, and how many lay beyond it.
    """

    product_id: str
    kind: Kind
    scale_id: str
    method_version_id: str
    batches: int
    looked_at: int
    first_roasted_at: str
    last_batch_id: str
    last_roasted_at: str
    baseline_id: str | None
    missing: int
    word: Word
    rule: int | None
    point_batch_id: str | None
    since_batch_id: str | None
    side: Side | None
    sure: bool
    centre: float
    sigma: float | None
    lean: float | None
    cp: float | None
    cpk: float | None
    judged: int
    outside: int

    @property
    def changed(self) -> bool:
        """Whether a signal stands."""
        return self.word == "changed"

    @property
    def off(self) -> bool:
        """Whether it is steady and yet surely not right: it cannot hold its band, or lies off its centre."""
        return self.word in ("cannot_hold", "off_centre") and self.sure


FIELDS = tuple(field.name for field in fields(State))
_COLUMNS = ", ".join(FIELDS)


def find_state(db: Database, product_id: str, kind: Kind) -> State | None:
    """How a product stands in one kind; None while nothing of it was measured."""
    row = one(db, f"SELECT {_COLUMNS} FROM trend_state WHERE product_id = ? AND kind = ?", (product_id, kind))
    return _state(row) if row else None


def states_of(db: Database, product_id: str) -> dict[Kind, State]:
    """kind -> how a product stands, in the order whole, ground, difference; without those that were not measured."""
    rows = db.query(f"SELECT {_COLUMNS} FROM trend_state WHERE product_id = ?", (product_id,))
    found = {row["kind"]: _state(row) for row in rows}
    return {kind: found[kind] for kind in KINDS if kind in found}


def list_states(db: Database) -> dict[str, dict[Kind, State]]:
    """product id -> kind -> how it stands, of every product that was measured."""
    found: dict[str, dict[Kind, State]] = {}
    in_order = "product_id, kind = 'difference', kind = 'ground'"
    for row in db.query(f"SELECT {_COLUMNS} FROM trend_state ORDER BY {in_order}"):
        found.setdefault(row["product_id"], {})[row["kind"]] = _state(row)
    return found


def _state(row: dict) -> State:
    return State(**row | {"sure": bool(row["sure"])})


def refresh(db: Database, product_id: str, kinds: Iterable[Kind], changed_at: str = "") -> None:
    """Look at a product's newest results again and keep what they say, inside the caller's transaction.

    changed_at: when the batch was roasted whose result changed (stored UTC text). Then nothing older than it, and than
    what was looked at before, has to be searched; "": anything may have changed.
    """
    if not db.conn.in_transaction:
        raise RuntimeError("a state belongs to the transaction that changed a result")
    if db in _PUT_OFF:
        _PUT_OFF[db].update((product_id, kind) for kind in kinds)
        return
    for kind in kinds:
        before = find_state(db, product_id, kind) if changed_at else None
        _keep(db, product_id, kind, work_out(db, product_id, kind, before, changed_at))


# Connection -> what is to be looked at when its transaction is nearly over.
_PUT_OFF: WeakKeyDictionary[Database, set[tuple[str, Kind]]] = WeakKeyDictionary()


@contextmanager
def put_off(db: Database) -> Iterator[None]:
    """For whoever stores a great many samples in one transaction, and reads no state meanwhile: each product and kind
    that has changed within is looked at once, at its end. Inside the transaction, so that nobody else ever sees a state
    that is not that of the results.
    """
    if not db.conn.in_transaction:
        raise RuntimeError("a state belongs to the transaction that changed a result")
    if db in _PUT_OFF:
        yield
        return
    _PUT_OFF[db] = set()
    try:
        yield
    finally:
        waiting = _PUT_OFF.pop(db)
    for product_id, kind in sorted(waiting):
        refresh(db, product_id, [kind])


def refresh_all(db: Database) -> None:
    """The same for every product and kind, after another choice of rules."""
    for product_id, states in list_states(db).items():
        refresh(db, product_id, states)


def _keep(db: Database, product_id: str, kind: Kind, state: State | None) -> None:
    if state is None:
        db.conn.execute("DELETE FROM trend_state WHERE product_id = ? AND kind = ?", (product_id, kind))
        return
    marks = ", ".join("?" * len(FIELDS))
    values = [getattr(state, name) for name in FIELDS]
    values[FIELDS.index("sure")] = int(state.sure)
    db.conn.execute(f"INSERT OR REPLACE INTO trend_state ({_COLUMNS}) VALUES ({marks})", values)


# As store.trends reads a run, with nothing but what judging needs: newest first along batch_by_product.
_RUN = """
SELECT b.id, b.roasted_at, r.value, r.scale_id, {method}, iif(r.verdict IS NULL, NULL, r.target_version_id),
  r.apart_why IS NOT NULL
FROM batch b CROSS JOIN part_result r ON r.batch_id = b.id AND r.kind = :kind {join}
WHERE b.product_id = :product AND b.roasted_at >= :since AND b.blend IS NULL ORDER BY b.roasted_at DESC, b.rowid DESC
"""
# One question for coffee, whose part says itself by which method it was read.
_ASK = {
    kind: _RUN.format(method="r.method_version_id", join="") if read_as == kind
    else _RUN.format(
        method="m.method_version_id",
        join=f"CROSS JOIN part_result m ON m.batch_id = b.id AND m.kind = '{read_as}'",
    )
    for kind, read_as in READ_AS.items()
}  # fmt: skip

Row = tuple[str, str, float, str, str, str | None, int]


def _newest(db: Database, product_id: str, kind: Kind, before: State | None, changed_at: str) -> list[Row]:
    """The newest USUAL results read as the newest is that was not kept apart, newest first, those kept apart among
    them. before: what was kept until now, of which only a batch roasted at changed_at may have another result."""
    asked = {"product": product_id, "kind": kind, "since": ""}
    # A run that was not full has nothing older: a new method version does not cost a search through all the years.
    known = before is not None and before.looked_at < USUAL
    least = min(before.first_roasted_at, changed_at) if known else ""
    rows = db.conn.execute(_ASK[kind], asked)
    early: list[Row] = []
    found: list[Row] = []
    key = None
    for row in rows:
        if key is None:
            if row[6]:
                early.append(row)
                continue
            key = row[3:5]
            found = [one for one in early if one[3:5] == key][:USUAL]
            known = known and key == (before.scale_id, before.method_version_id)
        if len(found) == USUAL or (known and row[1] < least):
            break
        if row[3:5] == key:
            found.append(row)
    rows.close()
    return found if key else []


def work_out(
    db: Database, product_id: str, kind: Kind, before: State | None = None, changed_at: str = ""
) -> State | None:
    """What the newest results of a product and kind say; None where there are none. before, changed_at: see
    ``refresh``."""
    rows = _newest(db, product_id, kind, before, changed_at)
    points = [row for row in rows[::-1] if not row[6]]
    if not points:
        return None
    last_id, last_at, _value, scale_id, version_id, target_id, _apart = points[-1]
    scale = one(db, "SELECT lighter, step / 100.0 AS step FROM scale WHERE id = ?", (scale_id,))
    way, step = scale["lighter"], scale["step"]
    rules = trend_rules.current(db)
    baseline = baselines.find_baseline(db, baselines.Place(product_id, kind, scale_id, version_id))
    # Frozen limits say nothing of batches that are all older than their own.
    if baseline is not None and last_at < baseline.first_roasted_at:
        baseline = None
    frozen, start = None, 0
    if baseline is not None:
        limits = baseline.limits
        frozen = frozen_limits(limits.batches, limits.centre * way, limits.sigma)
        start = bisect_left([point[1] for point in points], baseline.first_roasted_at)
    ends = _ends(db, target_id, kind, way)
    values = [point[2] * way for point in points]
    found = stand(values, step, ends, rules.rules, rules.average, frozen, start)
    judged, outside = _share(values[found.start :], ends, step)
    said = found.advice
    return State(
        product_id, kind, scale_id, version_id, len(points), len(rows), rows[-1][1], last_id, last_at,
        baseline.id if baseline else None, _missing(baseline, len(points)), said.word, said.rule,
        None if said.point is None else points[said.point][0], None if said.since is None else points[said.since][0],
        None if said.side is None else "lighter" if said.side == "above" else "darker", said.sure,
        found.limits.centre * way if found.limits else values[-1] * way, found.limits.sigma if found.limits else None,
        _lean(found), *_indices(found), judged, outside,
    )  # fmt: skip


def _missing(baseline: baselines.Baseline | None, batches: int) -> int:
    return 0 if baseline else max(0, LEAST_BASELINE - batches)


def _ends(db: Database, target_id: str | None, kind: Kind, way: int) -> tuple[float | None, float | None] | None:
    """The limits of a band, mirrored where small numbers are light; None without a band."""
    if target_id is None:
        return None
    row = one(db, "SELECT lower, upper FROM target_band WHERE target_version_id = ? AND kind = ?", (target_id, kind))
    if row is None:
        return None
    lower, upper = (None if row[end] is None else way * row[end] / 100 for end in ("lower", "upper"))
    return (lower, upper) if way > 0 else (upper, lower)


def _share(values: list[float], ends: tuple[float | None, float | None] | None, step: float) -> tuple[int, int]:
    """(values that were held against the band, those beyond it)."""
    if ends is None or ends == (None, None):
        return 0, 0
    return len(values), len(values) - inside(values, *ends, step)


def _lean(found: Standing) -> float | None:
    """How far the running mean is on its way to the limit."""
    if found.advice.word == "too_few" or found.run is None or not found.run.average:
        return None
    last = found.run.average[-1]
    return (last.value - found.limits.centre) / (last.upper - found.limits.centre)


def _indices(found: Standing) -> tuple[float | None, float | None]:
    able = found.capability
    return (able.cp.value if able and able.cp else None, able.cpk.value) if able else (None, None)


def fill_if_empty(db: Database) -> None:
    """Work all of it out on a bench that is older than this is. Does nothing to one that has some."""
    if one(db, "SELECT 1 FROM trend_state LIMIT 1") or not one(db, "SELECT 1 FROM part_result LIMIT 1"):
        return
    with write(db):
        for row in list(db.query("SELECT id FROM product")):
            refresh(db, row["id"], KINDS)


def rebuild(db: Database, store: bool, there: dict[tuple[str, str], State] | None = None) -> list[str]:
    """The kept states that differ from what the results give, as "the trend of product ID, whole"; mends them if
    `store`. there: the states to hold it against (by product and kind); None: those that are kept now."""
    kept = all_states(db) if there is None else there
    changed = []
    for row in list(db.query("SELECT id FROM product ORDER BY id")):
        for kind in KINDS:
            state = work_out(db, row["id"], kind)
            if not _same(state, kept.get((row["id"], kind))):
                changed.append(f"the trend of product {row['id']}, {kind}")
                if store:
                    _keep(db, row["id"], kind, state)
    return changed


def all_states(db: Database) -> dict[tuple[str, str], State]:
    """(product id, kind) -> its state."""
    return {(product_id, kind): state for product_id, of in list_states(db).items() for kind, state in of.items()}


def _same(a: State | None, b: State | None) -> bool:
    """Equal, numbers up to what another machine's mathematics library may make of them."""
    if a is None or b is None:
        return a is b
    return all(
        math.isclose(x, y, rel_tol=1e-9, abs_tol=1e-9) if isinstance(x, float) and isinstance(y, float) else x == y
        for x, y in ((getattr(a, name), getattr(b, name)) for name in FIELDS)
    )
