"""Sending a decision: it speaks for its person only with that person's PIN behind it, and by their role."""

from datetime import timedelta

import pytest

from tests.decisions.test_decide import ALL, MAY, read
from tests.support.outbox import Outbox, claim_record, decision_record, roast
from tests.support.roastery import PINS
from webapp.store import decisions, ledger, waiting


def made(bench, batch):
    return decisions.get_decisions(bench.db, batch.id)


@pytest.mark.parametrize("what", ALL)
@pytest.mark.parametrize(("role", "verdict"), MAY)
def test_it_holds_to_who_may_decide_what(bench, outbox, role, verdict, what):
    batch = read(bench, verdict)
    said = outbox(role).send_one(decision_record(bench, batch.id, what, "seen by eye", by=role))
    if what in MAY[role, verdict]:
        assert said["status"] == 200, said
        assert [(d.what, d.verdict) for d in made(bench, batch)] == [(what, verdict)]
    else:
        assert (said["status"], said["error"]) == (403, "role")
        assert not made(bench, batch)


def test_it_keeps_when_and_how_it_was_made(bench, outbox):
    batch = read(bench, "inside")
    at = bench.now - timedelta(minutes=7)
    said = outbox().send_one(decision_record(bench, batch.id, "hold", "check the lot", at=at, seq=9))
    assert said["result"]["decision"] == {"what": "hold", "reason": "check the lot", "person_name": "Ravi"}
    [there] = made(bench, batch)
    assert there.made_at < there.received_at
    assert (there.sent_by_name, there.tablet_seq) == ("Ravi", 9)
    assert list(ledger.faults(bench.db)) == []


@pytest.mark.parametrize("what", ["hold", "reject", "concession"])
def test_it_wants_a_reason(bench, outbox, what):
    batch = read(bench, "outside")
    said = outbox("lead").send_one(decision_record(bench, batch.id, what, "  ", by="lead"))
    assert (said["status"], said["problems"][0]["field"]) == (422, "reason")
    assert not made(bench, batch)


@pytest.mark.parametrize("what", ["", "sell", "RELEASE"])
def test_it_knows_no_other_decision(bench, outbox, what):
    batch = read(bench, "inside")
    said = outbox("lead").send_one(decision_record(bench, batch.id, what, "why not", by="lead"))
    assert (said["status"], said["stored"]) == (403, False)
    assert not made(bench, batch)


def test_it_waits_for_its_person_when_somebody_elses_session_sends_it(bench, outbox):
    """Unlike a reading a decision is worth forging: a trainee's session must not release in a roaster's name."""
    batch = read(bench, "inside")
    sent = decision_record(bench, batch.id, by="roaster")
    for other in ("trainee", "lead"):
        said = outbox(other).send_one(sent)
        assert (said["status"], said["error"]) == (403, "person")
        assert said["problems"][0]["message"] == "It waits until Ravi signs in on this tablet."
    assert outbox("roaster").send_one(sent)["status"] == 200
    assert [d.person_name for d in made(bench, batch)] == ["Ravi"]


@pytest.mark.parametrize("what", ["reject", "concession"])
def test_it_wants_the_pin_again_for_what_a_lead_alone_may_do(bench, outbox, clock, what):
    batch, box = read(bench, "outside"), outbox("lead")
    sent = decision_record(bench, batch.id, what, "customer agreed", by="lead")
    clock(minutes=10, seconds=20)
    said = box.send_one(sent)
    assert (said["status"], said["error"]) == (403, "confirm")
    assert not made(bench, batch)


def test_it_waits_for_the_claim_under_which_it_was_made(bench, outbox):
    batch, box = read(bench, "inside"), outbox("trainee")
    claim = claim_record(bench, "roaster")
    sent = decision_record(bench, batch.id, claim_id=claim["id"])
    said = box.send(claim, sent)
    assert [(s["status"], s["error"]) for s in said] == [(200, None), (403, "claim")]
    assert said[1]["problems"][0]["message"] == "It waits until Ravi confirms with their PIN that it was them."
    assert not made(bench, batch)
    confirm(box, claim, PINS["roaster"])
    assert box.send_one(sent)["status"] == 200
    [there] = made(bench, batch)
    assert (there.person_name, there.sent_by_name, there.claim_id) == ("Ravi", "Tomas", claim["id"])


def confirm(box: Outbox, claim: dict, pin: str):
    """The claimed person's PIN, on this tablet."""
    headers = {"Content-Type": "application/json", "X-CSRFToken": "any", "Sec-Fetch-Site": "same-origin"}
    answer = box.client.post(f"/claims/{claim['id']}/confirm", json={"pin": pin}, headers=headers)
    assert answer.status_code == 200, answer.text


def test_it_waits_for_the_claim_even_when_the_person_has_signed_in_since(bench, outbox):
    """Who signs in later did not say by it that the claim was true."""
    batch, claim = read(bench, "inside"), claim_record(bench, "roaster")
    said = outbox("roaster").send(claim, decision_record(bench, batch.id, claim_id=claim["id"]))
    assert said[1]["error"] == "claim"


def test_it_takes_a_confirmed_claim_for_a_fresh_pin(bench, outbox):
    batch, box = read(bench, "outside"), outbox("trainee")
    claim = claim_record(bench, "lead")
    box.send_one(claim)
    confirm(box, claim, PINS["lead"])
    sent = decision_record(bench, batch.id, "concession", "customer agreed", by="lead", claim_id=claim["id"])
    assert box.send_one(sent)["status"] == 200


