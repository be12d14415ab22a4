"""A lead changes name and role, or retires somebody. There is always a lead left."""

import pytest

from tests.support.pages import Page
from webapp.store import ledger, people


def change(client, bench, whom: str, **answers: str):
    return client.post(f"/people/{bench.people[whom]}", data=answers)


def test_it_changes_name_and_role(sign_in, bench):
    lead = sign_in("lead")
    answer = change(lead, bench, "trainee", name="Tomas K", role="roaster", active="y")
    assert (answer.status_code, answer.location) == (303, "/people")
    assert people.get_person(bench.db, bench.people["trainee"]).name == "Tomas K"
    assert people.get_person(bench.db, bench.people["trainee"]).role == "roaster"
    assert list(ledger.faults(bench.db)) == []


def test_it_shows_the_form_as_things_are(sign_in, bench):
    page = sign_in("lead").page(f"/people/{bench.people['trainee']}")
    assert [e.attrs["value"] for e in page.find("input", type="radio") if "checked" in e.attrs] == ["trainee"]
    assert "checked" in page.find("input", type="checkbox")[0].attrs


def test_it_retires_somebody_at_once(sign_in, bench):
    roaster = sign_in("roaster")
    assert roaster.get("/me").status_code == 200
    change(sign_in("lead"), bench, "roaster", name="Ravi", role="roaster")
    assert roaster.get("/me").status_code == 303
    page = Page(roaster.get("/sign-in").text)
    assert [e.attrs["data-name"] for e in page.find("input", type="radio")] == ["Ada", "Tomas"]


def test_it_takes_somebody_back(sign_in, bench, client, enter):
    lead = sign_in("lead")
    change(lead, bench, "roaster", name="Ravi", role="roaster")
    assert enter(client, "roaster").status_code == 200
    change(lead, bench, "roaster", name="Ravi", role="roaster", active="y")
    assert enter(client, "roaster").status_code == 303


@pytest.mark.parametrize("answers", [{"role": "roaster", "active": "y"}, {"role": "lead"}, {"role": "trainee"}])
def test_it_keeps_the_last_lead(sign_in, bench, answers):
    answer = change(sign_in("lead"), bench, "lead", name="Ada", **answers)
    assert "This is the only lead left. Make somebody else a lead first." in answer.text
    ada = people.get_person(bench.db, bench.people["lead"])
    assert (ada.role, ada.active) == ("lead", True)


def test_it_lets_a_lead_go_when_there_is_another(sign_in, bench):
    lead = sign_in("lead")
    change(lead, bench, "roaster", name="Ravi", role="lead", active="y")
    assert change(lead, bench, "lead", name="Ada", role="roaster", active="y").status_code == 303
    assert lead.get("/people").status_code == 403


def test_it_does_not_count_a_lead_who_has_left(sign_in, bench):
    lead = sign_in("lead")
    change(lead, bench, "roaster", name="Ravi", role="lead")
    assert "only lead left" in change(lead, bench, "lead", name="Ada", role="roaster", active="y").text


def test_it_refuses_the_name_of_somebody_who_works_here(sign_in, bench):
    answer = change(sign_in("lead"), bench, "trainee", name="RAVI", role="trainee", active="y")
    assert "There is somebody of this name." in answer.text
    assert 'value="RAVI"' in answer.text


def test_it_takes_the_short_checklist_from_a_new_trainee(sign_in, bench):
    people.set_habits(bench.db, bench.people["roaster"], True, True, bench.who(), bench.now)
    change(sign_in("lead"), bench, "roaster", name="Ravi", role="trainee", active="y")
    ravi = people.get_person(bench.db, bench.people["roaster"])
    assert (ravi.auto_point, ravi.short_checklist) == (True, False)
