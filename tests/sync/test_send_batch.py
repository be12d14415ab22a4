"""Sending a batch: the same form and rules as the page, and nothing that happened meanwhile holds it back."""

from datetime import timedelta

import pytest

from tests.support.outbox import batch_record, new_id
from webapp.store import batches, gear, ledger, products
from webapp.store.times import from_text, local_day, to_text


def stored(bench):
    return list(bench.db.query("SELECT * FROM batch"))


def test_it_stores_what_the_form_says_and_how_it_came(bench, outbox):
    sent = batch_record(bench, "trainee", seq=41, form={"note": " cracked late "})
    said = outbox("roaster").send_one(sent)
    assert (said["id"], said["status"], said["stored"], said["problems"], said["remarks"]) == (
        sent["id"], 200, True, [], [],
    )  # fmt: skip
    made = batches.get_batch(bench.db, sent["id"])
    assert made.code == sent["form"]["code"]
    assert (made.green_g, made.roasted_g, made.drop_decicelsius) == (12000, 10200, 2045)
    assert (made.total_s, made.development_s, made.note) == (690, 105, "cracked late")
    assert (made.person_name, made.sent_by_name, made.tablet_name) == ("Tomas", "Ravi", "Bench tablet")
    assert (made.claim_id, made.tablet_seq, made.tablet_clock) == (None, 41, None)
    assert list(ledger.faults(bench.db)) == []


def test_it_says_where_the_batch_stands(bench, outbox):
    said = outbox().send_one(batch_record(bench))["result"]
    assert (said["verdict"], said["title"], said["parts"], said["decision"]) == (
        "unmeasured", "Not read yet", {}, None,
    )  # fmt: skip
    assert said["url"] == f"/batches/{said['batch_id']}/result"


def test_it_keeps_when_it_was_made_for_as_long_as_it_waited(bench, outbox):
    at = bench.now - timedelta(days=40)
    sent = batch_record(bench, at=at)
    outbox().send_one(sent)
    made = batches.get_batch(bench.db, sent["id"])
    assert made.made_at == to_text(at)
    assert from_text(made.received_at) - from_text(made.made_at) > timedelta(days=39)
    assert made.day == local_day(at, "Europe/Vienna")


def test_it_believes_a_clock_that_is_ahead_up_to_now_and_keeps_what_it_said(bench, outbox):
    ahead = bench.now + timedelta(hours=3)
    sent = batch_record(bench, at=ahead)
    box = outbox()
    assert box.send_one(sent)["status"] == 200
    made = batches.get_batch(bench.db, sent["id"])
    assert made.made_at == made.received_at == made.roasted_at
    assert made.tablet_clock == to_text(ahead)
    assert box.send_one(sent)["status"] == 200
    assert len(stored(bench)) == 1


def test_it_makes_nothing_of_a_clock_that_is_a_few_seconds_ahead(bench, outbox):
    sent = batch_record(bench, at=bench.now + timedelta(seconds=20))
    box = outbox()
    assert [box.send_one(sent)["status"] for _ in range(2)] == [200, 200]
    made = batches.get_batch(bench.db, sent["id"])
    assert (made.tablet_clock, made.made_at <= made.received_at) == (None, True)


def test_it_refuses_a_roast_to_come_that_no_clock_explains(bench, outbox):
    tomorrow = (bench.now + timedelta(days=2)).date().isoformat()
    said = outbox().send_one(batch_record(bench, form={"day": tomorrow}))
    assert said["status"] == 422
    assert {"field": "clock", "message": "This time is still to come. Check the day and the time."} in said["problems"]
    assert not stored(bench)


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"product": ""}, "product", "Choose the product."),
        ({"product": new_id()}, "product", ""),
        ({"machine": "here"}, "machine", ""),
        ({"code": " "}, "code", "Give the batch a code."),
        ({"code": "x" * 41}, "code", "at most 40"),
        ({"roasted": "13"}, "roasted", "cannot weigh more"),
        ({"green": "zwölf"}, "green", "not a number"),
        ({"green": "1.234,5"}, "green", "more than one mark"),
        ({"drop": "6e2"}, "drop", "not a number"),
        ({"total": "11:75"}, "total", "colon"),
        ({"total": "9:00", "development": "9:30"}, "development", "cannot be longer"),
        ({"day": "yesterday"}, "day", ""),
        ({"day": "0001-01-01"}, "day", "Check the year"),
        ({"clock": "7 am"}, "clock", ""),
        ({"note": "bell \x07"}, "note", "cannot be shown"),
    ],
)
def test_it_refuses_with_the_fields_message(bench, outbox, changes, field, words):
    said = outbox().send_one(batch_record(bench, form=changes))
    assert (said["status"], said["stored"], said["error"]) == (422, False, "invalid")
    [message] = [p["message"] for p in said["problems"] if p["field"] == field]
    assert words in message
    assert "result" not in said
    assert not stored(bench)


def test_it_stores_a_second_batch_with_a_code_that_is_used_already__T26(bench, outbox):
    """Two tablets without a network chose the same code: the id is the key, the code is only what people call it."""
    bench.batch("K-17")
    said = outbox().send_one(batch_record(bench, form={"code": "K-17"}))
    assert said["status"] == 200
    day = stored(bench)[0]["day"]
    assert said["remarks"] == [f"Another batch has the code K-17 too: Lantern House, {day}. Both are kept."]
    assert [row["code"] for row in stored(bench)] == ["K-17", "K-17"]


def test_it_stores_a_batch_of_a_product_and_machine_that_are_retired_meanwhile(bench, outbox):
    sent = batch_record(bench)
    products.change_product(bench.db, bench.product, "Lantern House", "LH", False, bench.who("lead"), bench.now)
    gear.retire(bench.db, "machine", bench.machine, bench.who("lead"), bench.now)
    assert outbox().send_one(sent)["status"] == 200


def test_it_stores_what_somebody_captured_who_has_left_meanwhile(bench, outbox):
    sent = batch_record(bench, "trainee")
    bench.db.conn.execute("UPDATE person SET active = 0 WHERE id = ?", (bench.people["trainee"],))
    assert outbox().send_one(sent)["status"] == 200
    assert batches.get_batch(bench.db, sent["id"]).person_name == "Tomas"


def test_it_takes_what_an_older_or_newer_tablet_adds(bench, outbox):
    sent = batch_record(bench, colour="brown", format=0, build="three releases ago")
    sent["form"] |= {"humidity": "12", "csrf_token": "old", "next": "ground"}
    del sent["seq"], sent["claim_id"]
    assert outbox().send_one(sent)["status"] == 200
