"""Which batches wait for somebody, and why: one rule for the strip, the list, the overview and what is stored.

`batch_waiting` keeps a row for each, in the transaction of whatever changes a result or a decision, so that what has
waited for a year is found among a million batches as fast as what waits since this morning. Rebuilt with the results.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sqlite_utils import Database

from .connect import one, write
from .meter_state import FINE

# undecided, outside: read so, and nobody has decided. meter: no check stands behind it. hands: to be countersigned.
# hold: held. remeasure: to be read again, and not read since. changed: decided, and reads otherwise now.
Why = Literal["undecided", "outside", "meter", "hands", "hold", "remeasure", "changed"]
WHYS: tuple[Why, ...] = ("undecided", "outside", "meter", "hands", "hold", "remeasure", "changed")

# How far from leaving: what was released as one of these comes back when it reads as one further down.
FURTHER = {"inside": 0, "unjudged": 0, "incomplete": 1, "unmeasured": 1, "undecided": 2, "outside": 3}


@dataclass(frozen=True)
class Stands:
    """What the rule looks at.

    verdict: as in results.BatchResult, 'incomplete' for a batch without any reading; meter_state, hands_state: as
    there. what, decided_on: the newest decision and the verdict that stood then, or None. reread: it asks for another
    reading, and there is one since. imported: taken in from a file of older batches.
    """

    verdict: str
    meter_state: str | None
    hands_state: str | None
    what: str | None
    decided_on: str | None
    reread: bool = False
    imported: bool = False

    @property
    def decided(self) -> str | None:
        """The decision that still says something: one that asked for another reading is spent once there is one."""
        return None if self.reread else self.what

    @property
    def to_countersign(self) -> bool:
        """Whether it was read in part by a trainee before the sign-off, and nobody has countersigned or decided."""
        return self.verdict != "incomplete" and self.hands_state == "waiting" and self.decided in (None, "hold")


def why_waiting(batch: Stands) -> Why | None:
    """Why a batch waits for somebody, the one reason that comes first; None if it does not.

    What was taken in from a file is history: it waits only once somebody has decided that it should.
    """
    if batch.decided in ("hold", "remeasure"):
        return batch.decided
    if batch.decided == "blend" or (batch.imported and batch.what is None):
        return None
    if batch.to_countersign:
        return "hands"
    if batch.decided == "reject":
        # Rejected for what it read, and that was not so.
        return "changed" if batch.decided_on in ("undecided", "outside") and batch.verdict == "inside" else None
    if batch.verdict != "incomplete" and batch.meter_state not in FINE and batch.decided != "concession":
        return "meter"
    if batch.decided in ("release", "concession"):
        return "changed" if FURTHER[batch.verdict] > FURTHER[batch.decided_on] else None
    return batch.verdict if batch.verdict in ("undecided", "outside") else None


# Of a decision d that asks for another reading: whether a sample was read since of which a reading counts.
REREAD = """
CASE WHEN d.what = 'remeasure' THEN EXISTS (
  SELECT 1 FROM sample s JOIN reading g ON g.sample_id = s.id
  WHERE s.batch_id = d.batch_id AND s.made_at > d.made_at AND coalesce((SELECT c.value IS NOT NULL FROM correction c
    WHERE c.sample_id = g.sample_id AND c.fill_no = g.fill_no AND c.reading_no = g.no
    ORDER BY c.rowid DESC LIMIT 1), g.void_reason = '')) ELSE 0 END
"""

_STANDS = f"""
SELECT coalesce(r.verdict, 'incomplete') AS verdict, r.meter_state, r.hands_state, d.what, d.verdict AS decided_on,
  {REREAD} AS reread, b.import_id IS NOT NULL AS imported, w.why, b.id
FROM batch b LEFT JOIN batch_result r ON r.batch_id = b.id
LEFT JOIN decision d ON d.rowid = (SELECT max(x.rowid) FROM decision x WHERE x.batch_id = b.id)
LEFT JOIN batch_waiting w ON w.batch_id = b.id
"""
# The only ones that can wait: what is in band, proven and signed is most of every day. What was decided is asked too.
_MAY_WAIT = """
SELECT batch_id FROM batch_result WHERE verdict IN ('undecided', 'outside') OR hands_state = 'waiting'
  OR coalesce(meter_state, 'proven') NOT IN ('proven', 'accepted')
UNION SELECT batch_id FROM decision UNION SELECT batch_id FROM batch_waiting
"""


def refresh(db: Database, batch_id: str) -> Why | None:
    """Look at one batch again and keep whether it waits, inside the caller's transaction; why it does."""
    if not db.conn.in_transaction:
        raise RuntimeError("what waits belongs to the transaction that changed a result or a decision")
    row = db.conn.execute(f"{_STANDS} WHERE b.id = ?", (batch_id,)).fetchone()
    why = _why(row)
    if why != row[7]:
        _keep(db, batch_id, why)
    return why


