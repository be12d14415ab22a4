"""Corrections: a later word on a reading. The reading stays; what replaces it names it, who and why."""

from __future__ import annotations

from datetime import datetime

from sqlite_utils import Database

from . import ledger, results, routine, samples, spreads
from .connect import one, write
from .errors import AlreadyThere, NotFound
from .result_changes import Cause
from .times import to_text
from .who import Who


def add_correction(
    db: Database, correction_id: str, sample_id: str, fill_no: int, reading_no: int, value: int | None, reason: str,
    who: Who, now: datetime,
) -> None:  # fmt: skip
    """Replace a reading by `value` (hundredths), or void it (None), and work the batch out again.

    Storing the same again does nothing. AlreadyThere: the id is taken by another correction. NotFound: there is
    no such reading.
    """
    content = (sample_id, fill_no, reading_no, value, reason)
    with write(db):
        there = one(
            db, "SELECT sample_id, fill_no, reading_no, value, reason FROM correction WHERE id = ?", (correction_id,)
        )
        if there:
            if tuple(there.values()) != content:
                raise AlreadyThere(correction_id)
            return
        before = samples.get_sample(db, sample_id)
        if not any((r.fill_no, r.no) == (fill_no, reading_no) for r in before.readings):
            raise NotFound(f"{sample_id} {fill_no} {reading_no}")
        spreads.count_spread(db, before, -1)
        routine.count_sample(db, before, -1)
        moment = to_text(now)
        db.conn.execute(
            "INSERT INTO correction (id, sample_id, fill_no, reading_no, value, reason, person_id, tablet_id, made_at,"
            " received_at) VALUES (?,?,?,?,?,?,?,?,?,?)",
            (correction_id, *content, who.person_id, who.tablet_id, moment, moment),
        )
        ledger.note(db, "reading corrected", "correction", correction_id, now, who.person_id, who.tablet_id)
        after = samples.get_sample(db, sample_id)
        spreads.count_spread(db, after, +1)
        routine.count_sample(db, after, +1)
        results.recompute(db, before.batch_id, cause=Cause("correction", correction_id, who, now))
