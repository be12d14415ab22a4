"""Deciding: what each role may do with each verdict, and what stays on the record."""

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
    ("roaster", "inside"): ("release", "hold"),
    ("roaster", "undecided"): ("hold",),
    ("roaster", "outside"): ("hold",),
    ("roaster", "incomplete"): ("hold",),
    ("lead", "inside"): ("release", "hold", "reject"),
    ("lead", "undecided"): ("hold", "reject", "concession"),
    ("lead", "outside"): ("hold", "reject", "concession"),
    ("lead", "incomplete"): ("hold", "reject", "concession"),
}
ALL = ("release", "hold", "reject", "concession")


def read(bench, verdict):
    batch = bench.batch()
    whole, ground = READINGS[verdict]
    bench.sample(batch.id, "whole", whole)
    if ground:
        bench.sample(batch.id, "ground", ground)
    return batch


def decide(client, batch, what, reason="seen by eye"):
    return client.post(
        f"/batches/{batch.id}/decision", data={"id": str(uuid.uuid4()), "what": what, "reason": reason}
    )


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


@pytest.mark.parametrize("what", ["hold", "reject", "concession"])
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


def test_it_keeps_earlier_decisions_in_sight(bench, sign_in):
    batch, client = read(bench, "inside"), sign_in("lead")
    decide(client, batch, "hold", "check the lot")
    decide(client, batch, "release", "")
    html = client.get(f"/batches/{batch.id}").get_data(as_text=True)
    assert "check the lot" in html
    assert html.index("On hold") < html.index("Released")
