"""Sending a sample: parsed and checked as on the page, with what it was really read by."""

from datetime import timedelta

import pytest

from tests.support.outbox import batch_record, new_id, sample_record
from webapp.store import gear, ledger, methods, products, results, samples
from webapp.store.products import TargetBand
from webapp.store.times import to_text


@pytest.fixture
def batch(bench):
    return bench.batch(at=bench.now - timedelta(minutes=20))


def stored(bench, batch):
    return samples.get_samples(bench.db, batch.id)


def test_it_stores_readings_exactly_and_answers_with_the_servers_result(bench, outbox, batch):
    sent = sample_record(bench, batch.id, readings=("56,1", " 56.4 ", "56"), by="trainee", seq=7)
    sent["form"] |= {"steps-2-note": "22,5", "note": "a little dusty", "fills-0-readings-1-sure": "y"}
    said = outbox("lead").send_one(sent)
    assert said["status"] == 200
    [made] = stored(bench, batch)
    assert [(r.value, r.typed, r.confirmed) for r in made.readings] == [
        (5610, "56,1", False), (5640, "56.4", True), (5600, "56", False),
    ]  # fmt: skip
    assert (made.steps[2].note, made.note, made.checklist, made.role) == ("22,5", "a little dusty", "walked", "trainee")
    assert (made.person_name, made.sent_by_name, made.tablet_seq) == ("Tomas", "Ada", 7)
    part = results.get_parts(bench.db, batch.id)["whole"]
    shown = said["result"]["parts"]["whole"]
    for name in ("value", "u", "fills", "readings", "verdict", "side", "chance", "position", "sigma_source"):
        assert shown[name] == getattr(part, name), name
    assert shown["give_or_take"] == part.U
    assert (shown["word"], said["result"]["title"]) == ("In band", "Not complete yet.")
    assert list(ledger.faults(bench.db)) == []


def test_it_keeps_three_equal_readings_as_three__T06(bench, outbox, batch):
    outbox().send_one(sample_record(bench, batch.id, readings=("56.0", "56.0", "56.0")))
    [made] = stored(bench, batch)
    assert [(r.no, r.value) for r in made.readings] == [(1, 5600), (2, 5600), (3, 5600)]
    assert results.get_parts(bench.db, batch.id)["whole"].readings == 3


def test_it_keeps_two_samples_with_the_same_content_as_two__T06(bench, outbox, batch):
    """Somebody filled the dish again and it read the same: only the id tells the two apart, and it must."""
    box = outbox()
    for _ in range(2):
        assert box.send_one(sample_record(bench, batch.id, readings=("56.0", "56.0", "56.0")))["status"] == 200
    assert len(stored(bench, batch)) == 2
    part = results.get_parts(bench.db, batch.id)["whole"]
    assert (part.samples, part.fills, part.readings) == (2, 2, 6)


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"fills-0-readings-1-value": "61,4,2"}, "fills-0-readings-1-value", "Use one point or one comma"),
        ({"fills-0-readings-1-value": "1e3"}, "fills-0-readings-1-value", "Type a number as the meter shows it"),
        ({"fills-0-readings-1-value": "NaN"}, "fills-0-readings-1-value", "Type a number as the meter shows it"),
        ({"fills-0-readings-1-value": "٦١"}, "fills-0-readings-1-value", "Use the digits 0 to 9."),
        ({"fills-0-readings-1-value": "562"}, "fills-0-readings-1-value", "56.2?"),
        ({"fills-0-readings-1-value": "56.12"}, "fills-0-readings-1-value", "in steps of 0.1"),
        ({"fills-0-readings-1-value": "0" * 50 + "56.1"}, "fills-0-readings-1-value", "at most 40"),
        ({"fills-0-readings-1-void": "boring"}, "", None),
        ({"fills-0-readings-12-value": "56.1"}, "fills-0-readings-12-value", "no room"),
        ({"fills-4-readings-0-value": "56.1"}, "fills-4-readings-0-value", "no room"),
        ({"fills-0-readings-1-value": ""}, "", "Fill 1 has 2 readings, the method asks for 3"),
        ({"fills-0-readings-0-void": "other", "fills-0-readings-1-void": "other", "fills-0-readings-2-void": "other"},
         "", "at least one reading that counts"),
        ({"steps-3-done": ""}, "", "Step 4 is not ticked"),
        ({"steps-3-note": "x" * 41}, "steps-3-note", "Step 4: Use at most 40 characters."),
        ({"meter": ""}, "meter", "not known here"),
        ({"meter": "Meter A"}, "meter", "not known here"),
        ({"method_version": new_id()}, "method_version", "not known here"),
        ({"note": "x" * 2001}, "note", ""),
    ],
)  # fmt: skip
def test_it_refuses_with_the_fields_message(bench, outbox, batch, changes, field, words):
    sent = sample_record(bench, batch.id, form=changes)
    if not changes.get("steps-3-done", "y"):
        del sent["form"]["steps-3-done"]
    said = outbox().send_one(sent)
    assert (said["status"], said["stored"], said["error"]) == (422, False, "invalid")
    if words is not None:
        assert any(p["field"] == field and words in p["message"] for p in said["problems"]), said["problems"]
    assert not stored(bench, batch)


