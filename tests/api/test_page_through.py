"""Lists page by page: nothing twice, nothing left out, while others store; and what has changed since."""

import threading

import pytest

from tests.support.roastery import later
from webapp.store import connect, corrections, decisions, products
from webapp.store.api_lists import Place

KIND = ["/batches", "/products", "/meters", "/waiting"]


def ids(items):
    """What tells them apart."""
    return [item.get("id") or item["batch_id"] for item in items]


@pytest.fixture
def many(bench):
    """Forty batches, stored in another order than they were roasted; their ids as they were stored."""
    return [bench.batch(f"M-{no:02d}", at=later(bench.now, minutes=-(no * 37 % 400))).id for no in range(40)]


@pytest.mark.parametrize("limit", [1, 3, 13, 39, 40, 41, 500])
def test_it_gives_each_batch_once_in_the_order_of_storing(program, many, limit):
    assert ids(program.follow(f"/batches?limit={limit}")) == many


def test_it_ends_with_a_full_page_without_an_empty_one(program, many):
    page = program.get("/batches?limit=40")
    assert len(page["items"]) == 40
    assert page["next"] is None
    first = program.ask("/batches?limit=39")
    assert first.headers["Link"] == f'<{first.get_json()["next"]}>; rel="next"'
    assert "Link" not in program.ask("/batches?limit=40").headers


def test_it_neither_repeats_nor_skips_while_batches_are_stored(program, bench, many):
    """One new batch a page, earlier and later than all others: the list is the one of when it began."""
    found, following, stored = [], "/batches?limit=3", []
    while following:
        page = program.get(following)
        found += ids(page["items"])
        for minutes in (-10_000, 10):
            stored.append(bench.batch(f"new {len(stored)}", at=later(bench.now, minutes=minutes)).id)
        following = page["next"]
    assert found == many
    assert ids(program.follow(f"/batches?changed_since={program.get('/batches?limit=1')['ledger_seq']}")) == []


def test_it_neither_repeats_nor_skips_while_another_connection_stores(program, bench, many, path):
    """A writer at full speed beside a reader: what it stored since comes with changed_since, and together it is all."""
    stop, stored = threading.Event(), []

    def store():
        db = connect.connect(path)
        bench.db = db
        while not stop.is_set() and len(stored) < 300:
            stored.append(bench.batch(f"beside {len(stored)}").id)
        db.close()

    first = program.get("/batches?limit=7")
    writer = threading.Thread(target=store)
    writer.start()
    try:
        found = ids(first["items"]) + ids(program.follow(first["next"]))
        line, seen = first["ledger_seq"], []
        while len(stored) < 60:
            pass
    finally:
        stop.set()
        writer.join()
    seen = ids(program.follow(f"/batches?limit=11&changed_since={line}"))
    assert found == many
    assert seen == stored
    assert len(stored) >= 60


def test_it_narrows_down_to_a_product_and_to_days(program, bench, many):
    other = products.add_product(
        bench.db, "Evening", "EVE", bench.scale, "simple", 0.8, None, None, [], bench.who("lead"), bench.now
    )
    mine = bench.batch("E-1", other, at=later(bench.now, minutes=-3 * 24 * 60))
    assert ids(program.follow(f"/batches?product={other}")) == [mine.id]
    assert ids(program.follow(f"/batches?since={mine.day}&until={mine.day}")) == [mine.id]
    assert ids(program.follow(f"/batches?limit=9&product={bench.product}")) == many
    assert ids(program.follow(f"/batches?limit=9&until={mine.day}&product={bench.product}")) == []
    assert ids(program.follow("/batches?since=9999-12-31")) == []


def test_it_keeps_what_was_asked_for_in_the_next_address(program, bench, many):
    page = program.get(f"/batches?limit=2&product={bench.product}&since=2020-01-01")
    assert f"product={bench.product}" in page["next"]
    assert "since=2020-01-01" in page["next"]
    assert "limit=2" in page["next"]


def test_it_names_what_has_changed_since(program, bench, many):
    line = program.get("/batches?limit=1")["ledger_seq"]

    def changed():
        """And what it says of a batch that changed later is in it."""
        return set(ids(program.follow(f"/batches?limit=2&changed_since={line}")))

    assert changed() == set()
    sample = bench.sample(many[5], "whole", [56.2, 56.3, 56.1])
    assert changed() == {many[5]}
    line = program.get("/batches?limit=1")["ledger_seq"]
    corrections.add_correction(
        bench.db, many[0][:-4] + "aaaa", sample.id, 1, 1, 5630, "Read the wrong digit.", bench.who(), bench.now
    )
    decisions.add_decision(bench.db, many[0][:-4] + "bbbb", many[7], "hold", "Wait.", bench.who(), bench.now)
    assert changed() == {many[5], many[7]}
    assert set(ids(program.follow("/batches?changed_since=0"))) == set(many)


