"""Sending a word on a sample of a look-back: its person stands behind it, and what is settled stays settled."""

from __future__ import annotations

import pytest

from tests.support.outbox import envelope
from tests.support.roastery import later
from webapp.store import decisions, ledger, look_backs, results


@pytest.fixture
def doubted(bench):
    """(failed check, sample) of a look-back with one sample."""
    start = later(bench.now, hours=-3)
    bench.check([60.0, 60.1, 60.0], at=start)
    sample = bench.sample(bench.batch(at=start).id, "whole", [56.0, 56.1, 56.0], at=later(start, minutes=9))
    return bench.check([60.6, 60.6, 60.7], [60.0, 60.0, 60.1], at=later(start, hours=1)), sample


def word(bench, doubted, what="accepted", by="lead", reason="Far inside the band.", at=None, **more):
    """The record as a tablet makes it from the form."""
    check, sample = doubted
    fields = {"check": check.id, "sample": sample.id, "what": what, "reason": reason}
    return envelope(bench, "look_back_entry", by, at, fields, **more)


def test_it_stores_it_once_and_the_batch_counts_again(bench, outbox, doubted):
    check, sample = doubted
    box, at = outbox("lead"), later(bench.now, minutes=-20)
    record = word(bench, doubted, at=at)
    for _again in range(2):
        said = box.send_one(record)
        assert (said["status"], said["result"]) == (
            200, {"check_id": check.id, "sample_id": sample.id, "what": "accepted"},
        )  # fmt: skip
    entry = look_backs.entry_of(bench.db, sample.id)
    assert (entry.id, entry.person_name, entry.tablet_seq) == (record["id"], "Ada", 1)
    assert entry.made_at == record["made_at"]
    assert look_backs.open_count(bench.db, check) == 0
    assert results.rebuild(bench.db) == []
    assert list(ledger.faults(bench.db)) == []


def test_a_hold_is_a_decision_of_the_same_moment(bench, outbox, doubted):
    at = later(bench.now, minutes=-20)
    record = word(bench, doubted, "held", "roaster", "Look again.", at=at)
    assert outbox("roaster").send_one(record)["status"] == 200
    [made] = decisions.get_decisions(bench.db, doubted[1].batch_id)
    assert (made.what, made.reason, made.person_name, made.tablet_seq) == ("hold", "Look again.", "Ravi", 1)
    assert made.made_at == record["made_at"]


def test_other_content_under_its_number_is_refused(bench, outbox, doubted):
    record, box = word(bench, doubted), outbox("lead")
    box.send_one(record)
    said = box.send_one(record | {"form": record["form"] | {"reason": "Another reason."}})
    assert (said["status"], said["error"]) == (409, "other_content")
    assert (said["ours"]["reason"], said["theirs"]["reason"]) == ("Far inside the band.", "Another reason.")


def test_it_needs_its_person_and_for_accepting_their_pin_just_now(bench, outbox, doubted, clock):
    roasters = outbox("roaster")
    assert roasters.send_one(word(bench, doubted))["error"] == "person"
    assert roasters.send_one(word(bench, doubted, by="roaster"))["error"] == "role"
    trainees = word(bench, doubted, "held", "trainee")
    assert outbox("trainee").send_one(trainees)["error"] == "role"
    box = outbox("lead")
    clock(minutes=10, seconds=20)
    assert box.send_one(word(bench, doubted))["error"] == "confirm"
    assert look_backs.entry_of(bench.db, doubted[1].id) is None


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"reason": " "}, "Give the reason: it stays on the record."),
        ({"what": "forgotten"}, "It does not say what becomes of the sample."),
        ({"sample": "nowhere"}, "This sample is in no look-back of that check."),
        ({"check": "nowhere"}, "This sample is in no look-back of that check."),
    ],
    ids=["no reason", "no word", "no sample", "no check"],
)
def test_what_is_wrong_is_said(bench, outbox, doubted, changed, message):
    record = word(bench, doubted)
    said = outbox("lead").send_one(record | {"form": record["form"] | changed})
    assert (said["status"], said["problems"][0]["message"]) == (422, message)


def test_what_somebody_settled_meanwhile_is_not_overwritten(bench, outbox, doubted):
    box = outbox("lead")
    box.send_one(word(bench, doubted))
    said = box.send_one(word(bench, doubted, reason="As I said."))
    assert (said["status"], said["problems"][0]["message"]) == (
        422, "Ada settled this sample meanwhile: nothing was overwritten.",
    )  # fmt: skip
    assert look_backs.entry_of(bench.db, doubted[1].id).reason == "Far inside the band."