def test_it_refuses_a_method_of_the_other_kind(bench, outbox, batch):
    said = outbox().send_one(sample_record(bench, batch.id, sample_kind="ground"))
    assert said["status"] == 422
    assert said["problems"] == [{"field": "method_version", "message": "This method is not for coffee of this kind."}]


def test_it_says_where_the_last_step_is_not_ticked(bench, outbox, batch):
    sent = sample_record(bench, batch.id)
    last = len(bench.versions["whole"].steps)
    for part in ("done", "at", "note"):
        del sent["form"][f"steps-{last - 1}-{part}"]
    said = outbox().send_one(sent)
    assert [p["message"].split(":")[0] for p in said["problems"]] == [f"Step {last} is not ticked"]


def test_it_stores_a_sample_by_the_method_that_the_target_no_longer_names(bench, outbox, batch):
    """Read offline by yesterday's method and meter: it is stored as what it is, not as what would be right today."""
    old = bench.versions["whole"]
    lead = bench.who("lead")
    sent = sample_record(bench, batch.id, at=bench.now - timedelta(minutes=10))
    other = methods.add_method(bench.db, "New way", "whole", "flat", 2, 1, None, old.steps[:3], lead, bench.now)
    products.add_target_version(
        bench.db, bench.product, bench.flipped, "guarded", 0.8, other, None, [TargetBand("whole", 4000, 4100, 4200)],
        "new meter", lead, bench.now,
    )  # fmt: skip
    gear.retire(bench.db, "method", old.method_id, lead, bench.now)
    gear.retire(bench.db, "meter", bench.meter, lead, bench.now)
    assert outbox().send_one(sent)["status"] == 200
    [made] = stored(bench, batch)
    assert (made.method_version_id, made.meter_id, len(made.steps)) == (old.id, bench.meter, len(old.steps))
    assert results.get_parts(bench.db, batch.id)["whole"].verdict == "inside"


def test_it_judges_by_the_target_in_force_when_it_was_read(bench, outbox, batch):
    products.add_target_version(
        bench.db, bench.product, bench.scale, "guarded", 0.8, bench.methods["whole"], bench.methods["ground"],
        [TargetBand("whole", 5000, 5100, 5200)], "darker from today", bench.who("lead"), bench.now,
    )  # fmt: skip
    said = outbox().send_one(sample_record(bench, batch.id, at=bench.now - timedelta(minutes=5)))
    assert said["result"]["parts"]["whole"]["verdict"] == "inside"


def test_it_does_not_judge_by_a_target_to_come_when_the_clock_is_ahead(bench, outbox, batch):
    sent = sample_record(bench, batch.id, at=bench.now + timedelta(days=3))
    outbox().send_one(sent)
    [made] = stored(bench, batch)
    assert made.made_at == made.received_at
    assert made.tablet_clock == to_text(bench.now + timedelta(days=3))
    assert all(step.done_at <= made.received_at for step in made.steps)


