"""Sending a compared coffee: exactly once, by the page's own rules, whenever it arrives."""

import uuid

import pytest

from tests.support.comparing import form, plan
from tests.support.outbox import envelope
from webapp.store import compared, comparisons, ledger
from webapp.store.compared import NewOutcome


def record(bench, there, no="1", side="a", fills=(("56,1", "56.2"),), by="trainee", **fields):
    """One coffee as a tablet's script makes it of the form."""
    sent = form(fills, **{"comparison": there.id, "coffee": no, "side": side} | fields)
    sent.pop("id")
    return envelope(bench, "comparison_sample", by, None, sent)


def stored(bench, there):
    return comparisons.list_samples(bench.db, there.id)


def test_it_stores_it_with_who_read_and_who_sent(bench, outbox):
    there = plan(bench)
    sent = record(bench, there)
    said = outbox("lead").send_one(sent)
    assert said["status"] == 200, said
    [sample] = stored(bench, there)
    assert (sample.id, sample.person_name, sample.role) == (sent["id"], "Tomas", "trainee")
    assert (sample.sent_by, sample.tablet_seq) == (bench.people["lead"], 1)
    assert [(r.value, r.typed) for r in sample.readings] == [(5610, "56,1"), (5620, "56.2")]
    assert list(ledger.faults(bench.db)) == []


def test_it_answers_the_same_when_it_is_sent_again(bench, outbox):
    there, box = plan(bench), outbox("trainee")
    void = {"fills-0-readings-1-void": "moved", "fills-0-readings-2-value": "56"}
    sent = record(bench, there, note="cold cup", **void)
    assert [said["status"] for said in box.send(sent, sent)] == [200, 200]
    assert len(stored(bench, there)) == 1


@pytest.mark.parametrize(
    "change", [{"fills-0-readings-0-value": "56.3"}, {"side": "b"}, {"coffee": "2"}, {"note": "other"}]
)
def test_it_overwrites_nothing(bench, outbox, change):
    there, box = plan(bench), outbox("trainee")
    sent = record(bench, there)
    box.send_one(sent)
    said = box.send_one(sent | {"form": sent["form"] | change})
    assert (said["status"], said["error"]) == (409, "other_content")
    assert said["ours"] != said["theirs"]
    assert len(stored(bench, there)) == 1


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"fills-0-readings-0-value": "151"}, "fills-0-readings-0-value"),
        ({"fills-0-readings-0-value": ""}, ""),
        ({"fills-0-readings-9-value": "56.1"}, "fills-0-readings-9-value"),
        ({"fills-1-readings-0-value": "56.1"}, "fills-1-readings-0-value"),
        ({"fills-0-readings-²-value": "56.1"}, "fills-0-readings-²-value"),
        ({"fills-0-readings-0-void": "because"}, "fills"),
        ({"comparison": str(uuid.uuid4())}, "comparison"),
        ({"coffee": "13"}, "comparison"),
        ({"coffee": "one"}, "comparison"),
        ({"side": "c"}, "side"),
    ],
)
def test_it_refuses_what_the_page_would_refuse(bench, outbox, change, field):
    there = plan(bench)
    said = outbox("trainee").send_one(record(bench, there, **change))
    assert (said["status"], said["error"]) == (422, "invalid")
    assert said["problems"][0]["field"].startswith(field)
    assert not stored(bench, there)


def test_it_remarks_on_readings_that_disagree_and_stores_them(bench, outbox):
    """The coffee is gone by then: a question that nobody can answer any more holds nothing up."""
    there = plan(bench)
    said = outbox("trainee").send_one(record(bench, there, fills=(("56.1", "58.4"),)))
    assert said["status"] == 200
    assert said["remarks"] == ["The readings of fill 1 disagree. Take 1 more, or tick that none can be taken."]


def test_it_keeps_what_comes_after_the_outcome_and_does_not_count_it(bench, outbox):
    there = plan(bench)
    compared.add_outcome(
        bench.db, NewOutcome(str(uuid.uuid4()), there.id, "carry", 10, 0.0, 0.1, "same"), [], "", bench.who("lead"),
        bench.now,
    )  # fmt: skip
    said = outbox("trainee").send_one(record(bench, there))
    assert (said["status"], said["remarks"]) == (200, ["This comparison is concluded: nothing further counts."])
    assert len(stored(bench, there)) == 1
    assert compared.values(bench.db, there)[1, "a"].value is None


def test_it_gives_back_no_number(bench, outbox):
    """Whoever reads side a next must not learn side b's."""
    there, box = plan(bench), outbox("trainee")
    box.send_one(record(bench, there, side="b", fills=(("61.7", "61.9"),)))
    said = box.send_one(record(bench, there))
    assert said["result"] == {"comparison_id": there.id, "coffee": 1, "side": "a"}
