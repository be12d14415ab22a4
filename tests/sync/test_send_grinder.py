"""Sending what was done to a grinder, its grind checks, and samples that were ground at another setting."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.support.outbox import claim_record, envelope, sample_record
from webapp.store import gear, grinder_log, ledger, results, samples


@pytest.fixture
def nine(bench) -> str:
    return gear.add_grinder_setting(bench.db, bench.grinder, "9", bench.who("lead"), bench.now)


def event(bench, what="burrs", by="roaster", at=None, form=None, **more) -> dict:
    fields = {"grinder": bench.grinder, "what": what, "note": "new set", "made_at": ""}
    return envelope(bench, "grinder_event", by, at, fields | (form or {}), **more)


def check(bench, by="roaster", at=None, form=None, **more) -> dict:
    fields = {
        "grinder": bench.grinder, "setting": bench.setting, "coffee": "House", "sieve": "850", "total": "20,00",
        "passing": "14.6", "note": "", "made_at": "",
    }  # fmt: skip
    return envelope(bench, "grind_check", by, at, fields | (form or {}), **more)


MAKE = {"grinder_event": event, "grind_check": check}
LISTS = {"grinder_event": grinder_log.list_events, "grind_check": grinder_log.list_grind_checks}


@pytest.fixture(params=list(MAKE))
def kind(request) -> str:
    return request.param


def test_it_is_stored_once_with_when_and_how_it_was_made(bench, outbox, kind):
    at, box = bench.now - timedelta(hours=7), outbox("lead")
    record = MAKE[kind](bench, at=at)
    said = [box.send_one(record) for _ in range(3)]
    assert [s["status"] for s in said] == [200] * 3
    assert said[0]["result"] == {"url": f"/gear/grinders/{bench.grinder}"}
    [there] = LISTS[kind](bench.db, bench.grinder)
    assert there.made_at == record["made_at"] < there.received_at
    assert (there.person_name, there.sent_by_name) == ("Ravi", "Ada")
    assert list(ledger.faults(bench.db)) == []


def test_it_keeps_both_versions_apart_under_one_number(bench, outbox, kind):
    box, record = outbox(), MAKE[kind](bench)
    box.send_one(record)
    other = record | {"form": record["form"] | {"note": "no, the old set"}}
    said = box.send_one(other)
    assert (said["status"], said["error"]) == (409, "other_content")
    assert (said["ours"]["note"], said["theirs"]["note"]) == (record["form"]["note"], "no, the old set")
    assert len(LISTS[kind](bench.db, bench.grinder)) == 1


def test_it_takes_none_of_a_trainee_or_of_who_has_left(bench, outbox, kind):
    box = outbox("lead")
    said = box.send_one(MAKE[kind](bench, by="trainee"))
    assert (said["status"], said["error"]) == (403, "role")
    assert said["problems"][0]["message"] == "Tomas cannot add to the log of a grinder."
    bench.db.conn.execute("UPDATE person SET active = 0 WHERE id = ?", (bench.people["roaster"],))
    assert box.send_one(MAKE[kind](bench))["error"] == "role"
    assert LISTS[kind](bench.db, bench.grinder) == []


def test_it_is_taken_under_a_claim_like_a_reading(bench, outbox, kind):
    claim = claim_record(bench, "roaster")
    said = outbox("trainee").send(claim, MAKE[kind](bench, claim_id=claim["id"]))
    assert [s["status"] for s in said] == [200, 200]


def test_it_is_taken_of_a_grinder_that_was_retired_meanwhile(bench, outbox, kind):
    """It was done before."""
    gear.retire(bench.db, "grinder", bench.grinder, bench.who("lead"), bench.now)
    assert outbox().send_one(MAKE[kind](bench))["status"] == 200


def test_it_counts_as_now_where_the_tablets_clock_is_ahead(bench, outbox, kind):
    assert outbox().send_one(MAKE[kind](bench, at=bench.now + timedelta(days=3)))["status"] == 200
    [there] = LISTS[kind](bench.db, bench.grinder)
    assert there.made_at == there.received_at
    table = bench.db.query(f"SELECT tablet_clock FROM {kind}")
    assert next(table)["tablet_clock"] is not None


@pytest.mark.parametrize(
    ("kind", "form", "field"),
    [
        ("grinder_event", {"grinder": "nothing"}, "grinder"),
        ("grinder_event", {"what": "painted"}, "what"),
        ("grinder_event", {"what": ""}, "what"),
        ("grinder_event", {"what": "setting"}, "setting"),
        ("grinder_event", {"what": "setting", "setting": "another"}, "setting"),
        ("grinder_event", {"note": "x" * 201}, "note"),
        ("grind_check", {"grinder": ""}, "grinder"),
        ("grind_check", {"setting": ""}, "setting"),
        ("grind_check", {"passing": "20.01"}, "passing"),
        ("grind_check", {"total": "0"}, "total"),
        ("grind_check", {"total": "2²"}, "total"),
        ("grind_check", {"sieve": "0.85"}, "sieve"),
    ],
)
def test_it_names_the_field_that_is_wrong(bench, outbox, kind, form, field):
    said = outbox().send_one(MAKE[kind](bench, form=form))
    assert (said["status"], said["error"]) == (422, "invalid")
    assert field in [problem["field"] for problem in said["problems"]]
    assert LISTS[kind](bench.db, bench.grinder) == []


def test_it_moves_the_setting_and_marks_what_was_ground_after_the_burrs(bench, outbox, nine):
    batch = bench.batch()
    bench.sample(batch.id, "ground", [61.0, 61.2, 61.1])
    moved = event(bench, "setting", form={"setting": nine})
    said = outbox().send(event(bench, at=bench.now - timedelta(hours=1)), moved)
    assert [s["status"] for s in said] == [200, 200]
    assert grinder_log.current_setting(bench.db, bench.grinder) == nine
    assert results.get_batch_result(bench.db, batch.id).grinder_state == "burrs"


# Samples ------------------------------------------------------------------------------------------------------------


def ground(bench, batch, **form: str) -> dict:
    return sample_record(bench, batch.id, "ground", ("57.0", "57.2", "57.1"), form=form)


def test_it_takes_a_sample_at_another_setting_and_says_that_it_is_not_judged(bench, outbox, nine):
    batch, box = bench.batch(), outbox()
    record = ground(bench, batch, setting=nine)
    said = [box.send_one(record) for _ in range(2)]
    assert [s["status"] for s in said] == [200, 200]
    result = said[0]["result"]
    assert result["reason"] == "Ground at 9, the method asks for 7: shown, not judged."
    assert (result["parts"]["ground"]["apart_why"], result["parts"]["ground"]["word"]) == ("setting", "Not judged")
    clash = box.send_one(record | {"form": record["form"] | {"setting": bench.setting}})
    assert clash["status"] == 409
    assert (clash["ours"]["setting"]["name"], clash["theirs"]["setting"]["name"]) == ("Grinder 1, 9", "Grinder 1, 7")


def test_it_takes_the_methods_setting_for_what_an_older_build_left_out(bench, outbox):
    """And the same again with it is the same sample."""
    batch, box = bench.batch(), outbox()
    record = ground(bench, batch)
    assert box.send_one(record)["status"] == 200
    assert box.send_one(record | {"form": record["form"] | {"setting": bench.setting}})["status"] == 200
    [there] = samples.get_samples(bench.db, batch.id)
    assert (there.grinder_setting_id, there.off_setting) == (bench.setting, False)


def test_it_takes_a_setting_of_a_grinder_that_was_retired_and_none_that_never_was(bench, outbox):
    second = gear.add_grinder(bench.db, "Grinder 2", bench.who("lead"), bench.now)
    fine = gear.add_grinder_setting(bench.db, second, "fine", bench.who("lead"), bench.now)
    gear.retire(bench.db, "grinder", second, bench.who("lead"), bench.now)
    box = outbox()
    assert box.send_one(ground(bench, bench.batch(), setting=fine))["status"] == 200
    said = box.send_one(ground(bench, bench.batch(), setting="another"))
    assert (said["status"], said["problems"][0]["field"]) == (422, "setting")


def test_it_leaves_the_setting_of_whole_bean_aside(bench, outbox, nine):
    batch = bench.batch()
    assert outbox().send_one(sample_record(bench, batch.id, form={"setting": nine}))["status"] == 200
    assert samples.get_samples(bench.db, batch.id)[0].grinder_setting_id is None
