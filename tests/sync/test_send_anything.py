"""Sending anything at all: wrong types everywhere, and never a fault of the server's, never half a record."""

import copy
import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.support.outbox import OWN, batch_record, claim_record, decision_record, sample_record
from webapp.store import ledger, results

FUZZ = settings(
    max_examples=60, deadline=None, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)  # fmt: skip
ODD = st.sampled_from(
    [
        None, True, 0, -1, 2**63, 1e308, float("nan"), "", " ", "\0", "\ud800", "٦١", "null", [], {}, [[]], {"": ""},
        "0" * 400, "9" * 400, "-", "1e3", "00000000-0000-0000-0000-000000000000", "0001-01-01T00:00:00+14:00",
        "9999-12-31T23:59:59-14:00", "2026-02-30", "24:00", "'; DROP TABLE batch; --", "<b>", "%s%d{x}", "y",
        "x" * 3000,
    ]
)  # fmt: skip
ANY_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20) | ODD,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=12), inner, max_size=4),
    max_leaves=12,
)
KINDS = ("batch", "sample", "decision", "claim")


def sound(answer):
    """Whether the answer is one that a tablet understands: JSON, no fault of the server's, nothing half said."""
    assert answer.mimetype == "application/json"
    assert answer.status_code in (200, 400, 413), answer.text
    for said in answer.get_json().get("results", []):
        assert said["status"] in (200, 403, 404, 409, 422), said
        assert said["stored"] == (said["status"] == 200)
        assert said["stored"] == ("result" in said)
        assert bool(said["problems"]) != said["stored"]


def send(box, records):
    return box.client.post("/records", data=json.dumps({"records": records}), headers=OWN)


def good(bench, kind, batch_id):
    """A record that would be stored as it is."""
    match kind:
        case "batch":
            return batch_record(bench)
        case "sample":
            return sample_record(bench, batch_id)
        case "decision":
            return decision_record(bench, batch_id, "hold", "wait")
        case _:
            return claim_record(bench, "trainee")


def places(record):
    """Every place in a record at which something can be another: ("form", "code"), ("id",) ..."""
    found = [(name,) for name in record]
    return found + [("form", name) for name in record.get("form", {})]


def put(record, place, value):
    """The record with `value` at a place."""
    spoilt = copy.deepcopy(record)
    (spoilt["form"] if len(place) == 2 else spoilt)[place[-1]] = value
    return spoilt


@pytest.fixture
def whole_again(bench):
    """After everything that was sent: the records are as the ledger says, and the results as their facts say."""
    yield
    assert list(ledger.faults(bench.db)) == []
    assert results.rebuild(bench.db) == []
    assert bench.db.conn.execute("PRAGMA integrity_check").fetchone()[0] == "ok"


@pytest.mark.parametrize("kind", KINDS)
def test_it_stands_one_wrong_value_anywhere(bench, outbox, whole_again, kind):
    box, batch = outbox(), bench.batch()

    @FUZZ
    @given(st.data())
    def attempt(data):
        record = good(bench, kind, batch.id)
        place = data.draw(st.sampled_from(places(record)))
        sound(send(box, [put(record, place, data.draw(ODD | ANY_JSON))]))

    attempt()


@pytest.mark.parametrize("kind", KINDS)
def test_it_stands_every_field_left_out(bench, outbox, whole_again, kind):
    box, batch = outbox(), bench.batch()
    for place in places(good(bench, kind, batch.id)):
        record = good(bench, kind, batch.id)
        del (record["form"] if len(place) == 2 else record)[place[-1]]
        sound(send(box, [record]))


@pytest.mark.parametrize("kind", KINDS)
def test_it_stands_another_value_under_a_number_that_is_stored(bench, outbox, whole_again, everything, kind):
    """The comparison of two versions reads fields that no check has passed."""
    box, batch = outbox(), bench.batch()
    record = good(bench, kind, batch.id)
    assert send(box, [record]).get_json()["stored"] == [record["id"]]
    own = [place for place in places(record) if place not in (("id",), ("form",))]
    before = everything()[kind if kind != "claim" else "person_claim"]

    @FUZZ
    @given(st.sampled_from(own), ODD)
    def attempt(place, value):
        sound(send(box, [put(record, place, value)]))

    attempt()
    assert [row for row in everything()[kind if kind != "claim" else "person_claim"] if row in before] == before


@pytest.mark.parametrize("odd", ["half a \ud800 character", "a NUL \0 in it"])
@pytest.mark.parametrize(
    ("kind", "name"),
    [
        ("batch", "code"), ("batch", "lot"), ("batch", "note"), ("sample", "note"), ("sample", "steps-2-note"),
        ("sample", "fills-0-readings-0-value"), ("decision", "reason"), ("batch", "a \ud800 field's name"),
    ],
)  # fmt: skip
def test_it_refuses_what_a_database_cannot_keep_as_text(bench, outbox, whole_again, kind, name, odd):
    record = put(good(bench, kind, bench.batch().id), ("form", name), odd)
    (said,) = send(outbox(), [record]).get_json()["results"]
    assert (said["status"], said["problems"]) == (422, [{"field": name, "message": "This field is no text."}])


def test_it_stands_fields_that_are_not_in_the_form(bench, outbox, whole_again):
    box, batch = outbox(), bench.batch()
    names = st.sampled_from(
        [
            "take", "fills", "fills-0", "fills-0-readings", "fills-x-readings-0-value", "fills-99999-readings-0-value",
            "fills-0-readings-99999-value", "steps-39-done", "steps-9999-at", "steps--1-done", "meter-0", "csrf_token",
            "fills-٣-readings-٠-value", "steps-²-done",
        ]
    )  # fmt: skip

    @FUZZ
    @given(names | st.text(max_size=30), ODD | st.text(max_size=30))
    def attempt(name, value):
        sound(send(box, [put(sample_record(bench, batch.id), ("form", name), value)]))

    attempt()


def test_it_stands_any_json(outbox, whole_again):
    box = outbox()

    @FUZZ
    @given(ANY_JSON)
    def attempt(body):
        sound(box.client.post("/records", data=json.dumps(body), headers=OWN))
        sound(send(box, [body, {"kind": "batch", "form": body}, body]))

    attempt()


def test_it_stands_any_bytes(outbox, whole_again):
    box = outbox()

    @FUZZ
    @given(st.binary(max_size=400))
    def attempt(body):
        sound(box.client.post("/records", data=body, headers=OWN))

    attempt()


def test_it_stands_any_json_instead_of_a_pin(bench, outbox):
    box, claim = outbox(), claim_record(bench, "lead")
    box.send_one(claim)

    @FUZZ
    @given(ANY_JSON)
    def attempt(body):
        for sent in (body, {"pin": body}):
            answer = box.client.post(f"/claims/{claim['id']}/confirm", data=json.dumps(sent), headers=OWN)
            assert (answer.status_code, answer.mimetype) == (422, "application/json")

    attempt()
