"""A lead's change asks for the PIN again when it was entered more than ten minutes ago."""

from tests.support.roastery import PINS

CHANGES = ("/people/new", "/site")


def test_it_does_not_ask_right_after_sign_in(sign_in):
    lead = sign_in("lead")
    for path in CHANGES:
        assert lead.get(path).status_code == 200


def test_it_asks_after_ten_minutes_and_goes_on(sign_in, clock):
    lead = sign_in("lead")
    clock(minutes=10)
    for path in CHANGES:
        answer = lead.get(path)
        assert (answer.status_code, answer.location) == (303, f"/confirm?next={path}")
    assert lead.page("/confirm?next=/site").find("h1")[0].text == "Your PIN once more, Ada"
    answer = lead.post("/confirm", data={"pin": PINS["lead"], "next": "/site"})
    assert (answer.status_code, answer.location) == (303, "/site")
    assert lead.get("/site").status_code == 200


def test_it_lets_a_lead_look_without_asking(sign_in, clock):
    lead = sign_in("lead")
    clock(minutes=10)
    for path in ("/people", "/tablets", "/settings"):
        assert lead.get(path).status_code == 200


def test_it_refuses_a_wrong_pin_and_counts_it(sign_in, clock):
    lead = sign_in("lead")
    clock(minutes=10)
    for _ in range(4):
        answer = lead.post("/confirm", data={"pin": PINS["roaster"], "next": "/site"})
        assert "That is not the PIN of Ada." in answer.text
    answer = lead.post("/confirm", data={"pin": PINS["roaster"]})
    assert answer.status_code == 429
    assert lead.get("/site").status_code == 303


def test_it_becomes_a_sign_in_when_the_session_has_ended(sign_in, clock):
    lead = sign_in("lead")
    clock(minutes=12)
    answer = lead.get("/confirm?next=/site")
    assert "Who is at the tablet?" in answer.text
    answer = lead.post("/confirm", data={"pin": PINS["lead"], "next": "/site"})
    assert "Who is at the tablet?" in answer.text
    assert PINS["lead"] not in answer.text
