"""An empty bench: one page makes the site, the first lead and the first tablet, and closes itself."""

import pytest

from tests.support.pages import Page
from webapp.store import codes, ledger
from webapp.store.connect import connect
from webapp.store.people import list_people
from webapp.store.site import get_site
from webapp.store.times import now
from webapp.store.who import SYSTEM


@pytest.fixture
def empty_db(empty_path):
    db = connect(empty_path)
    yield db
    db.close()


@pytest.fixture
def code(empty_db) -> str:
    return codes.make_code(empty_db, "setup", SYSTEM, now()).text


@pytest.fixture
def stranger(empty_app):
    return empty_app.test_client()


def filled(with_code: str, **changes: str) -> dict[str, str]:
    answers = {
        "code": with_code,
        "site_name": "Kiln Street",
        "time_zone": "Europe/Vienna",
        "name": "Ada",
        "pin": "271828",
        "pin_again": "271828",
        "tablet_name": "Bench left",
    }
    return answers | changes


def test_it_leads_an_empty_bench_to_the_page(stranger):
    for path in ("/", "/people", "/sign-in", "/enrol", "/me"):
        answer = stranger.get(path)
        assert (answer.status_code, answer.location) == (303, "/setup")


def test_it_makes_site_lead_tablet_and_session_at_once(stranger, empty_db, code):
    answer = stranger.post("/setup", data=filled(code))
    assert (answer.status_code, answer.location) == (303, "/settings")
    assert get_site(empty_db).time_zone == "Europe/Vienna"
    assert [(p.name, p.role) for p in list_people(empty_db)] == [("Ada", "lead")]
    assert "Bench left" in stranger.page("/tablets").find("main")[0].text
    assert list(ledger.faults(empty_db)) == []


def test_it_closes_itself(stranger, empty_app, code):
    stranger.post("/setup", data=filled(code))
    for client in (stranger, empty_app.test_client()):
        assert client.get("/setup").status_code == 404
        assert client.post("/setup", data=filled(code, name="Mallory")).status_code == 404


def test_it_is_closed_on_a_bench_with_people(client):
    assert client.get("/setup").status_code == 404


def test_it_takes_the_code_as_people_type_it(stranger, code):
    typed = f" {code.lower().replace('-', ' ')} "
    assert stranger.post("/setup", data=filled(typed)).status_code == 303


def test_it_refuses_a_wrong_code_and_makes_nothing(stranger, empty_db, code):
    answer = stranger.post("/setup", data=filled("ACDE-FGHJ-KMNP"))
    assert "This code is wrong, used, or too old." in answer.text
    assert get_site(empty_db) is None
    assert not list_people(empty_db)


def test_it_shows_what_was_typed_again_except_pins(stranger, code):
    answer = stranger.post("/setup", data=filled("wrong", site_name="Kiln Street 7"))
    assert 'value="Kiln Street 7"' in answer.text
    assert "271828" not in answer.text


def test_it_slows_down_after_wrong_codes_and_takes_the_right_one_after_the_wait(stranger, code, clock):
    for _ in range(5):
        answer = stranger.post("/setup", data=filled("ACDE-FGHJ-KMNP"))
    assert answer.status_code == 429
    assert "Too many wrong codes. Wait 30 seconds, then try again." in answer.text
    assert stranger.post("/setup", data=filled(code)).status_code == 429
    clock(seconds=31)
    assert stranger.post("/setup", data=filled(code)).status_code == 303


def test_it_does_not_use_the_code_up_while_another_field_is_wrong(stranger, code):
    answer = stranger.post("/setup", data=filled(code, pin_again="271829"))
    assert "The two PINs differ." in answer.text
    assert "This code is wrong" not in answer.text
    assert stranger.post("/setup", data=filled(code)).status_code == 303


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"pin": "123456", "pin_again": "123456"}, "easy guess"),
        ({"pin": "27182", "pin_again": "27182"}, "A PIN has six digits."),
        ({"time_zone": "Middle/Earth"}, "There is no time zone of this name."),
        ({"time_zone": "../etc/passwd"}, "There is no time zone of this name."),
        ({"name": ""}, "Type your name."),
        ({"name": "x" * 61}, "Use at most 60 characters."),
        ({"site_name": " "}, "Say what the roastery is called."),
        ({"tablet_name": ""}, "Give this tablet a name"),
        ({"code": ""}, "Type the code."),
    ],
)
def test_it_says_beside_the_field_what_is_wrong(stranger, empty_db, code, change, words):
    answer = stranger.post("/setup", data=filled(code, **change))
    assert answer.status_code == 200
    assert words in answer.text
    assert Page(answer.text).find("div", class_="problems")
    assert not list_people(empty_db)


def test_it_forgives_how_a_time_zone_is_spelt(stranger, empty_db, code):
    stranger.post("/setup", data=filled(code, time_zone=" america/new york "))
    assert get_site(empty_db).time_zone == "America/New_York"


def test_it_ends_the_code_after_a_day(stranger, code, clock):
    clock(hours=24)
    assert "too old" in stranger.post("/setup", data=filled(code)).text


def test_it_ends_the_code_when_a_new_one_is_made(stranger, empty_db, code):
    codes.make_code(empty_db, "setup", SYSTEM, now())
    assert "This code is wrong" in stranger.post("/setup", data=filled(code)).text


def test_it_does_not_take_a_code_made_for_a_tablet(stranger, empty_db):
    other = codes.make_code(empty_db, "enrol", SYSTEM, now()).text
    assert "This code is wrong" in stranger.post("/setup", data=filled(other)).text


def test_it_keeps_only_the_codes_hash(empty_db, code):
    row = next(empty_db.query("SELECT * FROM one_time_code"))
    assert code.replace("-", "") not in str(row)
    assert code not in str(row)
