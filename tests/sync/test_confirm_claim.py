"""Confirming a claim: by the PIN of the person claimed, behind the same guard as every PIN."""

import pytest

from tests.support.outbox import OWN, Outbox, claim_record, new_id
from tests.support.roastery import PINS
from webapp.store import claims, ledger, people

FIVE_WRONG = ["808172", "808173", "808174", "808175", "808176"]


@pytest.fixture
def claim(bench, outbox):
    """Somebody claimed to be Ravi, on a tablet where Tomas was signed in last."""
    sent = claim_record(bench, "roaster")
    outbox("trainee").send_one(sent)
    return sent


def confirm(client, claim, pin):
    return client.post(f"/claims/{claim['id']}/confirm", json={"pin": pin}, headers=OWN)


def confirmations(bench):
    return list(bench.db.query("SELECT * FROM claim_confirmed"))


def test_it_confirms_by_the_pin_of_the_person_claimed(bench, client, claim):
    """Nobody need be signed in: a PIN says more than a session."""
    answer = confirm(client, claim, PINS["roaster"])
    made = claims.get_claim(bench.db, claim["id"])
    assert answer.get_json() == {
        "claim_id": claim["id"], "person": {"id": bench.people["roaster"], "name": "Ravi"},
        "claimed_at": made.claimed_at, "confirmed_at": made.confirmed_at,
    }  # fmt: skip
    assert made.confirmed_at
    assert list(ledger.faults(bench.db)) == []
    [line] = [x for x in bench.db.query("SELECT * FROM ledger") if x["kind"] == "claim_confirmed"]
    assert (line["person_id"], line["action"]) == (bench.people["roaster"], "claim confirmed by PIN")


def test_it_starts_no_session(bench, client, claim):
    before = list(bench.db.query("SELECT * FROM session"))
    answer = confirm(client, claim, PINS["roaster"])
    assert "Set-Cookie" not in answer.headers or "person" not in answer.headers["Set-Cookie"]
    assert list(bench.db.query("SELECT * FROM session")) == before
    assert Outbox(client).post([]).status_code == 401


@pytest.mark.parametrize("pin", [PINS["trainee"], PINS["lead"], "808172"])
def test_it_confirms_by_no_other_pin(bench, client, claim, pin):
    answer = confirm(client, claim, pin)
    assert (answer.status_code, answer.get_json()) == (
        403,
        {
            "error": "pin", "wait_seconds": 0, "tries_left": 4,
            "message": "That is not the PIN of Ravi. 4 more tries, then there is a wait.",
        },
    )  # fmt: skip
    assert not confirmations(bench)


def test_it_slows_down_after_five_wrong_pins_like_every_page(bench, client, claim):
    answers = [confirm(client, claim, pin) for pin in FIVE_WRONG]
    assert [a.status_code for a in answers] == [403] * 4 + [429]
    right = confirm(client, claim, PINS["roaster"])
    assert (right.status_code, right.get_json()["error"]) == (429, "pin_wait")
    assert 1 <= int(right.headers["Retry-After"]) == right.get_json()["wait_seconds"] <= 30
    assert "Too many wrong PINs for Ravi" in right.get_json()["message"]
    assert not confirmations(bench)


def test_it_shares_its_count_with_the_sign_in(bench, client, claim):
    """No second ladder: tries here count there."""
    for pin in FIVE_WRONG:
        confirm(client, claim, pin)
    page = client.post("/sign-in", data={"person": bench.people["roaster"], "pin": PINS["roaster"]})
    assert page.status_code == 429


@pytest.mark.parametrize("pin", [None, "", "12345", "1234567", "12345a", "３１４１５９", 314159, ["314159"], {}])
def test_it_counts_nothing_that_is_no_pin(bench, client, claim, pin):
    answer = confirm(client, claim, pin)
    assert (answer.status_code, answer.get_json()["problems"]) == (
        422, [{"field": "pin", "message": "A PIN has six digits."}],
    )  # fmt: skip
    assert not list(bench.db.query("SELECT * FROM pin_guard"))


def test_it_confirms_once_when_it_is_sent_twice(bench, client, claim):
    answers = [confirm(client, claim, PINS["roaster"]).get_json() for _ in range(3)]
    assert answers[0] == answers[1] == answers[2]
    assert len(confirmations(bench)) == 1


def test_it_keeps_the_first_moment_when_it_is_confirmed_again_later(bench, client, claim, clock):
    first = confirm(client, claim, PINS["roaster"]).get_json()
    clock(minutes=30)
    assert confirm(client, claim, PINS["roaster"]).get_json() == first
    assert len(confirmations(bench)) == 2


def test_it_knows_no_claim_that_was_never_sent(client, bench):
    answer = confirm(client, {"id": new_id()}, PINS["roaster"])
    assert (answer.status_code, answer.get_json()) == (404, {"error": "not_found"})
    assert not list(bench.db.query("SELECT * FROM pin_guard"))


def test_it_confirms_nobody_who_has_left(bench, client, claim):
    people.change_person(
        bench.db, bench.people["roaster"], "Ravi", "roaster", False, bench.who("lead"), bench.now
    )
    assert confirm(client, claim, PINS["roaster"]).status_code == 403
    assert not confirmations(bench)
