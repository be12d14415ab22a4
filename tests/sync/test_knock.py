"""Knocking: every piece that is missing is refused alone, as JSON; never a page, never a redirect."""

import json
import uuid

import pytest

from tests.support.outbox import OWN, Outbox, batch_record, claim_record
from webapp.store import people, sessions

POSTS = ("/records", f"/claims/{uuid.UUID(int=7)}/confirm")
ALL = (*POSTS, "/kit", "/csrf")


def refused(answer, status, error):
    """Whether it is this refusal, in JSON that nobody keeps and nobody takes for something else."""
    assert answer.mimetype == "application/json", (answer.status_code, answer.data[:200])
    assert "Location" not in answer.headers
    assert answer.headers["Cache-Control"] == "no-store"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert (answer.status_code, answer.get_json()["error"]) == (status, error)


def test_it_asks_for_the_pin_without_a_session__T10(client, bench):
    refused(Outbox(client).post([batch_record(bench)]), 401, "sign_in")
    refused(client.get("/kit"), 401, "sign_in")


def test_it_asks_for_the_pin_when_the_session_has_ended_or_idled__T10(bench, outbox, clock):
    box, records = outbox(), [batch_record(bench)]
    clock(minutes=12)
    refused(box.post(records), 401, "sign_in")
    box = outbox()
    people.end_sessions(bench.db, bench.people["roaster"], bench.now)
    refused(box.post(records), 401, "sign_in")
    assert not list(bench.db.query("SELECT * FROM batch"))


@pytest.mark.parametrize("address", ALL)
def test_it_does_not_know_a_device_that_is_no_tablet(app, bench, address):
    device = app.test_client()
    answer = device.post(address, json={}, headers=OWN) if address in POSTS else device.get(address)
    refused(answer, 403, "not_enrolled")


def test_it_does_not_know_a_revoked_tablet(bench, outbox):
    box = outbox()
    sessions.revoke_tablet(bench.db, bench.tablet, bench.who("lead"), bench.now)
    refused(box.post([batch_record(bench)]), 403, "not_enrolled")
    refused(box.client.get("/kit"), 403, "not_enrolled")


def test_it_answers_json_on_an_empty_bench_too(app, empty_path):
    app.config["DATABASE"] = empty_path
    for path in ALL:
        answer = app.test_client().post(path, json={}) if path in POSTS else app.test_client().get(path)
        refused(answer, 403, "not_enrolled")


@pytest.mark.parametrize("address", POSTS)
@pytest.mark.parametrize(
    ("change", "status", "error"),
    [
        ({"Content-Type": "text/plain"}, 403, "content_type"),
        ({"Content-Type": "application/x-www-form-urlencoded"}, 403, "content_type"),
        ({"Content-Type": None}, 403, "content_type"),
        ({"X-CSRFToken": None}, 403, "csrf_missing"),
        ({"X-CSRFToken": ""}, 403, "csrf_missing"),
        ({"Sec-Fetch-Site": None}, 403, "origin"),
        ({"Sec-Fetch-Site": "cross-site"}, 403, "origin"),
        ({"Sec-Fetch-Site": "same-site"}, 403, "origin"),
        ({"Sec-Fetch-Site": "none"}, 403, "origin"),
        ({"Sec-Fetch-Site": None, "Origin": "https://elsewhere.example"}, 403, "origin"),
        ({"Sec-Fetch-Site": None, "Origin": "null"}, 403, "origin"),
        ({"Sec-Fetch-Site": "cross-site", "Origin": "http://localhost"}, 403, "origin"),
    ],
)
def test_it_refuses_each_missing_piece_alone(bench, outbox, address, change, status, error):
    headers = {name: value for name, value in (OWN | change).items() if value is not None}
    body = json.dumps({"records": [batch_record(bench)], "pin": "314159"})
    refused(outbox().client.post(address, data=body, headers=headers), status, error)
    assert not list(bench.db.query("SELECT * FROM batch"))
    assert not list(bench.db.query("SELECT * FROM pin_guard"))


def test_it_takes_the_origin_where_a_browser_says_no_more(bench, outbox):
    headers = {k: v for k, v in OWN.items() if k != "Sec-Fetch-Site"} | {"Origin": "http://localhost"}
    answer = outbox().client.post("/records", json={"records": [batch_record(bench)]}, headers=headers)
    assert answer.status_code == 200


