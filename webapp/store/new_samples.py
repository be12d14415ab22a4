"""Storing a sample, once: the facts as they were captured, and what they were judged by at that moment."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlite_utils import Database

from . import ledger, look_backs, meter_state, products, results, routine, sample_moves, spreads
from .connect import one, write
from .errors import AlreadyThere, NotFound
from .readings import NewReading
from .records import insert
from .samples import Reading, Sample, StepDone, get_sample, get_samples
from .times import from_text, to_text
from .who import TYPED, Sent, Who


@dataclass(frozen=True)
class NewSample:
    """What the capture form hands over. grinder_setting_id: where it was ground; None: as the method version says."""

    id: str
    batch_id: str
    kind: str
    method_version_id: str
    meter_id: str
    checklist: str
    note: str
    made_at: str
    readings: tuple[NewReading, ...]
    steps: tuple[StepDone, ...]
    grinder_setting_id: str | None = None


def add_sample(db: Database, new: NewSample, who: Who, now: datetime, sent: Sent = TYPED) -> Sample:
    """Store a sample once, fix what it is judged by, and work out the batch's results again.

    The target version is the one in force when it was read (products.target_when_read), the sigmas and the meter's
    uncertainty are those of this moment. `sent`: how it came. AlreadyThere: the id is taken by other content.
    NotFound: batch, method or meter is unknown.
    """
    with write(db):
        if one(db, "SELECT id FROM sample WHERE id = ?", (new.id,)):
            there = get_sample(db, new.id)
            if not _same(there, new) or new.batch_id != (sample_moves.first_batch(db, new.id) or there.batch_id):
                raise AlreadyThere(new.id)
            return there
        _insert(db, new, who, now, sent)
        what = "whole-bean sample stored" if new.kind == "whole" else "ground sample stored"
        ledger.note(db, what, "sample", new.id, now, who.person_id, who.tablet_id)
        taken = get_samples(db, new.batch_id)
        stored = next(sample for sample in taken if sample.id == new.id)
        spreads.count_spread(db, stored, +1)
        routine.count_sample(db, stored, +1)
        look_backs.read_again(db, new, who, now)
        results.recompute(db, new.batch_id, taken)
        for batch_id in {*meter_state.touched_by_sample(db, new.meter_id, new.made_at)} - {new.batch_id}:
            results.recompute(db, batch_id)
        return stored


def _insert(db: Database, new: NewSample, who: Who, now: datetime, sent: Sent) -> None:
    batch = one(db, "SELECT product_id, roasted_at FROM batch WHERE id = ?", (new.batch_id,))
    meter = one(
        db,
        "SELECT m.scale_id, c.lower, c.upper, iif(p.what = 'damaged', NULL, p.id) AS plate_id,"
        " iif(p.what = 'damaged', NULL, p.tolerance) AS tolerance FROM meter m"
        " JOIN scale c ON c.id = m.scale_id LEFT JOIN plate p ON p.meter_id = m.id WHERE m.id = ?"
        " ORDER BY p.made_at DESC, p.rowid DESC LIMIT 1",
        (new.meter_id,),
    )
    if batch is None or meter is None:
        raise NotFound(new.batch_id if batch is None else new.meter_id)
    version = one(db, "SELECT id, grinder_setting_id FROM method_version WHERE id = ?", (new.method_version_id,))
    if version is None:
        raise NotFound(new.method_version_id)
    made_at, roasted_at = from_text(new.made_at), from_text(batch["roasted_at"])
    target_id = products.version_when_read(db, batch["product_id"], made_at, roasted_at, now)
    span = (meter["upper"] - meter["lower"]) / 100
    sigmas = spreads.sigmas_for(db, version["id"], meter["scale_id"], new.kind, span)
    u_meter, u_source = meter_state.uncertainty(db, new.meter_id, meter["tolerance"], span, made_at)
    row = {
        "id": new.id, "batch_id": new.batch_id, "kind": new.kind, "method_version_id": version["id"],
        "target_version_id": target_id, "meter_id": new.meter_id, "plate_id": meter["plate_id"],
        "grinder_setting_id": new.grinder_setting_id or version["grinder_setting_id"], "checklist": new.checklist,
        "sigma_r": sigmas.sigma_r, "sigma_f": sigmas.sigma_f, "sigma_source": sigmas.source,
        "u_meter": u_meter, "u_meter_source": u_source,
        "note": new.note, "person_id": who.person_id, "role": who.role, "tablet_id": who.tablet_id,
        "made_at": new.made_at, "received_at": to_text(now),
    }  # fmt: skip
    insert(db, "sample", row | sent.columns())
    db.conn.executemany(
        "INSERT INTO reading (sample_id, fill_no, no, value, typed, void_reason, confirmed) VALUES (?,?,?,?,?,?,?)",
        [(new.id, r.fill_no, r.no, r.value, r.typed, r.void_reason, int(r.confirmed)) for r in new.readings],
    )
    db.conn.executemany(
        "INSERT INTO step_done (sample_id, step_no, done_at, note) VALUES (?,?,?,?)",
        [(new.id, s.step_no, s.done_at, s.note) for s in new.steps],
    )


def _same(there: Sample, new: NewSample) -> bool:
    """Whether a stored sample is what the form hands over again (the tablet's clock aside, and its batch)."""
    names = ("kind", "method_version_id", "meter_id", "checklist", "note")
    if any(getattr(there, name) != getattr(new, name) for name in names):
        return False
    if there.grinder_setting_id != (new.grinder_setting_id or there.asked_setting_id):
        return False
    steps = sorted((step.step_no, step.note) for step in new.steps)
    return _content(there.readings) == _content(new.readings) and steps == [(s.step_no, s.note) for s in there.steps]


def _content(readings: Iterable[Reading | NewReading]) -> list[tuple]:
    return sorted((r.fill_no, r.no, r.value, r.typed, r.void_reason, bool(r.confirmed)) for r in readings)