def _why(row: tuple) -> Why | None:
    return why_waiting(Stands(*row[:5], reread=bool(row[5]), imported=bool(row[6])))


def _keep(db: Database, batch_id: str, why: Why | None) -> None:
    if why is None:
        db.conn.execute("DELETE FROM batch_waiting WHERE batch_id = ?", (batch_id,))
    else:
        db.conn.execute("INSERT OR REPLACE INTO batch_waiting (batch_id, why) VALUES (?, ?)", (batch_id, why))


def rebuild(db: Database, store: bool, there: dict[str, Why] | None = None) -> list[str]:
    """The batches whose row differs from what the results and decisions give, as "the wait of batch ID"; mends them if
    `store`. there: the rows to hold it against (all_waiting); None: those that are kept now."""
    kept = all_waiting(db) if there is None else there
    changed = []
    rows = db.conn.execute(f"{_STANDS} WHERE b.id IN ({_MAY_WAIT}) ORDER BY b.id").fetchall()
    for *stands, batch_id in rows:
        why = _why(stands)
        if why != kept.get(batch_id):
            changed.append(f"the wait of batch {batch_id}")
        if store and why != stands[7]:
            _keep(db, batch_id, why)
    return changed


def all_waiting(db: Database) -> dict[str, Why]:
    """batch id -> why it waits."""
    return dict(db.conn.execute("SELECT batch_id, why FROM batch_waiting").fetchall())


def fill_if_empty(db: Database) -> None:
    """Look at all batches of a bench that is older than this list is. Does nothing to one that has some."""
    if one(db, "SELECT 1 FROM batch_waiting LIMIT 1") or not one(db, "SELECT 1 FROM batch_result LIMIT 1"):
        return
    with write(db):
        rebuild(db, store=True)


@dataclass(frozen=True)
class Waiting:
    """How many batches of a product wait, and the one that has waited longest."""

    batches: int
    oldest_id: str


def by_product(db: Database) -> dict[str, Waiting]:
    """product id -> what waits of it; without those of which nothing does."""
    rows = db.query(
        "SELECT product_id, count(*) AS n, id, min(roasted_at) FROM batch_waiting w CROSS JOIN batch b"
        " ON b.id = w.batch_id GROUP BY product_id"
    )
    return {row["product_id"]: Waiting(row["n"], row["id"]) for row in rows}


def count_waiting(db: Database) -> dict[Why, int]:
    """why -> how many batches wait for it, in the order of WHYS; without those for which none does."""
    found = dict(db.conn.execute("SELECT why, count(*) FROM batch_waiting GROUP BY why").fetchall())
    return {why: found[why] for why in WHYS if why in found}


@dataclass(frozen=True)
class Entry:
    """A batch of the list: why it waits (None: it does not), and what it is. roasted_at: stored UTC text."""

    batch_id: str
    why: Why | None
    code: str
    product_name: str
    roasted_at: str


_ENTRY = "b.id AS batch_id, {why} AS why, b.code, p.name AS product_name, b.roasted_at"


def list_waiting(db: Database, why: Why | None = None, offset: int = 0, limit: int = 100) -> list[Entry]:
    """What waits, over all time, in the order of roasting, oldest first. why: for that reason alone."""
    rows = db.query(
        f"SELECT {_ENTRY.format(why='w.why')} FROM batch_waiting w CROSS JOIN batch b ON b.id = w.batch_id"
        " JOIN product p ON p.id = b.product_id WHERE :why IS NULL OR w.why = :why"
        " ORDER BY b.roasted_at, b.rowid LIMIT :limit OFFSET :offset",
        {"why": why, "limit": limit, "offset": offset},
    )
    return [Entry(**row) for row in rows]


_READY = f"""
FROM batch b CROSS JOIN batch_result r ON r.batch_id = b.id AND r.verdict = 'inside'
  AND r.hands_state IS NULL AND coalesce(r.meter_state, 'proven') IN ('proven', 'accepted')
JOIN product p ON p.id = b.product_id
LEFT JOIN decision d ON d.rowid = (SELECT max(x.rowid) FROM decision x WHERE x.batch_id = b.id)
WHERE b.day >= :since AND b.import_id IS NULL AND (d.what IS NULL OR {REREAD})
"""


def list_ready(db: Database, since: str, limit: int = 100) -> tuple[list[Entry], int]:
    """What is in band, proven and signed, and nobody has decided about, of the batches roasted since a day
    (`2026-05-14`): the oldest first, and how many there are."""
    asked = {"since": since, "limit": limit}
    rows = db.query(
        f"SELECT {_ENTRY.format(why='NULL')} {_READY} ORDER BY b.roasted_at, b.rowid LIMIT :limit", asked
    )
    found = [Entry(**row) for row in rows]
    if len(found) < limit:
        return found, len(found)
    return found, db.conn.execute(f"SELECT count(*) {_READY}", asked).fetchone()[0]
