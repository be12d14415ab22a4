"""Sending again what was sent: the same answer, nothing twice, nothing overwritten."""

from datetime import timedelta

import pytest

from tests.support.outbox import Outbox, batch_record, claim_record, decision_record, new_id, roast, sample_record
from webapp.store import (
    batch_corrections,
    corrections,
    decisions,
    gear,
    ledger,
    methods,
    products,
    results,
    sample_moves,
    samples,
    times,
)
from webapp.store.products import TargetBand


def test_it_stores_a_replay_once__T01(bench, outbox, everything):
    """A slow server, a tablet that tries every 15 seconds: one record, however often it comes."""
    records = [*roast(bench), claim_record(bench, "lead")]
    records.append(decision_record(bench, records[0]["id"]))
    box = outbox()
    first = box.post(records).get_json()
    after = everything()
    for _ in range(9):
        again = box.post(records).get_json()
        assert again["stored"] == first["stored"] == [record["id"] for record in records]
        assert [a["status"] for a in again["results"]] == [200] * 5
        assert again["results"][-1] == first["results"][-1]
    assert everything() == after
    assert len(after["batch"]) == 1
    assert len(after["sample"]) == 2
    assert len(after["reading"]) == 6
    assert list(ledger.faults(bench.db)) == []


def test_it_gives_the_same_result_again(bench, outbox):
    batch, whole, ground = roast(bench)
    box = outbox()
    box.send(batch, whole)
    last = box.send_one(ground)
    assert box.send_one(ground) == last
    # The sample that came before answers with where the batch stands now: it would not do to show less.
    assert box.send_one(whole)["result"] == last["result"]


def test_it_lets_a_replay_pass_whatever_has_been_retired_or_changed_meanwhile(bench, outbox):
    records = roast(bench)
    box = outbox()
    box.send(*records)
    lead, old = bench.who("lead"), bench.versions["whole"]
    products.change_product(bench.db, bench.product, "Other name", "ON", False, lead, bench.now)
    for kind, record_id in (("machine", bench.machine), ("meter", bench.meter), ("method", old.method_id)):
        gear.retire(bench.db, kind, record_id, lead, bench.now)
    methods.add_version(bench.db, old.method_id, old.dish, 2, 1, None, old.steps[:2], "shorter", lead, bench.now)
    bench.db.conn.execute("UPDATE person SET active = 0 WHERE id = ?", (bench.people["roaster"],))
    assert [a["status"] for a in outbox("lead").send(*records)] == [200] * 3


def test_it_lets_a_replay_pass_that_another_persons_session_sends(bench, outbox, second_tablet):
    """The answer got lost, then the next person signed in: it is the same record, from the one who captured it."""
    records = roast(bench, by="trainee")
    outbox("roaster").send(*records)
    assert [a["status"] for a in second_tablet("lead").send(*records)] == [200] * 3
    made = samples.get_sample(bench.db, records[1]["id"])
    assert (made.person_name, made.sent_by_name, made.tablet_name) == ("Tomas", "Ravi", "Bench tablet")


def test_it_leaves_a_corrected_sample_corrected__T05(bench, outbox):
    batch, whole, _ground = roast(bench)
    box = outbox()
    box.send(batch, whole)
    corrections.add_correction(bench.db, new_id(), whole["id"], 1, 2, None, "meter moved", bench.who(), bench.now)
    before = results.get_parts(bench.db, batch["id"])["whole"]
    assert box.send_one(whole)["status"] == 200
    assert results.get_parts(bench.db, batch["id"])["whole"] == before
    assert samples.get_sample(bench.db, whole["id"]).readings[1].counts is None


def test_it_knows_a_batch_again_whose_facts_were_corrected(bench, outbox, everything):
    """By what the tablet sent at first; what was corrected stays corrected, and other content is still other."""
    records = roast(bench)
    box = outbox()
    box.send(*records)
    batch_id, lead = records[0]["id"], bench.who("lead")
    gear_id = gear.add_machine(bench.db, "Machine 2", lead, bench.now)
    other = products.add_product(
        bench.db, "Harbour", "HA", bench.scale, "guarded", 0.8, None, None, [TargetBand("whole", 4450, 4600, 4750)],
        lead, bench.now - timedelta(days=3),
    )  # fmt: skip
    facts = {
        "code": "N-1", "product_id": other, "machine_id": gear_id, "lot": "Lot 9", "green_g": 13000, "note": "Smoked.",
        "roasted_at": times.to_text(bench.now - timedelta(days=2)), "drop_decicelsius": None,
    }  # fmt: skip
    batch_corrections.add_batch_correction(bench.db, "c-1", batch_id, facts, "Wrong line.", lead, bench.now)
    batch_corrections.add_batch_correction(bench.db, "c-2", batch_id, {"lot": "Lot 8"}, "So.", lead, bench.now, "c-1")
    before = everything()
    assert [a["status"] for a in box.send(*records)] == [200] * 3
    assert everything() == before
    # Neither what stands now, nor anything else, is what was sent.
    for change in ({"code": "N-1"}, {"lot": "Lot 8"}, {"note": "Smoked."}, {"green": "13"}):
        said = box.send_one(changed(records, 0, **change))
        assert (said["status"], said["error"]) == (409, "other_content")
        assert said["ours"]["code"] != "N-1"
    assert everything() == before


