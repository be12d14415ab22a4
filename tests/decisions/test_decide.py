"""Deciding: what each role may do with each verdict, and what it needs."""

import uuid

import pytest

from webapp.store import decisions

READINGS = {
    "inside": ([56.0, 56.1, 56.0], [61.0, 61.1, 61.0]),
    "undecided": ([57.4, 57.4, 57.5], [61.9, 62.0, 61.9]),
    "outside": ([59.5, 59.6, 59.5], [64.5, 64.5, 64.6]),
    "incomplete": ([56.0, 56.1, 56.0], None),
}
MAY = {
    ("trainee", "inside"): (),
    ("roaster", "inside"): ("release", "hold", "remeasure"),
    ("roaster", "undecided"): ("hold", "remeasure"),
    ("roaster", "outside"): ("hold", "remeasure"),
    ("roaster", "incomplete"): ("hold", "remeasure"),
    ("lead", "inside"): ("release", "hold", "remeasure", "reject"),
    ("lead", "undecided"): ("hold", "remeasure", "reject", "concession"),
    ("lead", "outside"): ("hold", "remeasure", "reject", "concession"),
    ("lead", "incomplete"): ("hold", "remeasure", "reject", "concession"),
}
# "blend" is never asked for by itself: it is stored when a blend is carried out.
ALL = ("release", "hold", "remeasure", "reject", "concession", "blend")


def read(bench, verdict):
    batch = bench.batch()
    whole, ground = READINGS[verdict]
    bench.sample(batch.id, "whole", whole)
    if ground:
        bench.sample(batch.id, "ground", ground)
    return batch


def decide(client, batch, what, reason="seen by eye", seen="", **more):
    """Post the form. seen: the id of the newest decision that was on its page."""
    sent = {"id": str(uuid.uuid4()), "what": what, "reason": reason, "seen": seen} | more
    return client.post(f"/batches/{batch.id}/decision", data=sent)


@pytest.mark.parametrize("what", ALL)
@pytest.mark.parametrize(("role", "verdict"), MAY)
def test_it_holds_to_who_may_decide_what(bench, sign_in, role, verdict, what):
    batch = read(bench, verdict)
    answer = decide(sign_in(role), batch, what)
    made = decisions.get_decisions(bench.db, batch.id)
    if what in MAY[role, verdict]:
        assert answer.status_code == 303
        assert [(d.what, d.verdict) for d in made] == [(what, verdict)]
    else:
        assert answer.status_code == 403
        assert not made


@pytest.mark.parametrize("what", ["hold", "remeasure", "reject", "concession"])
def test_it_wants_a_reason(bench, sign_in, what):
    batch = read(bench, "outside")
    answer = decide(sign_in("lead"), batch, what, reason="  ")
    assert answer.status_code == 422
    assert "Give the reason" in answer.get_data(as_text=True)
    assert not decisions.get_decisions(bench.db, batch.id)


def test_it_asks_for_the_pin_again_before_a_concession(bench, sign_in):
    batch, client = read(bench, "outside"), sign_in("lead")
    bench.db.conn.execute("UPDATE session SET confirmed_at = '2026-01-01T00:00:00.000Z'")
    html = decide(client, batch, "concession", "customer agreed").get_data(as_text=True)
    assert "customer agreed" in html
    assert not decisions.get_decisions(bench.db, batch.id)


def test_it_stores_a_decision_posted_twice_once(bench, sign_in):
    batch, client = read(bench, "inside"), sign_in("roaster")
    sent = {"id": str(uuid.uuid4()), "what": "release", "reason": ""}
    for _ in range(2):
        assert client.post(f"/batches/{batch.id}/decision", data=sent).status_code == 303
    assert len(decisions.get_decisions(bench.db, batch.id)) == 1


def test_it_keeps_the_role_the_customer_and_what_stood_before(bench, sign_in):
    batch, client = read(bench, "outside"), sign_in("lead")
    decide(sign_in("roaster"), batch, "hold", "check the lot")
    [held] = decisions.get_decisions(bench.db, batch.id)
    client = sign_in("lead")
    decide(client, batch, "concession", "cupped", seen=held.id, customer="Corner Café")
    [_held, conceded] = decisions.get_decisions(bench.db, batch.id)
    assert (held.role, held.customer, held.supersedes) == ("roaster", None, None)
    assert (conceded.role, conceded.customer, conceded.supersedes) == ("lead", "Corner Café", held.id)
    assert "For Corner Café." in client.get(f"/batches/{batch.id}/result").get_data(as_text=True)


def test_it_has_a_customer_for_a_concession_alone(bench, sign_in):
    batch = read(bench, "outside")
    decide(sign_in("lead"), batch, "reject", "burnt", customer="Corner Café")
    assert decisions.get_decisions(bench.db, batch.id)[0].customer is None
