"""Releasing several batches at once: each its own decision, judged on the server, all of them or none."""

import re
import uuid

from tests.decisions.test_list import listed, read
from tests.decisions.test_supersede import put
from webapp.store import decisions, ledger


def ticks(client):
    """code -> what the tick beside it sends."""
    _waits, codes, html = listed(client)
    return dict(zip(codes, re.findall(r'type="checkbox" name="batch" value="([^"]+)"', html), strict=True))


def release(client, *values, name="batch"):
    return client.post("/decisions/release", data={name: list(values)})


def made(bench, *batches):
    return [[d.what for d in decisions.get_decisions(bench.db, batch.id)] for batch in batches]


def test_it_releases_all_that_are_ticked_and_nothing_else(bench, sign_in):
    batches = [read(bench, "inside", code=code) for code in ("A", "B", "C")]
    client = sign_in("roaster")
    there = ticks(client)
    answer = release(client, there["A"], there["C"])
    assert answer.status_code == 303
    assert made(bench, *batches) == [["release"], [], ["release"]]
    assert "2 batches released." in client.get(answer.location).get_data(as_text=True)
    first = decisions.last_decision(bench.db, batches[0].id)
    assert (first.person_name, first.role, first.verdict, first.supersedes) == ("Ravi", "roaster", "inside", None)
    assert list(ledger.faults(bench.db)) == []


def test_it_releases_one_with_one_tap_whatever_is_ticked(bench, sign_in):
    batches = [read(bench, "inside", code=code) for code in ("A", "B")]
    client = sign_in("roaster")
    there = ticks(client)
    client.post("/decisions/release", data={"batch": [there["A"]], "one": there["B"]})
    assert made(bench, *batches) == [[], ["release"]]


def test_it_stores_the_same_form_once(bench, sign_in):
    batch, client = read(bench, "inside", code="A"), sign_in("roaster")
    there = ticks(client)
    for _twice in range(2):
        assert release(client, there["A"]).status_code == 303
    assert made(bench, batch) == [["release"]]


def test_it_stores_none_if_one_reads_otherwise_now(bench, sign_in):
    batches = [read(bench, "inside", code=code) for code in ("A", "B")]
    client = sign_in("roaster")
    there = ticks(client)
    bench.sample(batches[1].id, "whole", [59.5, 59.6, 59.5])
    answer = release(client, *there.values())
    html = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "Nothing was released" in html
    assert "B: as it stands now" in html
    assert made(bench, *batches) == [[], []]
    # What was ticked stays so.
    assert re.search(rf'value="{batches[0].id} [^"]+" checked', html)


def test_it_stores_none_if_somebody_has_decided_meanwhile(bench, sign_in):
    batches = [read(bench, "inside", code=code) for code in ("A", "B")]
    client = sign_in("roaster")
    there = ticks(client)
    put(bench, batches[1], "hold", "lead", "smells of smoke")
    html = release(client, *there.values()).get_data(as_text=True)
    assert "B: On hold by Ada" in html
    assert made(bench, *batches) == [[], ["hold"]]


def test_it_says_what_is_missing(bench, sign_in):
    client = sign_in("roaster")
    assert "Tick the batches" in release(client).get_data(as_text=True)
    for nonsense in ("x", "x y", f"{uuid.uuid4()}", "' OR 1"):
        assert release(client, nonsense).status_code == 422
    nowhere = release(client, f"{uuid.uuid4()} {uuid.uuid4()}")
    assert "One of these batches is not there." in nowhere.get_data(as_text=True)


def test_it_is_not_a_trainees(bench, sign_in):
    batch = read(bench, "inside")
    assert release(sign_in("trainee"), f"{batch.id} {uuid.uuid4()}").status_code == 403
    assert made(bench, batch) == [[]]
