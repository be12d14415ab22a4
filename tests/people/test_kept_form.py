"""A form sent without a live session waits for the PIN and goes on afterwards: nothing typed is lost."""

import pytest

from tests.support.pages import Page
from tests.support.roastery import PINS
from webapp.store.people import get_person, list_people
from webapp.store.site import get_site

HABITS = {"auto_point": "y", "short_checklist": "y"}


def hidden(html: str) -> list[tuple[str, str]]:
    """The hidden fields of the page's own form, in order."""
    page = Page(html)
    return [(e.attrs["name"], e.attrs.get("value", "")) for e in page.find("input", type="hidden")]


def send_on(client, answer):
    """Press the one button of the page that follows the PIN."""
    form = Page(answer.text).find("form", method="post")[0]
    data: dict[str, list[str]] = {}
    for name, value in hidden(answer.text):
        data.setdefault(name, []).append(value)
    return client.post(form.attrs["action"], data=data)


def with_pin(answer, **more: str) -> dict[str, list[str]]:
    """The PIN page's own fields, and the PIN."""
    data: dict[str, list[str]] = {}
    for name, value in hidden(answer.text):
        data.setdefault(name, []).append(value)
    return data | {k: [v] for k, v in more.items()}


def test_it_goes_on_after_the_sign_in(client, bench, enter, clock):
    enter(client, "roaster")
    clock(minutes=12)
    waiting = client.post("/me", data=HABITS)
    assert waiting.status_code == 403
    assert "What you typed is not stored yet." in waiting.text
    welcome = client.post("/sign-in", data=with_pin(waiting, person=bench.people["roaster"], pin=PINS["roaster"]))
    assert Page(welcome.text).find("h1")[0].text == "Welcome back"
    assert "What you typed is still here." in welcome.text
    assert not get_person(bench.db, bench.people["roaster"]).auto_point
    assert send_on(client, welcome).status_code == 303
    assert get_person(bench.db, bench.people["roaster"]).auto_point


def test_it_survives_a_wrong_pin(client, bench, enter, clock):
    enter(client, "roaster")
    clock(minutes=12)
    again = client.post("/me", data=HABITS)
    for _ in range(3):
        again = client.post("/sign-in", data=with_pin(again, person=bench.people["roaster"], pin="808172"))
        assert "What you typed is not stored yet." in again.text
    welcome = client.post("/sign-in", data=with_pin(again, person=bench.people["roaster"], pin=PINS["roaster"]))
    send_on(client, welcome)
    assert get_person(bench.db, bench.people["roaster"]).auto_point


def test_it_says_in_whose_name_it_goes_on_and_that_person_stores_it(client, bench, enter, clock):
    enter(client, "roaster")
    clock(minutes=12)
    waiting = client.post("/me", data=HABITS)
    welcome = client.post("/sign-in", data=with_pin(waiting, person=bench.people["lead"], pin=PINS["lead"]))
    assert "in the name of Ada" in welcome.text
    send_on(client, welcome)
    assert get_person(bench.db, bench.people["lead"]).auto_point
    assert not get_person(bench.db, bench.people["roaster"]).auto_point
    line = next(bench.db.query("SELECT * FROM ledger ORDER BY seq DESC LIMIT 1"))
    assert line["person_id"] == bench.people["lead"]


def test_it_goes_on_after_a_leads_pin(sign_in, bench, clock):
    lead = sign_in("lead")
    clock(minutes=10)
    typed = {"site_name": "Kiln Street 9", "time_zone": "Europe/Vienna", "idle_minutes": "15", "shift_hours": "9"}
    waiting = lead.post("/site", data=typed)
    assert Page(waiting.text).find("h1")[0].text == "Your PIN once more, Ada"
    thanks = lead.post("/confirm", data=with_pin(waiting, pin=PINS["lead"]))
    assert "in the name of Ada" in thanks.text
    send_on(lead, thanks)
    assert get_site(bench.db).name == "Kiln Street 9"