def test_it_wants_a_living_form_token__T12(app, bench, outbox, monkeypatch):
    """A token from before the server changed its secret is refused by a word of its own; a fresh one is taken."""
    app.config["WTF_CSRF_ENABLED"] = True
    box, records = outbox(), [batch_record(bench)]
    refused(box.post(records, **{"X-CSRFToken": "any"}), 400, "csrf_stale")
    token = box.client.get("/csrf").get_json()["token"]
    monkeypatch.setitem(app.config, "SECRET_KEY", "another secret, long enough for a test")
    refused(box.post(records, **{"X-CSRFToken": token}), 400, "csrf_stale")
    fresh = box.client.get("/csrf").get_json()["token"]
    assert box.post(records, **{"X-CSRFToken": fresh}).status_code == 200


def test_it_does_not_take_the_token_from_the_body(app, bench, outbox):
    app.config["WTF_CSRF_ENABLED"] = True
    box = outbox()
    token = box.client.get("/csrf").get_json()["token"]
    body = {"records": [batch_record(bench)], "csrf_token": token}
    headers = {k: v for k, v in OWN.items() if k != "X-CSRFToken"}
    refused(box.client.post("/records", json=body, headers=headers), 403, "csrf_missing")


def test_it_does_not_take_another_browsers_token(app, bench, outbox, second_tablet):
    app.config["WTF_CSRF_ENABLED"] = True
    token = second_tablet("lead").client.get("/csrf").get_json()["token"]
    refused(outbox().post([batch_record(bench)], **{"X-CSRFToken": token}), 400, "csrf_stale")


def test_it_gives_a_token_to_a_tablet_on_which_nobody_is_signed_in(app, bench, client):
    """A claim is confirmed before anybody is."""
    answer = client.get("/csrf")
    assert answer.status_code == 200
    assert answer.headers["Cache-Control"] == "no-store"
    assert len(answer.get_json()["token"]) > 40


@pytest.mark.parametrize("body", [b"", b"{", b"\xff\xfe", b'{"records": [}', b"[" * 100_000, b'{"a":' * 50_000])
def test_it_refuses_broken_json(outbox, body):
    refused(outbox().client.post("/records", data=body, headers=OWN), 400, "bad_json")


@pytest.mark.parametrize("body", ["[]", "null", "1", '"records"', "{}", '{"records": {}}', '{"records": "all"}', "NaN"])
def test_it_refuses_what_is_no_list_of_records(outbox, body):
    refused(outbox().client.post("/records", data=body, headers=OWN), 400, "no_records")


@pytest.mark.parametrize("address", POSTS)
def test_it_refuses_a_body_that_is_too_large(bench, outbox, address, everything):
    before = everything()
    body = json.dumps({"records": [batch_record(bench)], "pin": "314159", "padding": "x" * 300_000})
    refused(outbox().client.post(address, data=body, headers=OWN), 413, "too_large")
    assert everything() == before


@pytest.mark.parametrize("address", ALL)
@pytest.mark.parametrize("method", ["GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "BREW"])
def test_it_refuses_every_other_method(outbox, address, method):
    own = ("POST",) if address in POSTS else ("GET", "HEAD")
    if method in own:
        return
    answer = outbox().client.open(address, method=method, headers=OWN)
    assert answer.status_code == 405
    assert answer.mimetype == "application/json"
    assert set(answer.headers["Allow"].split(", ")) == set(own)
    if method != "HEAD":
        assert answer.get_json() == {"error": "not_allowed"}


@pytest.mark.parametrize(
    "address", ["/records/", "/records/1", "/kit/", "/claims/", "/claims/x/confirm", "/claims//confirm", "/csrf/x"]
)
def test_it_answers_json_below_its_addresses_too(outbox, address):
    client = outbox().client
    for answer in (client.get(address), client.post(address, json={}, headers=OWN)):
        assert answer.status_code in (404, 405)
        assert answer.mimetype == "application/json"


def test_it_refuses_another_host_as_json(app, outbox, monkeypatch):
    monkeypatch.setitem(app.config, "TRUSTED_HOSTS", ["bench.example"])
    answer = outbox().client.post("/records", json={"records": []}, headers=OWN)
    assert answer.status_code == 400
    assert answer.mimetype == "application/json"


def test_it_does_not_keep_a_session_awake_by_itself(bench, outbox, clock):
    """A tablet that sends and asks in the background must not stand open for whoever comes by."""
    box = outbox()
    for _ in range(3):
        clock(minutes=3)
        assert box.post([]).status_code == 200
        assert box.client.get("/kit").status_code == 200
    clock(minutes=3)
    refused(box.post([claim_record(bench, "lead")]), 401, "sign_in")
