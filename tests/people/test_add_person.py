"""A lead adds somebody, who types their own PIN."""

import pytest

from tests.support.pages import Page
from webapp.store import ledger, people

MIRA = {"name": "Mira", "role": "roaster", "pin": "835170", "pin_again": "835170"}


def test_it_adds_a_person_who_can_sign_in(sign_in, client, bench):
    answer = sign_in("lead").post("/people/new", data=MIRA, follow_redirects=True)
    assert "Mira can sign in now." in answer.text
    mira = people.find_by_name(bench.db, "Mira")
    assert (mira.role, mira.active) == ("roaster", True)
    assert client.post("/sign-in", data={"person": mira.id, "pin": "835170"}).status_code == 303


def test_it_notes_who_added_them(sign_in, bench):
    sign_in("lead").post("/people/new", data=MIRA)
    line = ledger.history(bench.db, "person", people.find_by_name(bench.db, "Mira").id)[0]
    assert line["action"] == "person added"
    assert (line["person_id"], line["tablet_id"]) == (bench.people["lead"], bench.tablet)
    assert list(ledger.faults(bench.db)) == []


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"name": ""}, "Type a name."),
        ({"name": "   "}, "Type a name."),
        ({"name": "x" * 61}, "Use at most 60 characters."),
        ({"name": "a\x07b"}, "There is a character in this text that cannot be shown."),
        ({"name": " ravi "}, "There is somebody of this name."),
        ({"name": "RAVI"}, "There is somebody of this name."),
        ({"role": "owner"}, "Choose a role."),
        ({"role": ""}, "Choose a role."),
        ({"pin": "111111", "pin_again": "111111"}, "first guess"),
        ({"pin": "001999", "pin_again": "001999"}, "A year is an easy guess."),
        ({"pin": "83517", "pin_again": "83517"}, "A PIN has six digits."),
        ({"pin_again": "835171"}, "The two PINs differ."),
        ({"pin_again": ""}, "Type the PIN twice."),
    ],
)
def test_it_says_beside_the_field_what_is_wrong(sign_in, bench, change, words):
    answer = sign_in("lead").post("/people/new", data=MIRA | change)
    assert answer.status_code == 200
    assert words in answer.text
    assert Page(answer.text).find("div", class_="problems")
    assert "835170" not in answer.text
    assert len(people.list_people(bench.db, active_only=False)) == 3


def test_it_takes_names_of_any_script_and_length(sign_in, bench):
    for name in ("Þórunn Ólafsdóttir", "李小龍", "O'Neill & <Sons>", "x" * 60):
        assert sign_in("lead").post("/people/new", data=MIRA | {"name": name}).status_code == 303
        assert people.find_by_name(bench.db, name) is not None
    assert sign_in("lead").get("/people").status_code == 200
    assert sign_in("lead").get("/sign-in").status_code == 200


def test_it_gives_the_name_of_somebody_who_left_to_another(sign_in, bench):
    lead = sign_in("lead")
    lead.post(f"/people/{bench.people['roaster']}", data={"name": "Ravi", "role": "roaster"})
    assert lead.post("/people/new", data=MIRA | {"name": "Ravi"}).status_code == 303