def test_it_goes_on_when_the_session_ends_at_the_leads_pin(sign_in, bench, clock):
    lead = sign_in("lead")
    clock(minutes=10)
    typed = {"site_name": "Kiln Street 9", "time_zone": "Europe/Vienna", "idle_minutes": "15", "shift_hours": "9"}
    waiting = lead.post("/site", data=typed)
    clock(minutes=12)
    waiting = lead.post("/confirm", data=with_pin(waiting, pin=PINS["lead"]))
    welcome = lead.post("/sign-in", data=with_pin(waiting, person=bench.people["lead"], pin=PINS["lead"]))
    send_on(lead, welcome)
    assert get_site(bench.db).name == "Kiln Street 9"


@pytest.mark.parametrize(
    "typed",
    ["61,4", " 61.4 ", "", 'a "quote" & <b>', "line one\r\nline two", "\nstarts with a break", "ümläut ☕ 茶", "'; --"],
)
def test_it_keeps_every_value_as_it_was_typed(client, typed):
    answer = client.post("/me", data={"note": typed})
    fields = [v for n, v in hidden(answer.text) if n == "kept_value"]
    assert [f.replace("\r\n", "\n") for f in fields] == [typed.replace("\r\n", "\n")]


def test_it_keeps_several_values_of_one_name_in_their_order(client):
    answer = client.post("/me?from=here", data={"reading": ["56.1", "56.2", "56.1"], "fill": "1"})
    fields = hidden(answer.text)
    assert [v for n, v in fields if n == "kept_value"] == ["56.1", "56.2", "56.1", "1"]
    assert [v for n, v in fields if n == "kept_name"] == ["reading", "reading", "reading", "fill"]
    assert ("kept_path", "/me?from=here") in fields


def test_it_never_writes_a_pin_into_the_page(sign_in, clock):
    lead = sign_in("lead")
    clock(minutes=10)
    typed = {"name": "Mira", "role": "roaster", "pin": "835170", "pin_again": "835170"}
    waiting = lead.post("/people/new", data=typed)
    assert "835170" not in waiting.text
    thanks = lead.post("/confirm", data=with_pin(waiting, pin=PINS["lead"]))
    assert PINS["lead"] not in thanks.text
    answer = send_on(lead, thanks)
    assert 'value="Mira"' in answer.text
    assert "Choose a PIN of six digits." in answer.text


@pytest.mark.parametrize(
    "target",
    ["https://elsewhere.example/me", "//elsewhere.example/me", "/\\elsewhere.example", "\t//elsewhere.example",
     "javascript:alert(1)", "/no-such-page", "/people", "", "/sign-in", "/\n/elsewhere.example"],
)  # fmt: skip
def test_it_sends_on_only_to_a_form_of_this_app(client, bench, target):
    data = {"kept_path": target, "kept_name": "a", "kept_value": "b", "person": bench.people["roaster"]}
    answer = client.post("/sign-in", data=data | {"pin": PINS["roaster"]})
    assert (answer.status_code, answer.location) == (303, "/")


def test_it_needs_a_form_token_of_its_own(app, client, bench, enter, clock):
    enter(client, "roaster")
    app.config["WTF_CSRF_ENABLED"] = True
    clock(minutes=12)
    token = client.token("/sign-in")
    waiting = client.post("/me", data=HABITS | {"csrf_token": token})
    page = with_pin(waiting, person=bench.people["roaster"], pin=PINS["roaster"])
    welcome = client.post("/sign-in", data=page)
    assert "csrf_token" in dict(hidden(welcome.text))
    assert send_on(client, welcome).status_code == 303
    assert get_person(bench.db, bench.people["roaster"]).auto_point


def test_it_stores_nothing_for_somebody_without_the_role(client, bench, clock, sign_in):
    lead = sign_in("lead")
    clock(minutes=12)
    typed = {"name": "Mallory", "role": "lead", "pin": "835170", "pin_again": "835170"}
    waiting = lead.post("/people/new", data=typed)
    welcome = lead.post("/sign-in", data=with_pin(waiting, person=bench.people["roaster"], pin=PINS["roaster"]))
    assert send_on(lead, welcome).status_code == 403
    assert [p.name for p in list_people(bench.db)] == ["Ada", "Ravi", "Tomas"]
