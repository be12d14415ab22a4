"""A morning at the bench: every table that is append-only gets at least one row."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime

from sqlite_utils import Database

from tests.support import blending, comparing, studying
from tests.support.roastery import Roastery, later
from webapp.store import (
    api_tokens,
    baselines,
    batch_corrections,
    blends,
    checks,
    claims,
    compared,
    corrections,
    countersigns,
    decisions,
    grinder_log,
    imports,
    look_backs,
    meter_rules,
    precision,
    products,
    sample_moves,
    signal_notes,
    signoffs,
    trend_rules,
    upkeep,
)
from webapp.store.checks import CheckReading, NewCheck
from webapp.store.imported import Way
from webapp.store.products import TargetBand
from webapp.store.times import to_text
from webapp.store.who import Sent


def on(db: Database, made: Roastery, now: datetime) -> Roastery:
    """The roastery `made` in another copy of its database."""
    copy = Roastery(db, now=now)
    copy.__dict__.update({k: v for k, v in made.__dict__.items() if k not in ("db", "now")})
    return copy


def work(bench: Roastery) -> dict[str, str]:
    """Two batches, four samples, a correction, a confirmed claim, a decision; and of the gear: a check that failed, a
    grinder's log, a comparison.

    Returns the ids of what was made and of what was used.
    """
    batch = bench.batch("0514-01")
    sample = bench.sample(batch.id, "whole", [56.2, 56.3, 56.1], [56.4, 56.2, 56.3])
    bench.sample(batch.id, "ground", [61.0, 61.2, 61.1], at=later(bench.now, minutes=4))
    other = bench.batch("0514-02", at=later(bench.now, minutes=20))
    bench.sample(other.id, "whole", [58.9, 59.0, 59.1], at=later(bench.now, minutes=30))
    control = control_the_meter(bench, sample.id)
    bench.sample(other.id, "whole", [58.5, 58.6, 58.4], at=later(bench.now, minutes=60))
    event, check = str(uuid.uuid4()), str(uuid.uuid4())
    moment = later(bench.now, minutes=55)
    grinder_log.add_event(bench.db, event, bench.grinder, "setting", bench.setting, "", bench.who(), moment)
    sieved = grinder_log.NewCheck(check, bench.grinder, bench.setting, "House", 850, 2000, 1460, "", to_text(moment))
    grinder_log.add_grind_check(bench.db, sieved, bench.who(), moment)
    outcome = compare(bench)
    accepted = study_precision(bench)
    correction, decision = str(uuid.uuid4()), str(uuid.uuid4())
    corrections.add_correction(
        bench.db, correction, sample.id, 1, 3, 5620, "Read the wrong digit.", bench.who(), later(bench.now, minutes=40)
    )
    claim, moment = str(uuid.uuid4()), later(bench.now, minutes=45)
    claims.add_claim(bench.db, claim, to_text(moment), bench.who("lead"), Sent(bench.people["roaster"]), moment)
    claims.confirm_claim(bench.db, claim, bench.tablet, moment)
    signed, watched, corrected = hands(bench), watch(bench, batch.id, other.id), correct(bench)
    mixed, brought, key = blended(bench), take_in(bench), give_key(bench)
    look_after(bench)
    decisions.add_decision(bench.db, decision, batch.id, "release", "", bench.who(), later(bench.now, minutes=50))
    return control | signed | watched | corrected | mixed | brought | {
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
        "comparison": outcome.comparison_id,
        "comparison_sample": next(bench.db.query("SELECT id FROM comparison_sample"))["id"],
        "comparison_outcome": outcome.id,
        "precision_study": accepted.study_id,
        "precision_fill": next(bench.db.query("SELECT id FROM precision_fill"))["id"],
        "precision_outcome": accepted.id,
        "api_token": key,
    }


def take_in(bench: Roastery) -> dict[str, str]:
    """A file with one batch that was taken in, and another one that somebody is looking at."""
    moment = later(bench.now, minutes=59)
    run, draft = str(uuid.uuid4()), str(uuid.uuid4())
    at = datetime(2026, 2, 3, 7, tzinfo=UTC)
    row = imports.NewRow(
        2, "0203-01", bench.product, bench.machine, to_text(at), "2026-02-03",
        readings={"whole": (imports.Read(5612, "56.12"),)},
    )  # fmt: skip
    ways = {"whole": Way(bench.versions["whole"].id, bench.meter, True)}
    new = imports.NewRun(run, "history.csv", "0" * 64, {"columns": []}, ways)
    imports.take_in(bench.db, new, [row], imports.Counts(1, 0, 0), bench.who("lead"), moment)
    imports.add_draft(bench.db, draft, "more.csv", b"a,b", {}, bench.who("lead"), moment)
    return {"import_run": run, "import_draft": draft}


def look_after(bench: Roastery) -> None:
    """A chore of the server."""
    moment = later(bench.now, minutes=59)
    upkeep.note_chore(bench.db, "check", True, moment, 12)


def give_key(bench: Roastery) -> str:
    """A key for a program, that was used."""
    key, moment = str(uuid.uuid4()), later(bench.now, minutes=59)
    api_tokens.add_key(bench.db, key, "Production plan", bench.who("lead"), moment)
    api_tokens.note_use(bench.db, key, 3, moment)
    return key


def watch(bench: Roastery, batch_id: str, other_id: str) -> dict[str, str]:
    """A baseline, a choice of rules, a signal that was explained. (Of a run that two batches cannot have: what they
    come to is not looked at here.)"""
    moment = later(bench.now, minutes=58)
    baseline, choice, note = (str(uuid.uuid4()) for _no in range(3))
    place = baselines.Place(bench.product, "whole", bench.scale, bench.versions["whole"].id)
    limits = baselines.Frozen(batch_id, other_id, 20, 56.2, 0.4)
    new = baselines.NewBaseline(baseline, place, limits, "Steady since March.")
    baselines.add_baseline(bench.db, new, bench.who("lead"), moment)
    rules = trend_rules.Rules((1, 2, 3), True)
    trend_rules.add_choice(bench.db, choice, rules, "Fewer false alarms.", bench.who("lead"), moment)
    said = signal_notes.NewNote(
        note, bench.product, "whole", other_id, 1, "lighter", "coffee", "New crop.", "Blend changed.", True
    )  # fmt: skip
    signal_notes.add_note(bench.db, said, bench.who(), moment)
    return {"trend_baseline": baseline, "trend_rules": choice, "signal_note": note}


def correct(bench: Roastery) -> dict[str, str]:
    """A sample that was read of another batch than it was stored with, and a batch whose lot and mass were mistyped."""
    moment = later(bench.now, minutes=62)
    wrong, right = (bench.batch(code, at=later(moment, minutes=-no)) for no, code in ((5, "0514-04"), (9, "0514-05")))
    sample = bench.sample(wrong.id, "whole", [59.6, 59.5, 59.7], at=moment)
    move, correction, then = str(uuid.uuid4()), str(uuid.uuid4()), later(moment, minutes=2)
    sample_moves.add_move(bench.db, move, sample.id, wrong.id, right.id, "Trays swapped.", bench.who(), then)
    facts = {"lot": "Lot 2", "roasted_g": 10300}
    batch_corrections.add_batch_correction(
        bench.db, correction, right.id, facts, "Copied from the line above.", bench.who(), later(then, minutes=1)
    )
    change = next(bench.db.query("SELECT id FROM result_change WHERE cause = 'sample_move' ORDER BY rowid"))["id"]
    return {"sample_move": move, "batch_correction": correction, "result_change": change}
def blended(bench: Roastery) -> dict[str, str]:
    """Two batches beside the band, mixed as a trial, and the blend-off carried out."""
    parts = [blending.held(bench, f"0514-{no}", whole, later(bench.now, hours=2, minutes=no))
             for no, whole in ((11, 53.0), (12, 59.0))]  # fmt: skip
    there = blending.stored(bench, {batch.id: 5000 for batch in parts}, "0514-13", later(bench.now, hours=3))
    # The targets were moved by the comparison.
    blending.read(bench, there, 57.4, 61.7, later(bench.now, hours=4))
    then = later(bench.now, hours=5)
    decisions.add_decision(bench.db, str(uuid.uuid4()), there.batch_id, "release", "", bench.who("lead"), then)
    blends.carry_out(bench.db, there.id, "Mixed and bagged.", bench.who("lead"), then)
    return {"blend": there.id}


def control_the_meter(bench: Roastery, sample_id: str) -> dict[str, str]:
    """A rule, a check that failed and was adjusted, and what became of a sample read before it. (The next
    one of the other batch is then read again.)"""
    db, moment = bench.db, later(bench.now, minutes=55)
    plate = next(db.query("SELECT id FROM plate WHERE meter_id = ?", (bench.meter,)))["id"]
    rule = meter_rules.add_rule(db, bench.meter, "hours", 8, "", 600, 3, "First rule.", bench.who("lead"), moment)
    readings = [CheckReading("found", no, value, f"{value / 100}") for no, value in enumerate((6030, 6040, 6020), 1)]
    readings += [CheckReading("left", no, 6000, "60.0") for no in (1, 2, 3)]
    new = NewCheck(str(uuid.uuid4()), bench.meter, plate, "1", True, "", to_text(moment), tuple(readings),
                   (("warm", to_text(moment)), ("plate", to_text(moment))))  # fmt: skip
    check, entry = checks.add_check(db, new, bench.who(), moment), str(uuid.uuid4())
    look_backs.settle(db, check, sample_id, "accepted", "Far inside the band.", bench.who("lead"), moment, entry)
    return {"meter_rule": rule, "meter_check": check.id, "look_back_entry": entry}


def hands(bench: Roastery) -> dict[str, str]:
    """A trainee's sample that is countersigned, and a sign-off with one coffee read by both."""
    moment = later(bench.now, minutes=56)
    batch = bench.batch("0514-03", at=moment)
    sample = bench.sample(batch.id, "whole", [56.3, 56.1, 56.2], at=moment, role="trainee")
    sign, signoff, then = str(uuid.uuid4()), str(uuid.uuid4()), later(moment, minutes=2)
    countersigns.add_countersignature(bench.db, sign, batch.id, [sample.id], "", bench.who(), then)
    there = comparing.plan_people(bench, 1, "ground")
    comparing.read(bench, there, 1, "a", [56.0, 56.1], [56.2, 56.2])
    comparing.read(bench, there, 1, "b", [56.1, 56.1], [56.3, 56.2], role="trainee")
    evidence = signoffs.Evidence(10, 0.05, -0.1, 0.2, 0.75, 0.3, 0.6, 10)
    new = signoffs.NewSignOff(
        signoff, bench.people["trainee"], "ground", "signed_off", there.id, evidence, "2127-05-14T21:59:59.000Z",
        "Steady.",
    )  # fmt: skip
    signoffs.add_signoff(bench.db, new, bench.who("lead"), later(moment, minutes=3))
    return {"countersignature": sign, "signoff": signoff, "signed_off": there.id}