@pytest.mark.parametrize("at", ["1970-01-01T00:00:00.000Z", "0001-01-01T00:00:00.000Z"])
def test_it_judges_what_a_tablet_read_whose_clock_had_stopped(bench, outbox, at):
    """A flat battery, and the tablet believes that it is 1970: no target was in force then, and it must not matter."""
    sent = batch_record(bench, made_at=at)
    sample = sample_record(bench, sent["id"], readings=("61.0", "61.1", "61.0"), made_at=at)
    said = outbox().send(sent, sample)
    assert [a["status"] for a in said] == [200, 200]
    assert said[1]["result"]["parts"]["whole"]["verdict"] == "outside"
    made = samples.get_sample(bench.db, sample["id"])
    assert (made.made_at, made.received_at[:4]) == (at, str(bench.now.year))


def test_it_judges_by_no_target_from_before_the_roast_when_the_clock_is_behind(bench, outbox):
    """The band was moved this morning, the batch roasted after that, and the tablet's clock is two days behind."""
    moved = bench.now - timedelta(hours=3)
    products.add_target_version(
        bench.db, bench.product, bench.scale, "guarded", 0.8, bench.methods["whole"], bench.methods["ground"],
        [TargetBand("whole", 5000, 5100, 5200)], "darker from today", bench.who("lead"), moved,
    )  # fmt: skip
    batch = bench.batch(at=bench.now - timedelta(hours=1))
    said = outbox().send_one(sample_record(bench, batch.id, at=bench.now - timedelta(days=2)))
    part = said["result"]["parts"]["whole"]
    assert (part["verdict"], part["side"]) == ("outside", "lighter")


def test_it_does_not_ask_about_readings_when_the_coffee_is_gone(bench, outbox, batch):
    """What the tablet asked by its kit is settled. What the bench has learnt since is said, and holds nothing up."""
    for _ in range(6):
        bench.sample(bench.batch().id, "whole", [56.0, 56.1, 56.0])
    said = outbox().send_one(sample_record(bench, batch.id, readings=("96.8", "96.8", "96.7")))
    assert said["status"] == 200
    assert len(said["remarks"]) == 3
    assert said["remarks"][0].startswith("96.8: This product has read about 56.0 so far.")
    assert [r.confirmed for r in stored(bench, batch)[0].readings] == [False, False, False]


def test_it_stores_readings_that_disagree_by_what_the_bench_has_learnt_since(bench, outbox):
    """A first day without a network: with every sample of the flush the bench knows its own spread better, and it is
    smaller than assumed. The later samples were read by the kit's assumption and must not be asked for one more."""
    records = []
    for n in range(14):
        made = batch_record(bench, at=bench.now - timedelta(hours=14 - n))
        records += [made, sample_record(bench, made["id"], readings=("56.0", "56.1", "56.0"))]
    last = batch_record(bench)
    records += [last, sample_record(bench, last["id"], readings=("56.0", "56.5", "56.1"))]
    box = outbox()
    said = box.send(*records)
    assert {answer["status"] for answer in said} == {200}
    assert said[-1]["remarks"] == ["The readings of fill 1 disagree. Take 1 more, or tick that none can be taken."]
    assert said[-1]["result"]["parts"]["whole"]["readings_disagree"]


def test_it_refuses_the_short_checklist_to_a_trainee_whoever_sends(bench, outbox, batch):
    sent = sample_record(bench, batch.id, by="trainee", form={"checklist": "short"})
    said = outbox("lead").send_one(sent)
    assert said["status"] == 422
    assert "The short checklist is for signed-off roasters" in said["problems"][0]["message"]
    ours = sample_record(bench, batch.id, by="roaster", form={"checklist": "short"})
    assert outbox("trainee").send_one(ours)["status"] == 200
    assert stored(bench, batch)[0].checklist == "short"


def test_it_says_that_the_batch_is_not_there_yet(bench, outbox):
    said = outbox().send_one(sample_record(bench, new_id()))
    assert (said["status"], said["error"], said["stored"]) == (404, "no_batch", False)
    assert said["problems"] == [{"field": "batch_id", "message": "Its batch is not stored yet."}]


def test_it_takes_a_second_fill(bench, outbox, batch):
    more = {f"fills-1-readings-{n}-value": text for n, text in enumerate(("56.5", "56.4", "56.5"))}
    outbox().send_one(sample_record(bench, batch.id, form=more))
    assert results.get_parts(bench.db, batch.id)["whole"].fills == 2