def test_it_knows_a_sample_again_that_was_moved_and_stores_a_late_one_where_it_was_sent(bench, outbox, everything):
    batch, whole, ground = roast(bench)
    other = bench.batch("Other")
    box = outbox()
    box.send(batch, whole)
    for no, (out_of, to) in enumerate(((batch["id"], other.id), (other.id, batch["id"]), (batch["id"], other.id))):
        sample_moves.add_move(bench.db, f"m-{no}", whole["id"], out_of, to, "Swapped.", bench.who(), bench.now)
        before = everything()
        said = box.send_one(whole)
        assert (said["status"], said["stored"]) == (200, True)
        assert everything() == before
    said = box.send_one(whole | {"batch_id": other.id})
    assert (said["status"], said["ours"]["batch_id"]) == (409, batch["id"])
    assert box.send_one(ground)["status"] == 200
    assert samples.get_sample(bench.db, ground["id"]).batch_id == batch["id"]
    assert samples.get_sample(bench.db, whole["id"]).batch_id == other.id
    assert results.rebuild(bench.db) == []
    assert list(ledger.faults(bench.db)) == []


def changed(records: list[dict], which: int, **changes: object) -> dict:
    """One of the records with other content under its id."""
    record = records[which]
    around = {k: v for k, v in changes.items() if k in record}
    fields = {k.replace("__", "-"): v for k, v in changes.items() if k not in record}
    return record | around | {"form": record["form"] | fields}


@pytest.mark.parametrize(
    ("which", "changes", "place"),
    [
        (0, {"code": "Other"}, "code"),
        (0, {"green": "12,5"}, "green_g"),
        (0, {"green": "twelve"}, "green_g"),
        (0, {"clock": "00:01"}, "roasted_at"),
        (0, {"clock": "noon"}, "roasted_at"),
        (0, {"machine": "gone"}, "machine"),
        (0, {"note": "more"}, "note"),
        (1, {"fills__0__readings__0__value": "56.2"}, "readings"),
        (1, {"fills__0__readings__0__value": "no number"}, "readings"),
        (1, {"fills__0__readings__3__value": "56.2"}, "readings"),
        (1, {"fills__0__readings__0__void": "moved"}, "readings"),
        (1, {"fills__0__readings__0__sure": "y"}, "readings"),
        (1, {"steps__2__note": "23"}, "steps"),
        (1, {"checklist": "short"}, "checklist"),
        (1, {"meter": "gone"}, "meter"),
        (1, {"method_version": "gone"}, "method"),
        (1, {"batch_id": new_id()}, "batch_id"),
        (1, {"sample_kind": "ground"}, "kind"),
        (3, {"what": "hold"}, "what"),
        (3, {"reason": "tastes right"}, "reason"),
    ],
)
def test_it_refuses_other_content_under_the_same_number_and_shows_both(
    bench, outbox, everything, which, changes, place
):
    records = roast(bench, at=bench.now - timedelta(minutes=30))
    records.append(decision_record(bench, records[0]["id"]))
    box = outbox()
    assert [a["status"] for a in box.send(*records)] == [200] * 4
    before = everything()
    said = box.send_one(changed(records, which, **changes))
    assert (said["status"], said["stored"], said["error"]) == (409, False, "other_content")
    assert said["problems"][0]["message"] == "Stored already, with other content. Nothing was overwritten."
    assert {k for k in said["ours"] if said["ours"][k] != said["theirs"][k]} == {place}
    assert everything() == before


def test_it_refuses_another_person_under_the_same_number(bench, outbox, everything):
    """Who captured is part of what was captured."""
    records, box = [*roast(bench), claim_record(bench, "trainee")], outbox()
    box.send(*records)
    before = everything()
    for record in records:
        said = box.send_one(record | {"person_id": bench.people["lead"]})
        assert (said["status"], said["ours"]["person"]["name"], said["theirs"]["person"]["name"]) == (
            409, "Tomas" if record["kind"] == "claim" else "Ravi", "Ada",
        )  # fmt: skip
    assert everything() == before


def test_it_takes_a_record_that_the_page_has_posted_already_for_the_same(bench, outbox, sign_in):
    """The page posts a form, the answer is lost, and the tablet's outbox sends the same form: one sample."""
    batch = bench.batch()
    sent = sample_record(bench, batch.id)
    client = sign_in("roaster")
    assert client.post(f"/batches/{batch.id}/whole", data=sent["form"] | {"id": sent["id"]}).status_code == 303
    decided = decision_record(bench, batch.id, "hold", "wait")
    data = decided["form"] | {"id": decided["id"]}
    assert client.post(f"/batches/{batch.id}/decision", data=data).status_code == 303
    assert [a["status"] for a in Outbox(client).send(sent, decided)] == [200, 200]
    assert len(samples.get_samples(bench.db, batch.id)) == len(decisions.get_decisions(bench.db, batch.id)) == 1


def test_it_takes_the_same_batch_from_page_and_outbox_for_one(bench, sign_in):
    sent, client = batch_record(bench), sign_in("roaster")
    assert client.post("/batches/new", data=sent["form"] | {"id": sent["id"]}).status_code == 303
    assert Outbox(client).send_one(sent)["status"] == 200


def test_it_keeps_one_of_two_under_the_same_number_in_one_list(bench, outbox):
    batch = bench.batch()
    first = sample_record(bench, batch.id)
    other = changed([first], 0, note="other")
    assert [a["status"] for a in outbox().send(first, first, other)] == [200, 200, 409]
    assert len(samples.get_samples(bench.db, batch.id)) == 1
