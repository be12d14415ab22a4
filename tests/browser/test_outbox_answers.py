"""Nothing but a JSON answer of ours that names a record takes it out of the outbox."""

import pytest
from playwright.sync_api import expect

from tests.support.fake_server import SIGN_IN, FakeServer, as_json, broken, plain
from tests.support.waiting import entries, flush, put, record, states, until


@pytest.fixture
def page(address, tablet):
    opened = tablet("roaster", failing=True)
    opened.goto(f"{address}/me")
    opened.wait_for_load_state("networkidle")
    return opened


@pytest.fixture
def fake(page):
    return FakeServer(page)


WRONG = {
    "302 to a sign-in page": plain(302, Location="/sign-in"),
    "303 to a page that says it is fine": plain(303, Location="/me"),
    "200 sign-in page": plain(200, SIGN_IN),
    "200 captive portal": plain(200, "<html><title>Welcome to the free Wi-Fi</title></html>"),
    "200 empty": plain(200, "", "application/json"),
    "200 empty page": plain(200, ""),
    "204": plain(204, ""),
    "200 JSON as text": plain(200, '{"stored": ["%s"]}', "text/plain"),
    "200 JSON without a list": as_json(200, {"ok": True}),
    "200 JSON, stored is no list": as_json(200, {"stored": True}),
    "200 JSON null": as_json(200, None),
    "200 half of a JSON": plain(200, '{"stored": ["', "application/json"),
    "201 JSON": as_json(201, {"stored": []}),
    "408": as_json(408, {"error": "timeout"}),
    "429": as_json(429, {"error": "slow_down"}),
    "500 page": plain(500, "<h1>Something broke</h1>"),
    "500 JSON": as_json(500, {"error": "broken"}),
    "502": plain(502, "<h1>Bad gateway</h1>"),
    "503": plain(503, ""),
    "504": plain(504, ""),
    "connection reset": broken(),
    "connection refused": broken("connectionrefused"),
    "name not found": broken("namenotresolved"),
}


def test_it_keeps_what_was_answered_wrongly(page, fake, bench):
    """Each wrong answer to the same waiting records: in the end they are stored once, and were never gone."""
    person = bench.people["roaster"]
    page.context.set_offline(True)
    ids = put(page, record(person), record(person, "decision"))
    page.context.set_offline(False)
    for name, answer in WRONG.items():
        fake.script = [answer] * 20
        asked = len(fake.posts)
        until(page, lambda asked=asked: flush(page) != "busy" and len(fake.posts) > asked)
        until(page, lambda: set(states(page).values()) == {"saved"})
        assert set(states(page)) == set(ids), name
        assert not fake.stored
    fake.script = []
    until(page, lambda: flush(page) == "done")
    assert entries(page) == []
    assert set(fake.stored) == set(ids)


def test_it_takes_out_only_what_is_named(page, fake, bench):
    person = bench.people["roaster"]
    first, second = record(person), record(person)
    other = record(person)
    fake.script = [as_json(200, {"stored": [second["id"], other["id"]], "results": []})] * 2
    put(page, first)
    put(page, second)
    flush(page)
    assert first["id"] in states(page)


def test_it_keeps_all_where_the_answer_names_others(page, fake, bench):
    person = bench.people["roaster"]
    fake.script = [as_json(200, {"stored": [record(person)["id"]], "results": []})] * 3
    ids = put(page, record(person))
    flush(page)
    assert set(states(page)) == set(ids)
    assert entries(page)[0]["tries"] > 0


def test_it_splits_a_list_that_is_too_large(page, fake, bench):
    """413 in a proxy's own words, until two are left."""
    person = bench.people["roaster"]
    too_many = lambda route, records: (  # noqa: E731
        plain(413, "<h1>Too large</h1>")(route, records) if len(records) > 2 else fake.take(route, records)
    )
    fake.script = [too_many] * 20
    page.context.set_offline(True)
    ids = put(page, *[record(person) for _ in range(9)])
    page.context.set_offline(False)
    flush(page)
    for _ in range(20):
        if not entries(page):
            break
        page.wait_for_timeout(100)
    assert entries(page) == []
    assert set(fake.stored) == set(ids)


def test_it_asks_somebody_to_look_at_one_that_is_too_large_by_itself(page, fake, bench):
    person = bench.people["roaster"]
    large, small = record(person), record(person)
    too_large = lambda route, records: (  # noqa: E731
        as_json(413, {"error": "too_large"})(route, records)
        if large["id"] in [r["id"] for r in records]
        else fake.take(route, records)
    )
    fake.script = [too_large] * 20
    put(page, large, small)
    flush(page)
    assert states(page) == {large["id"]: "attention"}
    expect(page.locator("[data-saved]")).to_contain_text("1 needs attention")


def test_it_keeps_the_replacement_of_what_is_on_its_way(page, fake, bench):
    """Changed while the first version is being stored: the answer to the first does not take out the second."""
    one = record(bench.people["roaster"])
    other = one | {"form": one["form"] | {"fills-0-readings-0-value": "57.0"}}

    def meanwhile(route, records):
        put(page, other)
        fake.take(route, records)

    fake.script = [meanwhile]
    put(page, one)
    flush(page)
    until(page, lambda: len(fake.requests) > 1)
    values = [r["form"]["fills-0-readings-0-value"] for body in fake.requests for r in body["records"]]
    assert values[0] == "56.2"
    assert values[-1] == "57.0"
