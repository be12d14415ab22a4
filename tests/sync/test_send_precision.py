"""Sending a fill of a precision study: exactly once, by the page's own rules, whenever it arrives."""

import uuid

import pytest

from tests.support.outbox import envelope
from tests.support.studying import accept, form, plan
from webapp.store import ledger, precision


def record(bench, there, no="1", values=("61,1", "61.2"), by="lead", **fields):
    """One fill as a tablet's script makes it of the form."""
    sent = form(values, **{"study": there.id, "place": no} | fields)
    sent.pop("id")
    return envelope(bench, "precision_fill", by, None, sent)


def stored(bench, there):
    return precision.list_fills(bench.db, there.id)


def test_it_stores_it_with_who_read_and_who_sent(bench, outbox):
    there = plan(bench)
    sent = record(bench, there)
    said = outbox("trainee").send_one(sent)
    assert said["status"] == 200, said
    [fill] = stored(bench, there)
    assert (fill.id, fill.person_name, fill.role, fill.place_no) == (sent["id"], "Ada", "lead", 1)
    assert (fill.sent_by, fill.tablet_seq) == (bench.people["trainee"], 1)
    assert [(r.value, r.typed) for r in fill.readings] == [(6110, "61,1"), (6120, "61.2")]
    assert list(ledger.faults(bench.db)) == []


def test_it_answers_the_same_when_it_is_sent_again(bench, outbox):
    there, box = plan(bench), outbox("lead")
    void = {"readings-1-void": "moved", "readings-2-value": "61"}
    sent = record(bench, there, note="cold cup", **void)
    assert [said["remarks"] for said in box.send(sent, sent)] == [[], []]
    assert len(stored(bench, there)) == 1


@pytest.mark.parametrize(
    "change", [{"readings-0-value": "61.3"}, {"place": "3"}, {"note": "other"}, {"readings-0-sure": "y"}]
)
def test_it_overwrites_nothing(bench, outbox, change):
    there, box = plan(bench), outbox("lead")
    sent = record(bench, there)
    box.send_one(sent)
    said = box.send_one(sent | {"form": sent["form"] | change})
    assert (said["status"], said["error"]) == (409, "other_content")
    assert said["ours"] != said["theirs"]
    assert len(stored(bench, there)) == 1


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"readings-0-value": "151"}, "readings-0-value"),
        ({"readings-0-value": "", "readings-1-value": ""}, ""),
        ({"readings-1-value": ""}, ""),
        ({"readings-4-value": "61.1"}, "readings-4-value"),
        ({"readings-²-value": "61.1"}, "readings-²-value"),
        ({"readings-0-void": "because"}, "readings"),
        ({"study": str(uuid.uuid4())}, "study"),
        ({"place": "7"}, "study"),
        ({"place": "one"}, "study"),
        ({"place": "9" * 30}, "study"),
    ],
)
def test_it_refuses_what_the_page_would_refuse(bench, outbox, change, field):
    there = plan(bench)
    said = outbox("lead").send_one(record(bench, there, **change))
    assert (said["status"], said["error"]) == (422, "invalid")
    assert said["problems"][0]["field"].startswith(field)
    assert not stored(bench, there)


@pytest.mark.parametrize("by", ["roaster", "trainee"])
def test_it_refuses_a_fill_for_anothers_place_in_plain_words(bench, outbox, by):
    there = plan(bench)
    said = outbox(by).send_one(record(bench, there, by=by))
    assert (said["status"], said["error"]) == (422, "invalid")
    assert said["problems"] == [{
        "field": "place",
        "message": "This is a fill of Ada, and only they can read it: the study compares hands. Change person first.",
    }]  # fmt: skip
    assert not stored(bench, there)


def test_it_remarks_on_a_reading_far_from_its_fellows_and_stores_it(bench, outbox):
    there = plan(bench, readings=3)
    said = outbox("lead").send_one(record(bench, there, values=("61.1", "61.2", "66.1")))
    assert said["status"] == 200
    assert [text[:20] for text in said["remarks"]] == ["66.1: Far from the o"]


def test_two_tablets_read_one_place_and_the_first_that_is_stored_counts(bench, outbox, second_tablet):
    there = plan(bench)
    one, other = record(bench, there), record(bench, there, values=("63.1", "63.2"))
    assert outbox("lead").send_one(one)["remarks"] == []
    said = second_tablet("lead").send_one(other)
    assert (said["status"], said["remarks"]) == (
        200, ["This fill had been read before. The first counts; this one is kept beside it."],
    )  # fmt: skip
    assert len(stored(bench, there)) == 2
    assert precision.values(bench.db, there)[bench.people["lead"]][0] == [61.1, 61.2]


def test_it_keeps_what_comes_after_the_outcome_and_does_not_count_it(bench, outbox):
    there = plan(bench)
    accept(bench, there)
    said = outbox("lead").send_one(record(bench, there))
    assert (said["status"], said["remarks"]) == (200, ["This study is closed: nothing further counts."])
    assert len(stored(bench, there)) == 1
    assert precision.values(bench.db, there)[bench.people["lead"]][0] == []


def test_it_gives_back_no_number(bench, outbox):
    """Whoever reads next must not learn what was read before."""
    there = plan(bench)
    said = outbox("lead").send_one(record(bench, there))
    assert said["result"] == {"study_id": there.id, "place": 1}
