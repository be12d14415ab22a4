"""How products stand now, with the names that a screen needs: what is kept in trend_state, read for the result screen,
the strip and the overview."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlite_utils import Database

from webapp.measure.rules import REACH

from . import signal_notes, trend_events, trends
from .signal_notes import Note
from .trend_events import Event
from .trend_states import FIELDS, State

# So many things that happened are told beside a result.
MOST_EVENTS = 3


@dataclass(frozen=True)
class Stand:
    """A kept state with the codes of its batches. last_code, last_day: of the newest result's batch; point_code,
    since_code: of the batch at which the signal fired and of the first that it counts, "" without one; note: the newest
    one about the signal that stands, None without any."""

    state: State
    product_name: str
    last_code: str
    last_day: str
    point_code: str
    since_code: str
    note: Note | None

    @property
    def known(self) -> bool:
        """Whether somebody said that nothing is left to do about the signal that stands."""
        return self.note is not None and self.note.closed

    @property
    def rank(self) -> int:
        """How much it asks for: 0 a signal that nobody has explained, 1 surely not right, 2 a signal that is known,
        3 steady, 4 too few to say."""
        if self.state.changed:
            return 2 if self.known else 0
        return 1 if self.state.off else 4 if self.state.word == "too_few" else 3


_STANDS = (
    f"SELECT {', '.join(f't.{name}' for name in FIELDS)}, r.name AS product_name, l.code AS last_code,"
    " l.day AS last_day, coalesce(p.code, '') AS point_code, coalesce(s.code, '') AS since_code FROM trend_state t"
    " JOIN product r ON r.id = t.product_id JOIN batch l ON l.id = t.last_batch_id"
    " LEFT JOIN batch p ON p.id = t.point_batch_id LEFT JOIN batch s ON s.id = t.since_batch_id"
)
_IN_ORDER = " ORDER BY t.product_id, t.kind = 'difference', t.kind = 'ground'"


def _stands(db: Database, where: str = "", values: Sequence = ()) -> list[Stand]:
    found = []
    for row in list(db.query(_STANDS + where + _IN_ORDER, values)):
        kept = {name: row.pop(name) for name in FIELDS}
        state = State(**kept | {"sure": bool(kept["sure"])})
        note = None
        if state.changed:
            note = signal_notes.standing_note(
                db, state.product_id, state.kind, state.point_batch_id, state.side, state.since_batch_id
            )
        found.append(Stand(state, **row, note=note))
    return found


def of_batch(db: Database, batch_id: str) -> list[Stand]:
    """How the product of a batch stands, of the kinds whose newest result is this batch's."""
    return _stands(db, " WHERE t.last_batch_id = ?", (batch_id,))


def of_day(db: Database, day: str) -> list[Stand]:
    """What asks for somebody among the products roasted on a day (`2026-05-14`): a signal stands, or it is surely not
    right. What asks most comes first."""
    wanted = (
        " WHERE t.product_id IN (SELECT DISTINCT product_id FROM batch WHERE day = ?)"
        " AND (t.word = 'changed' OR t.word IN ('cannot_hold', 'off_centre') AND t.sure)"
    )
    return sorted(_stands(db, wanted, (day,)), key=lambda stand: stand.rank)


def of_all(db: Database) -> dict[str, list[Stand]]:
    """product id -> how it stands in each kind that was measured, in the order whole, ground, difference."""
    found: dict[str, list[Stand]] = {}
    for stand in _stands(db):
        found.setdefault(stand.state.product_id, []).append(stand)
    return found


def near(db: Database, state: State) -> tuple[Event, ...]:
    """What happened around the beginning of the signal that stands, as a trend's page has it: of much, what matters
    most. () without a signal."""
    if not state.changed:
        return ()
    trend = trends.get_trend(db, state.product_id, state.kind, most=trends.USUAL)
    place = {point.batch_id: no for no, point in enumerate(trend.points)}
    if state.since_batch_id not in place or state.point_batch_id not in place:
        return ()
    events = trend_events.events_of(db, state.product_id, trend)
    there = trend_events.near(events, place[state.since_batch_id] - REACH, place[state.point_batch_id])
    return trend_events.fewer(there, MOST_EVENTS)