def compare(bench: Roastery) -> compared.Outcome:
    """A comparison of two meters, its readings, and an outcome that moves the product's targets."""
    there = comparing.plan(bench)
    # One coffee of the twelve: every test of every table reads all of it.
    comparing.read(bench, there, 1, "a", [44.0, 44.1])
    comparing.read(bench, there, 1, "b", [46.0, 46.1])
    target = products.target_in_force(bench.db, bench.product)
    bands = [TargetBand("whole", 5650, 5800, 5950), *list(target.bands.values())[1:]]
    methods = (target.whole_method_id, target.ground_method_id)
    moved = compared.MovedTarget(bench.product, target.id, tuple(bands), *methods)
    new = compared.NewOutcome(str(uuid.uuid4()), there.id, "move", 12, 2.0, 0.1, "The new meter reads lighter.")
    compared.add_outcome(bench.db, new, [moved], "Moved by +2.0.", bench.who("lead"), later(bench.now, minutes=48))
    return compared.find_outcome(bench.db, there.id)


def study_precision(bench: Roastery) -> precision.Outcome:
    """A precision study with one fill read, accepted (of the ground method, so that nothing above is judged by it)."""
    study = studying.plan(bench)
    studying.read(bench, study, 1, [61.1, 61.2])
    return studying.accept(bench, study)