def test_it_lets_a_confirmed_claim_speak_for_ten_minutes_and_on_its_own_tablet(bench, outbox, second_tablet, clock):
    """Otherwise whoever comes to the tablet next could decide in that person's name for ever."""
    batch, box = read(bench, "inside"), outbox("trainee")
    claim = claim_record(bench, "roaster")
    box.send_one(claim)
    confirm(box, claim, PINS["roaster"])
    elsewhere = second_tablet("trainee")
    forged = decision_record(bench, batch.id, "hold", "for fun", claim_id=claim["id"])
    assert elsewhere.send_one(forged)["error"] == "claim"
    clock(minutes=10, seconds=20)
    assert box.send_one(forged)["error"] == "claim"
    assert not made(bench, batch)
    confirm(box, claim, PINS["roaster"])
    assert box.send_one(forged)["status"] == 200


def test_it_does_not_let_a_claim_be_used_for_somebody_else(bench, outbox):
    batch, box = read(bench, "outside"), outbox("trainee")
    claim = claim_record(bench, "trainee")
    box.send_one(claim)
    confirm(box, claim, PINS["trainee"])
    forged = decision_record(bench, batch.id, "concession", "mine now", by="lead", claim_id=claim["id"])
    said = box.send_one(forged)
    assert (said["status"], said["problems"][0]["field"]) == (422, "claim_id")
    assert not made(bench, batch)


def test_it_decides_nothing_in_the_name_of_somebody_who_has_left(bench, outbox):
    batch, box = read(bench, "inside"), outbox("lead")
    claim = claim_record(bench, "roaster")
    box.send_one(claim)
    confirm(box, claim, PINS["roaster"])
    bench.db.conn.execute("UPDATE person SET active = 0 WHERE id = ?", (bench.people["roaster"],))
    said = box.send_one(decision_record(bench, batch.id, claim_id=claim["id"]))
    assert (said["status"], said["error"]) == (403, "role")


def test_it_judges_by_the_role_of_its_person_and_the_verdict_as_it_stands_here(bench, outbox):
    """The tablet thought it was in band. A second tablet's readings have made it too close to call meanwhile."""
    batch = read(bench, "inside")
    bench.sample(batch.id, "whole", [58.8, 58.9, 58.8])
    said = outbox().send_one(decision_record(bench, batch.id))
    assert (said["status"], said["error"]) == (403, "role")


def test_it_is_stored_after_the_samples_it_was_made_on(bench, outbox):
    records = roast(bench)
    records.append(decision_record(bench, records[0]["id"]))
    said = outbox().send(*records)
    assert [s["status"] for s in said] == [200] * 4
    assert said[-1]["result"]["decision"]["what"] == "release"


def test_it_has_a_batch_read_again(bench, outbox):
    batch = read(bench, "inside")
    said = outbox().send_one(decision_record(bench, batch.id, "remeasure", "from the other sack"))
    assert (said["status"], said["result"]["decision"]["what"]) == (200, "remeasure")
    assert waiting.all_waiting(bench.db) == {batch.id: "remeasure"}


def test_it_keeps_the_customer_of_a_concession_and_knows_it_again(bench, outbox):
    batch, box = read(bench, "outside"), outbox("lead")
    sent = decision_record(bench, batch.id, "concession", "cupped", by="lead")
    sent["form"]["customer"] = "Corner Café"
    for _twice in range(2):
        assert box.send_one(sent)["status"] == 200
    assert [d.customer for d in made(bench, batch)] == ["Corner Café"]
    other = sent | {"form": sent["form"] | {"customer": "Somebody else"}}
    assert box.send_one(other)["status"] == 409


def seen(record, decision_id):
    """The same record, from a form that has seen this decision."""
    return record | {"form": record["form"] | {"seen": decision_id}}


def test_it_takes_the_place_of_one_that_it_has_not_seen(bench, outbox):
    """Without the server nobody knew: the role alone decides, and no reason could be asked for."""
    batch = read(bench, "inside")
    outbox().send_one(decision_record(bench, batch.id, "hold", "check the lot"))
    [held] = made(bench, batch)
    for told in (None, "", "another"):
        record = decision_record(bench, batch.id, "release")
        sent = record if told is None else seen(record, told)
        assert outbox().send_one(sent)["status"] == 200
    assert [d.supersedes for d in made(bench, batch)][:2] == [None, held.id]


def test_it_wants_the_reason_for_taking_the_place_of_one_that_it_has_seen(bench, outbox):
    batch = read(bench, "inside")
    outbox().send_one(decision_record(bench, batch.id, "hold", "check the lot"))
    [held] = made(bench, batch)
    said = outbox().send_one(seen(decision_record(bench, batch.id, "release"), held.id))
    assert (said["status"], said["problems"][0]["field"]) == (422, "reason")


@pytest.mark.parametrize("told", ["", "seen"])
def test_it_leaves_what_a_lead_decided_whatever_it_has_seen(bench, outbox, told):
    batch = read(bench, "inside")
    outbox("lead").send_one(decision_record(bench, batch.id, "hold", "smells of smoke", by="lead"))
    [held] = made(bench, batch)
    said = outbox().send_one(seen(decision_record(bench, batch.id, "release", "fine"), told and held.id))
    assert (said["status"], said["error"]) == (403, "role")
    assert [d.what for d in made(bench, batch)] == ["hold"]
