"""A morning at the bench: every table that is append-only gets at least one row."""

from __future__ import annotations

import uuid
from datetime import datetime

from sqlite_utils import Database

from tests.support.roastery import Roastery, later
from webapp.store import claims, corrections, decisions, grinder_log
from webapp.store.grinder_log import NewCheck
from webapp.store.times import to_text
from webapp.store.who import Sent


def on(db: Database, made: Roastery, now: datetime) -> Roastery:
    """The roastery `made` in another copy of its database."""
    copy = Roastery(db, now=now)
    copy.__dict__.update({k: v for k, v in made.__dict__.items() if k not in ("db", "now")})
    return copy


def work(bench: Roastery) -> dict[str, str]:
    """Two batches, three samples, a correction, a confirmed claim, a decision, a grinder's log and check.

    Returns the ids of what was made and of what was used.
    """
    batch = bench.batch("0514-01")
    sample = bench.sample(batch.id, "whole", [56.2, 56.3, 56.1], [56.4, 56.2, 56.3])
    bench.sample(batch.id, "ground", [61.0, 61.2, 61.1], at=later(bench.now, minutes=4))
    other = bench.batch("0514-02", at=later(bench.now, minutes=20))
    bench.sample(other.id, "whole", [58.9, 59.0, 59.1], at=later(bench.now, minutes=30))
    correction, decision = str(uuid.uuid4()), str(uuid.uuid4())
    corrections.add_correction(
        bench.db, correction, sample.id, 1, 3, 5620, "Read the wrong digit.", bench.who(), later(bench.now, minutes=40)
    )
    claim, moment = str(uuid.uuid4()), later(bench.now, minutes=45)
    claims.add_claim(bench.db, claim, to_text(moment), bench.who("lead"), Sent(bench.people["roaster"]), moment)
    claims.confirm_claim(bench.db, claim, bench.tablet, moment)
    decisions.add_decision(bench.db, decision, batch.id, "release", "", bench.who(), later(bench.now, minutes=50))
    event, check = str(uuid.uuid4()), str(uuid.uuid4())
    moment = later(bench.now, minutes=55)
    grinder_log.add_event(bench.db, event, bench.grinder, "setting", bench.setting, "", bench.who(), moment)
    sieved = NewCheck(check, bench.grinder, bench.setting, "House", 850, 2000, 1460, "", to_text(moment))
    grinder_log.add_grind_check(bench.db, sieved, bench.who(), moment)
    return {
        "grinder_event": event,
        "grind_check": check,
        "scale": bench.scale,
        "plate": next(bench.db.query("SELECT id FROM plate WHERE meter_id = ?", (bench.meter,)))["id"],
        "grinder_setting": bench.setting,
        "method_version": bench.versions["whole"].id,
        "target_version": next(bench.db.query("SELECT id FROM target_version"))["id"],
        "batch": batch.id,
        "sample": sample.id,
        "correction": correction,
        "decision": decision,
        "person_claim": claim,
        "claim_confirmed": next(bench.db.query("SELECT id FROM claim_confirmed"))["id"],
    }
