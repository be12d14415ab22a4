"""Sending a countersignature: with its person's PIN behind it, by somebody signed off, once."""

import pytest

from tests.support.outbox import Outbox, batch_record, claim_record, decision_record, envelope, sample_record
from tests.support.roastery import PINS
from webapp.store import countersigns, ledger


@pytest.fixture
def batch(bench):
    """A batch that a trainee has read."""
    made = bench.batch()
    bench.sample(made.id, "whole", [56.0, 56.1, 56.0], role="trainee")
    bench.sample(made.id, "ground", [61.0, 61.1, 61.0], role="trainee")
    return made


def record(bench, batch_id, by="roaster", samples=None, **more):
    ids = samples if samples is not None else [s.id for s in countersigns.waiting_samples(bench.db, batch_id)]
    return envelope(bench, "countersignature", by, None, {"samples": " ".join(ids)}, **{"batch_id": batch_id} | more)


def made(bench, batch):
    return countersigns.list_countersignatures(bench.db, batch.id)


def test_it_stores_it_and_says_where_the_batch_stands(bench, outbox, batch):
    sent = record(bench, batch.id)
    said = outbox().send_one(sent)
    assert said["status"] == 200, said
    assert (said["result"]["verdict"], said["result"]["waits"]) == ("inside", False)
    [there] = made(bench, batch)
    assert (there.id, there.person_name, there.sent_by_name, there.tablet_seq) == (sent["id"], "Ravi", "Ravi", 1)
    assert len(there.sample_ids) == 2
    assert list(ledger.faults(bench.db)) == []


def test_it_stores_the_same_once_and_nothing_over_it(bench, outbox, batch):
    sent, box = record(bench, batch.id), outbox()
    assert [box.send_one(sent)["status"] for _again in range(2)] == [200, 200]
    said = box.send_one(sent | {"form": {"samples": sent["form"]["samples"].split()[0]}})
    assert (said["status"], said["error"]) == (409, "other_content")
    assert len(said["ours"]["samples"]) == 2
    assert len(made(bench, batch)) == 1


@pytest.mark.parametrize("other", ["trainee", "lead"])
def test_it_waits_for_its_person(bench, outbox, batch, other):
    """A trainee's session must not countersign in a roaster's name."""
    said = outbox(other).send_one(record(bench, batch.id))
    assert (said["status"], said["error"]) == (403, "person")
    assert not made(bench, batch)


def test_it_waits_for_the_claim_under_which_it_was_made(bench, outbox, batch):
    box = outbox("trainee")
    claim = claim_record(bench, "roaster")
    sent = record(bench, batch.id, claim_id=claim["id"])
    said = box.send(claim, sent)[1]
    assert (said["status"], said["error"]) == (403, "claim")
    answer = box.post([], f"/claims/{claim['id']}/confirm")
    box.client.post(
        f"/claims/{claim['id']}/confirm", json={"pin": PINS["roaster"]},
        headers={"X-CSRFToken": "any", "Sec-Fetch-Site": "same-origin"},
    )  # fmt: skip
    assert answer.status_code != 200
    assert box.send_one(sent)["status"] == 200
    assert [s.claim_id for s in made(bench, batch)] == [claim["id"]]


def test_it_is_for_nobody_who_is_not_signed_off(bench, outbox, batch):
    said = outbox("trainee").send_one(record(bench, batch.id, by="trainee"))
    assert (said["status"], said["error"]) == (403, "role")
    assert said["problems"][0]["message"] == "Tomas is not signed off and cannot countersign."


@pytest.mark.parametrize("samples", [[], ["no-sample"], ["a" * 36]])
def test_it_names_what_is_no_sample_of_a_trainee(bench, outbox, batch, samples):
    said = outbox().send_one(record(bench, batch.id, samples=samples))
    assert (said["status"], said["error"]) == (422, "invalid")
    assert not made(bench, batch)


def test_it_waits_for_its_batch_and_lets_the_release_behind_it_go(bench, outbox):
    batch = batch_record(bench)
    samples = [sample_record(bench, batch["id"], by="trainee"),
               sample_record(bench, batch["id"], "ground", ("61.0", "61.1", "60.9"), by="trainee")]  # fmt: skip
    sign = record(bench, batch["id"], samples=[s["id"] for s in samples])
    said = outbox().send(sign)[0]
    assert (said["status"], said["error"]) == (404, "no_batch")
    answers = outbox().send(batch, *samples, decision_record(bench, batch["id"]), sign)
    assert [a["status"] for a in answers] == [200, 200, 200, 403, 200]
    assert outbox().send_one(decision_record(bench, batch["id"]))["status"] == 200


def test_the_kit_says_which_wait_and_no_number(bench, outbox, batch, sign_in):
    def outline():
        kit = Outbox(sign_in("roaster")).client.get("/kit").get_json()
        return next(one for one in kit["batches"] if one["id"] == batch.id)["hands"]

    found = outline()
    assert [(s["kind"], s["name"]) for s in found["waiting"]] == [("whole", "Tomas"), ("ground", "Tomas")]
    assert found["signed"] == []
    outbox().send_one(record(bench, batch.id))
    found = outline()
    assert found["waiting"] == []
    assert len(found["signed"]) == 2