def test_it_names_what_a_check_of_the_meter_throws_light_on(program, bench, many):
    """A failed check changes the marks of what was read since the last one that passed."""
    bench.check([60.0, 60.1, 60.0], at=later(bench.now, minutes=-60))
    bench.sample(many[1], "whole", [56.2, 56.3, 56.1], at=later(bench.now, minutes=-90))
    bench.sample(many[2], "whole", [56.2, 56.3, 56.1], at=later(bench.now, minutes=-30))
    line, before = program.get("/batches?limit=1")["ledger_seq"], {b["id"]: b for b in program.follow("/batches")}
    bench.check([66.0, 66.1, 66.0], at=bench.now)
    after = {b["id"]: b for b in program.follow("/batches")}
    differ = {id for id, batch in after.items() if batch != before[id]}
    named = set(ids(program.follow(f"/batches?changed_since={line}")))
    assert differ <= named
    assert named == {many[2]}


def test_it_names_all_after_results_were_rebuilt(program, bench, many):
    from webapp.store import ledger

    line = program.get("/batches?limit=1")["ledger_seq"]
    with connect.write(bench.db):
        ledger.note(bench.db, "results rebuilt", "site", "1", bench.now, None, None)
    assert ids(program.follow(f"/batches?changed_since={line}")) == many


def test_it_names_everything_that_differs_after_a_busy_day(program, bench, many):
    """Whatever happens at a bench: a batch that reads otherwise afterwards is named."""
    from tests.store import worked

    line, before = program.get("/batches?limit=1")["ledger_seq"], {b["id"]: b for b in program.follow("/batches")}
    worked.work(bench)
    after = {b["id"]: b for b in program.follow("/batches")}
    differ = {id for id, batch in after.items() if batch != before.get(id)}
    assert len(differ) >= 3
    assert differ <= set(ids(program.follow(f"/batches?limit=3&changed_since={line}")))


def test_it_answers_304_until_something_is_stored(program, bench, many):
    tag = program.ask("/batches?limit=2").headers["ETag"]
    for address in ("/batches?limit=2", f"/batches/{many[0]}", "/products", "/meters", "/waiting"):
        answer = program.ask(address, If_None_Match=tag)
        assert (answer.status_code, answer.data) == (304, b"")
        assert answer.headers["ETag"] == tag
        assert answer.headers["Cache-Control"] == "no-store"
    for sent in (tag, "*"):
        assert program.ask("/batches/00000000-0000-4000-8000-000000000000", If_None_Match=sent).status_code == 404
        assert program.ask("/batches?limit=0", If_None_Match=sent).status_code == 400
    bench.batch("M-new")
    assert program.ask("/batches?limit=2", If_None_Match=tag).status_code == 200
    # A health check wants to hear from the program that answers.
    assert "ETag" not in program.ask("/about").headers


BAD = {
    "limit": ["0", "-1", "501", "1.5", "x", "", "1e2", "９", " 5", "1000000000000000000000"],
    "product": ["x", "", "1", "' OR 1=1 --"],
    "since": ["today", "2026-5-1", "2026-02-30", "20260514", "0000-01-01", ""],
    "until": ["2026-05-14T00:00:00Z", "99999-01-01"],
    "changed_since": ["-1", "x", "9" * 16, "1.0", ""],
    "cursor": ["x", "", "MTox", "a" * 5000, "é", "..", "MToxOjI6OTk5OTk5OTk5OTk5OTk5OTk5OTk5OTk5"],
    "nothing": ["1"],
}


@pytest.mark.parametrize(("name", "text"), [(name, text) for name, texts in BAD.items() for text in texts])
def test_it_says_which_parameter_it_does_not_understand(program, name, text):
    answer = program.ask("/batches", "GET") and program.client.get(
        "/api/v1/batches", query_string={name: text}, headers={"Authorization": f"Bearer {program.key}"}
    )
    assert answer.status_code == 400, answer.text
    assert answer.mimetype == "application/problem+json"
    (problem,) = answer.get_json()["errors"]
    assert problem["parameter"] == name
    assert problem["message"].endswith(".")


def test_it_says_all_that_is_wrong_at_once_and_refuses_twice_the_same(program):
    said = program.ask("/batches?limit=0&since=x&limit=5").get_json()["errors"]
    assert {one["parameter"] for one in said} == {"limit", "since"}
    assert program.ask("/batches?limit=5&limit=5").status_code == 400


@pytest.mark.parametrize("address", ["/about?x=1", "/openapi.json?x=1", "/meters?product=1", "/waiting?since=2"])
def test_it_refuses_what_cannot_be_asked_there(program, address):
    assert program.ask(address).status_code == 400


def test_a_cursor_that_somebody_made_up_breaks_nothing(program, many):
    """It is a place in the list and no secret: what it opens, the key opens anyway."""
    from webapp.api.asked import read_cursor, write_cursor

    assert read_cursor(write_cursor(Place(3, 40, 99))) == Place(3, 40, 99)
    far = write_cursor(Place(10**15 - 1, 10**15 - 1, 0))
    assert program.get(f"/batches?cursor={far}")["items"] == []
    assert len(program.get(f"/batches?cursor={write_cursor(Place(0, 10**14, 0))}")["items"]) == 40


@pytest.mark.parametrize("kind", KIND)
def test_it_pages_through_every_list(program, bench, busy, kind):
    bench.db.conn.execute("INSERT OR IGNORE INTO batch_waiting SELECT id, 'hold' FROM batch")
    whole = program.get(f"{kind}?limit=500")["items"]
    assert whole
    assert program.follow(f"{kind}?limit=1") == whole
