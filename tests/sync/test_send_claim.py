"""A change of person without a network is a claim: stored as that, and shown as that until a PIN confirms it."""

from datetime import timedelta

import pytest

from tests.support.outbox import OWN, claim_record, decision_record, new_id, roast
from tests.support.roastery import PINS
from webapp.store import batches, claims, ledger, samples
from webapp.store.times import to_text


def page_text(client, batch_id):
    return " ".join(client.get(f"/batches/{batch_id}").text.split())


def confirm(client, claim, pin):
    answer = client.post(f"/claims/{claim['id']}/confirm", json={"pin": pin}, headers=OWN)
    assert answer.status_code == 200, answer.text
    return answer.get_json()


def test_it_stores_who_somebody_said_they_were(bench, outbox):
    at = bench.now - timedelta(hours=2)
    sent = claim_record(bench, "lead", at, seq=12)
    said = outbox("trainee").send_one(sent)
    assert said["result"] == {
        "claim_id": sent["id"], "person": {"id": bench.people["lead"], "name": "Ada"}, "claimed_at": to_text(at),
        "confirmed_at": None,
    }  # fmt: skip
    made = claims.get_claim(bench.db, sent["id"])
    assert (made.person_name, made.sent_by, made.tablet_name) == ("Ada", bench.people["trainee"], "Bench tablet")
    assert (made.tablet_seq, made.tablet_clock, made.confirmed_at) == (12, None, None)
    assert list(ledger.faults(bench.db)) == []


def test_it_believes_a_clock_that_is_ahead_up_to_now(bench, outbox):
    sent = claim_record(bench, "lead", bench.now + timedelta(days=1))
    box = outbox()
    assert [box.send_one(sent)["status"] for _ in range(2)] == [200, 200]
    made = claims.get_claim(bench.db, sent["id"])
    assert (made.claimed_at, made.tablet_clock) == (made.received_at, sent["claimed_at"])


@pytest.mark.parametrize(
    ("change", "field"),
    [({"person_id": new_id()}, "person_id"), ({"claimed_at": "now"}, "claimed_at"), ({"claimed_at": 7}, "claimed_at")],
)
def test_it_refuses_a_claim_of_nobody_and_at_no_time(bench, outbox, change, field):
    said = outbox().send_one(claim_record(bench, "lead") | change)
    assert (said["status"], [p["field"] for p in said["problems"]]) == (422, [field])


def test_it_keeps_the_claim_on_what_was_captured_under_it(bench, outbox):
    claim = claim_record(bench, "trainee")
    records = roast(bench, by="trainee", claim_id=claim["id"])
    assert [a["status"] for a in outbox("roaster").send(claim, *records)] == [200] * 4
    made = [batches.get_batch(bench.db, records[0]["id"]), *samples.get_samples(bench.db, records[0]["id"])]
    assert {(r.person_name, r.claim_id, r.sent_by_name) for r in made} == {("Tomas", claim["id"], "Ravi")}
    assert made[1].role == "trainee"


def test_it_refuses_what_was_captured_under_somebody_elses_claim(bench, outbox):
    claim = claim_record(bench, "trainee")
    said = outbox().send(claim, *roast(bench, by="roaster", claim_id=claim["id"]))
    assert [a["status"] for a in said] == [200, 422, 422, 422]
    assert said[1]["problems"] == [{"field": "claim_id", "message": "The claim is somebody else's."}]


def test_it_shows_the_claim_and_then_both_facts_on_the_batch_page(bench, outbox):
    box, claim = outbox("roaster"), claim_record(bench, "trainee", bench.now - timedelta(hours=1))
    records = roast(bench, by="trainee", at=bench.now - timedelta(minutes=50), claim_id=claim["id"])
    box.send(claim, *records)
    before = page_text(box.client, records[0]["id"])
    assert before.count("claimed by Tomas at") == 3
    assert before.count("not confirmed yet") == 3
    assert before.count("sent by Ravi") == 3
    assert "person claimed without a PIN" in before
    said = confirm(box.client, claim, PINS["trainee"])
    assert said["confirmed_at"] > said["claimed_at"]
    after = page_text(box.client, records[0]["id"])
    assert after.count("claimed by Tomas at") == after.count("confirmed at") == 3
    assert "not confirmed yet" not in after
    assert "claim confirmed by PIN" in after


def test_it_shows_the_claim_of_a_decision(bench, outbox):
    box, claim = outbox("trainee"), claim_record(bench, "roaster")
    records = roast(bench)
    box.send(claim, *records)
    confirm(box.client, claim, PINS["roaster"])
    box.send_one(decision_record(bench, records[0]["id"], "hold", "look again", claim_id=claim["id"]))
    text = page_text(box.client, records[0]["id"])
    assert text.count("claimed by Ravi at") == 1


def test_it_shows_a_clock_that_was_ahead_and_no_sender_where_it_is_the_same_person(bench, outbox):
    box = outbox("roaster")
    records = roast(bench, at=bench.now + timedelta(hours=5))
    box.send(*records)
    text = page_text(box.client, records[0]["id"])
    assert text.count("clock was ahead:") == 3
    assert "sent by" not in text
    assert "claimed by" not in text
