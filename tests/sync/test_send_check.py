"""Sending a meter check out of a tablet's outbox: as the page does it, exactly once, and in its place in time."""

from datetime import timedelta

from tests.support.outbox import envelope, roast
from webapp.store import checks, gear, ledger, results, samples


def check_record(bench, found=("60.1", "60,0", "60.1"), by="roaster", at=None, form=None, **more):
    """A check as a tablet makes it."""
    plate = gear.plate_in_force(bench.db, bench.meter)
    fields = {"meter": bench.meter, "plate": plate.id, "plate_typed": plate.name, "note": ""}
    for no in range(4):
        fields |= {f"steps-{no}-done": "y", f"steps-{no}-at": ""}
    fields |= {f"found-{no}-value": text for no, text in enumerate(found)}
    return envelope(bench, "meter_check", by, at, fields | (form or {}), **more)


def test_it_stores_it_once(bench, outbox):
    record, box = check_record(bench), outbox()
    said = box.send_one(record)
    assert (said["status"], said["result"]) == (200, {"meter_id": bench.meter, "passed": True, "proven": True})
    assert box.send_one(record)["status"] == 200
    [made] = checks.list_checks(bench.db, bench.meter)
    assert (made.id, made.person_name, made.tablet_seq) == (record["id"], "Ravi", 1)
    assert [r.typed for r in made.readings] == ["60.1", "60,0", "60.1"]
    assert list(ledger.faults(bench.db)) == []


def test_other_content_under_its_number_is_refused_and_both_are_shown(bench, outbox):
    record, box = check_record(bench), outbox()
    box.send_one(record)
    said = box.send_one(record | {"form": record["form"] | {"found-0-value": "60.3"}})
    assert (said["status"], said["error"]) == (409, "other_content")
    assert (said["ours"]["readings"][0][2], said["theirs"]["readings"][0][2]) == ("60.1", "60.3")


def test_what_is_wrong_with_it_is_said_and_holds_up_nothing_else(bench, outbox):
    wrong = check_record(bench, form={"plate_typed": "Plate 9"})
    coffee = check_record(bench, ("45.0", "60.1", "60.0"))
    good = check_record(bench, ("60.0", "60.0", "60.1"))
    said = outbox().send(wrong, coffee, good)
    assert [one["status"] for one in said] == [422, 422, 200]
    assert "This meter is checked on Plate 1" in said[0]["problems"][0]["message"]
    assert "Is this the plate, and not coffee?" in said[1]["problems"][0]["message"]


def test_an_unknown_meter_is_said_in_words(bench, outbox):
    said = outbox().send_one(check_record(bench, form={"meter": "nowhere"}))
    assert (said["status"], said["problems"]) == (
        422, [{"field": "meter", "message": "This meter is not known here."}],
    )  # fmt: skip


def test_a_check_and_what_was_read_after_it_arrive_hours_later(bench, outbox):
    bench.ask_for_checks("hours", 8)
    then = bench.now - timedelta(hours=5)
    batch, whole, ground = roast(bench, at=then + timedelta(minutes=10))
    box = outbox()
    # The sample comes first: it is not proven until its check is there.
    box.send(batch, whole, ground)
    assert results.get_batch_result(bench.db, batch["id"]).meter_state == "missing"
    box.send_one(check_record(bench, at=then))
    assert results.get_batch_result(bench.db, batch["id"]).meter_state == "proven"
    assert results.rebuild(bench.db) == []


def test_it_counts_from_now_when_the_tablets_clock_runs_ahead(bench, outbox):
    said = outbox().send_one(check_record(bench, at=bench.now + timedelta(hours=3)))
    assert said["remarks"] == ["This tablet's clock runs ahead. The check counts from when it arrived."]
    [made] = checks.list_checks(bench.db, bench.meter)
    assert made.made_at <= made.received_at
    assert made.tablet_clock


def test_the_sample_read_again_takes_the_place_of_the_one_in_doubt(bench, outbox):
    bench.ask_for_checks("hours", 8)
    then = bench.now - timedelta(hours=3)
    box = outbox()
    box.send_one(check_record(bench, at=then))
    batch, whole, ground = roast(bench, at=then + timedelta(minutes=10))
    box.send(batch, whole, ground)
    failed = check_record(bench, ("60.6", "60.7", "60.6"), at=then + timedelta(hours=1), form={
        "adjusted": "y", "left-0-value": "60.0", "left-1-value": "60.0", "left-2-value": "60.1",
    })  # fmt: skip
    box.send_one(failed)
    assert results.get_batch_result(bench.db, batch["id"]).meter_state == "doubted"
    again = bench.sample(batch["id"], "whole", [55.5, 55.6, 55.5])
    part = results.get_parts(bench.db, batch["id"])["whole"]
    assert (part.samples, part.meter_state) == (1, "proven")
    assert round(part.value, 2) == 55.53
    assert len(samples.get_samples(bench.db, batch["id"])) == 3
    assert again.id != whole["id"]
    assert results.rebuild(bench.db) == []
    assert list(ledger.faults(bench.db)) == []
