"""Sending a list: every record by itself, in order, and what has to wait for another is tried after that."""

import itertools
import logging
from datetime import timedelta

import pytest

from tests.support.outbox import batch_record, claim_record, decision_record, new_id, roast, sample_record
from webapp.store import batches, decisions, ledger, results, samples
from webapp.store.times import from_text
from webapp.ui.tablet_records import Registry


def test_it_stores_the_good_ones_beside_the_bad_ones__T25(bench, outbox):
    """One bad record at the head must not hold up what is behind it."""
    good, more = batch_record(bench), batch_record(bench)
    bad = batch_record(bench, form={"product": ""})
    answer = outbox().post([bad, good, "no record", {"id": "x", "kind": "batch"}, more]).get_json()
    assert answer["stored"] == [good["id"], more["id"]]
    assert [(r["id"], r["status"], r["stored"]) for r in answer["results"]] == [
        (bad["id"], 422, False), (good["id"], 200, True), (None, 422, False), ("x", 422, False),
        (more["id"], 200, True),
    ]  # fmt: skip


def test_it_stores_what_came_before_and_after_one_that_breaks_the_server__T07(
    bench, outbox, app, monkeypatch, caplog, everything
):
    """A fault of ours: the record is not named as stored, so the tablet keeps it, and nothing half of it is there."""
    bench_handlers = app.extensions["records"]
    real = bench_handlers.handlers["sample"]

    class Breaks(type(real)):
        def store(self, db, record, now):
            super().store(db, record, now)
            raise ZeroDivisionError("in the middle of it")

    broken = Registry({**bench_handlers.handlers, "sample": Breaks()}, bench_handlers.kit)
    monkeypatch.setitem(app.extensions, "records", broken)
    batch, whole, _ground = roast(bench)
    last = batch_record(bench)
    with caplog.at_level(logging.ERROR, "drumside"):
        answer = outbox().post([batch, whole, last]).get_json()
    assert answer["stored"] == [batch["id"], last["id"]]
    assert (answer["results"][1]["status"], answer["results"][1]["error"]) == (500, "broken")
    assert "ZeroDivisionError" in caplog.text
    after = everything()
    assert (len(after["batch"]), after["sample"], after["reading"], after["method_spread"]) == (2, [], [], [])
    assert list(ledger.faults(bench.db)) == []
    monkeypatch.setitem(app.extensions, "records", bench_handlers)
    assert outbox().send_one(whole)["status"] == 200


@pytest.mark.parametrize("order", list(itertools.permutations(range(4))))
def test_it_stores_all_in_whatever_order_they_stand(bench, outbox, order):
    """Batch, claim and the two samples made under it: what needs another one waits for it within the list."""
    claim = claim_record(bench, "trainee")
    records = [*roast(bench, by="trainee", claim_id=claim["id"]), claim]
    said = outbox().send(*(records[n] for n in order))
    assert [a["id"] for a in said] == [records[n]["id"] for n in order]
    assert [a["status"] for a in said] == [200] * 4
    assert results.get_batch_result(bench.db, records[0]["id"]).verdict == "inside"


def test_it_keeps_the_order_of_the_list(bench, outbox):
    batch = bench.batch()
    records = [sample_record(bench, batch.id, seq=n) for n in (5, 3, 9, 1)]
    outbox().send(*records)
    assert [s.id for s in samples.get_samples(bench.db, batch.id)] == [record["id"] for record in records]


def test_it_takes_a_decision_where_it_stands_between_two_samples(bench, outbox):
    batch, whole, ground = roast(bench)
    decided = decision_record(bench, batch["id"], "hold", "one more")
    more = sample_record(bench, batch["id"], readings=("59.5", "59.6", "59.5"))
    said = outbox().send(batch, whole, ground, decided, more)
    assert [a["status"] for a in said] == [200] * 5
    assert [d.verdict for d in decisions.get_decisions(bench.db, batch["id"])] == ["inside"]


def test_it_leaves_waiting_what_has_nothing_to_wait_for(bench, outbox):
    sample = sample_record(bench, new_id())
    under = sample_record(bench, bench.batch().id, claim_id=new_id())
    decided = decision_record(bench, new_id(), "hold", "wait")
    said = outbox().send(sample, under, decided)
    assert [(a["status"], a["error"]) for a in said] == [(404, "no_batch"), (404, "no_claim"), (404, "no_batch")]
    assert all("missing" not in answer for answer in said)


def test_it_leaves_waiting_what_belongs_to_a_batch_that_is_refused(bench, outbox):
    batch, whole, _ground = roast(bench)
    batch["form"]["code"] = ""
    assert [a["status"] for a in outbox().send(whole, batch)] == [404, 422]
    batch["form"]["code"] = "K-1"
    assert [a["status"] for a in outbox().send(batch, whole)] == [200, 200]


def test_it_takes_records_that_come_days_apart_and_in_the_wrong_order(bench, outbox, second_tablet):
    batch, whole, ground = roast(bench, at=bench.now - timedelta(days=3))
    box = outbox()
    assert box.send_one(ground)["status"] == 404
    assert second_tablet("trainee").send_one(batch)["status"] == 200
    assert box.send_one(ground)["status"] == 200
    assert outbox("lead").send_one(whole)["status"] == 200
    assert results.get_batch_result(bench.db, batch["id"]).verdict == "inside"


def test_it_answers_an_empty_list(outbox):
    answer = outbox().post([]).get_json()
    assert (answer["stored"], answer["results"]) == ([], [])


def test_it_says_which_server_this_is_and_what_time_it_has(app, bench, outbox):
    answer = outbox().post([]).get_json()
    assert answer["build"] == app.config["BUILD"]
    assert abs(from_text(answer["now"]) - bench.now) < timedelta(minutes=5)


def test_it_takes_two_hundred_and_no_more(bench, outbox):
    records = [batch_record(bench, form={"code": f"M-{n}"}) for n in range(201)]
    box = outbox()
    too_many = box.post(records)
    assert (too_many.status_code, too_many.get_json()) == (413, {"error": "too_large", "most": 200})
    assert not batches.search(bench.db, "M-")
    assert len(box.post(records[:200]).get_json()["stored"]) == 200
