"""A new PIN, set by a lead or by oneself."""

import pytest

from tests.support.roastery import PINS
from webapp.store import ledger

NEW = {"pin": "835170", "pin_again": "835170"}


def test_it_lets_a_lead_set_a_forgotten_pin(sign_in, bench, client, enter):
    for _ in range(5):
        enter(client, "roaster", "808172")
    answer = sign_in("lead").post(f"/people/{bench.people['roaster']}/pin", data=NEW)
    assert (answer.status_code, answer.location) == (303, "/people")
    assert enter(client, "roaster").status_code == 200
    assert enter(client, "roaster", NEW["pin"]).status_code == 303
    assert list(ledger.faults(bench.db)) == []


def test_it_ends_the_persons_sessions(sign_in, bench, app):
    roaster, lead = sign_in("roaster"), app.test_client()
    other = sign_in("lead").post("/tablets/code").text.split('class="code num">')[1][:9]
    lead.post("/enrol", data={"code": other, "tablet_name": "Other"})
    lead.post("/sign-in", data={"person": bench.people["lead"], "pin": PINS["lead"]})
    roaster.post("/sign-in", data={"person": bench.people["roaster"], "pin": PINS["roaster"]})
    assert roaster.get("/me").status_code == 200
    lead.post(f"/people/{bench.people['roaster']}/pin", data=NEW)
    assert roaster.get("/me").status_code == 303


def test_it_keeps_a_lead_signed_in_who_sets_their_own(sign_in, bench):
    lead = sign_in("lead")
    lead.post(f"/people/{bench.people['lead']}/pin", data=NEW)
    assert lead.get("/people").status_code == 200


def test_it_lets_everybody_change_their_own(sign_in, enter, client):
    trainee = sign_in("trainee")
    answer = trainee.post("/me/pin", data=NEW | {"pin_now": PINS["trainee"]}, follow_redirects=True)
    assert "Your new PIN counts from now on." in answer.text
    assert enter(client, "trainee", NEW["pin"]).status_code == 303


def test_it_wants_the_old_pin_first(sign_in, enter, client):
    trainee = sign_in("trainee")
    assert "Type the PIN you have now." in trainee.post("/me/pin", data=NEW).text
    for _ in range(4):
        answer = trainee.post("/me/pin", data=NEW | {"pin_now": "808172"})
        assert "That is not the PIN of Tomas." in answer.text
    assert "Wait 30 seconds" in trainee.post("/me/pin", data=NEW | {"pin_now": "808172"}).text
    assert enter(client, "trainee", NEW["pin"]).status_code == 429


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        ({"pin": "654321", "pin_again": "654321"}, "easy guess"),
        ({"pin": "835170", "pin_again": "835171"}, "The two PINs differ."),
        ({}, "Choose a PIN of six digits."),
    ],
)
def test_it_refuses_an_unfit_pin(sign_in, bench, answers, words):
    assert words in sign_in("lead").post(f"/people/{bench.people['roaster']}/pin", data=answers).text
    assert words in sign_in("roaster").post("/me/pin", data=answers | {"pin_now": PINS["roaster"]}).text
