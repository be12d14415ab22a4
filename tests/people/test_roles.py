"""Who may do what: a lead's routes are closed to everybody else, also when posted to directly."""

import uuid

import pytest

from webapp.people.blueprint import people as blueprint
from webapp.store import people, sessions

LEAD_GET = ["/settings", "/people", "/people/new", "/people/{person}", "/people/{person}/pin", "/tablets", "/site"]
LEAD_POST = [
    "/people/new", "/people/{person}", "/people/{person}/pin", "/people/{person}/unlock",
    "/tablets/code", "/tablets/{tablet}/revoke", "/tablets/{tablet}/unlock", "/site",
]  # fmt: skip
NEW = {"name": "Mallory", "role": "lead", "active": "y", "pin": "835170", "pin_again": "835170", "site_name": "Mine"}


@pytest.mark.parametrize("role", ["trainee", "roaster"])
@pytest.mark.parametrize("rule", LEAD_GET)
def test_it_shows_a_leads_page_to_a_lead_only(sign_in, bench, role, rule):
    path = rule.format(person=bench.people["roaster"], tablet=bench.tablet)
    assert sign_in(role).get(path).status_code == 403
    assert sign_in("lead").get(path).status_code == 200


@pytest.mark.parametrize("role", ["trainee", "roaster"])
@pytest.mark.parametrize("rule", LEAD_POST)
def test_it_changes_nothing_for_anybody_but_a_lead(sign_in, bench, role, rule):
    client = sign_in(role)
    before = list(bench.db.query("SELECT * FROM ledger")), list(bench.db.query("SELECT * FROM one_time_code"))
    path = rule.format(person=bench.people[role], tablet=bench.tablet)
    assert client.post(path, data=NEW).status_code == 403
    assert (list(bench.db.query("SELECT * FROM ledger")), list(bench.db.query("SELECT * FROM one_time_code"))) == before


@pytest.mark.parametrize("rule", LEAD_POST)
def test_it_changes_nothing_without_a_session_or_tablet(app, client, bench, rule):
    path = rule.format(person=bench.people["roaster"], tablet=bench.tablet)
    before = list(bench.db.query("SELECT * FROM ledger"))
    for caller in (client, app.test_client()):
        assert caller.post(path, data=NEW).status_code == 403
    assert list(bench.db.query("SELECT * FROM ledger")) == before


def test_it_changes_nothing_for_a_lead_whose_pin_is_long_ago(sign_in, bench, clock):
    lead = sign_in("lead")
    clock(minutes=10)
    before = list(bench.db.query("SELECT * FROM ledger"))
    for path in LEAD_POST:
        path = path.format(person=bench.people["roaster"], tablet=bench.tablet)
        assert lead.post(path, data=NEW).status_code == 403
    assert list(bench.db.query("SELECT * FROM ledger")) == before


def test_it_asks_for_the_pin_again_on_every_route_by_which_a_lead_changes_something(app):
    for rule in app.url_map.iter_rules():
        view = app.view_functions[rule.endpoint]
        if rule.endpoint.startswith(f"{blueprint.name}.") and view.open_to == "lead" and "POST" in rule.methods:
            assert view.confirmed, rule.endpoint


def test_it_does_not_let_a_role_in_the_form_through(sign_in, bench):
    client = sign_in("roaster")
    client.post("/me", data={"auto_point": "y", "role": "lead", "person_id": bench.people["lead"]})
    assert people.get_person(bench.db, bench.people["roaster"]).role == "roaster"
    assert not people.get_person(bench.db, bench.people["lead"]).auto_point


def test_it_takes_a_role_away_at_once(sign_in, bench):
    lead = sign_in("lead")
    people.add_person(bench.db, "Mira", "lead", "835170", bench.who("lead"), bench.now)
    people.change_person(bench.db, bench.people["lead"], "Ada", "roaster", True, bench.who("lead"), bench.now)
    assert lead.get("/people").status_code == 403


def test_it_knows_nobody_by_a_made_up_id(sign_in):
    lead = sign_in("lead")
    for path in (f"/people/{uuid.uuid4()}", f"/people/{uuid.uuid4()}/pin"):
        assert lead.get(path).status_code == 404
    for path in ("people/{}/unlock", "tablets/{}/revoke", "tablets/{}/unlock"):
        path = f"/{path.format(uuid.uuid4())}"
        assert lead.post(path).status_code == 404


def test_it_does_not_take_a_made_up_cookie(app, bench):
    real, lead = bench.tablet_secret, bench.people["lead"]
    for tablet, person in (("made up", "made up"), (real, "made up"), (real, lead)):
        client = app.test_client()
        client.set_cookie("tablet", tablet)
        client.set_cookie("person", person)
        assert client.get("/people").status_code in (303, 403)
        assert sessions.find_session(bench.db, person, bench.tablet, bench.now) is None
