"""Choose who you are, type your PIN, and you are in."""

from tests.support.pages import Page
from webapp.store import people
from webapp.store.who import SYSTEM


def test_it_lists_everybody_who_works_here(client, bench):
    people.change_person(bench.db, bench.people["trainee"], "Tomas", "trainee", False, SYSTEM, bench.now)
    page = client.page("/sign-in")
    names = [e.attrs["data-name"] for e in page.find("input", type="radio")]
    assert names == ["Ada", "Ravi"]


def test_it_lets_in_with_the_right_pin_and_goes_where_one_wanted(client, enter):
    answer = enter(client, "roaster", next="/me")
    assert (answer.status_code, answer.location) == (303, "/me")
    assert "Ravi" in client.page("/me").find("h1")[0].text


def test_it_refuses_a_wrong_pin_in_words_and_keeps_who_was_chosen(client, enter):
    answer = enter(client, "roaster", "271828")
    page = Page(answer.text)
    assert "That is not the PIN of Ravi. 4 more tries, then there is a wait." in answer.text
    assert [e.attrs["data-name"] for e in page.find("input", type="radio") if "checked" in e.attrs] == ["Ravi"]
    assert client.get("/me").status_code == 303


def test_it_never_shows_the_pin_again(client, enter):
    assert "271828" not in enter(client, "roaster", "271828").text


def test_it_asks_for_a_person_and_six_digits_without_counting(client, bench):
    ravi = bench.people["roaster"]
    assert "Choose who you are." in client.post("/sign-in", data={"pin": "314159"}).text
    assert "Type your PIN." in client.post("/sign-in", data={"person": ravi}).text
    for pin in ("31415", "3141592", "31415x"):
        assert "A PIN has six digits." in client.post("/sign-in", data={"person": ravi, "pin": pin}).text
    assert not list(bench.db.query("SELECT * FROM pin_guard"))


def test_it_takes_nobody_who_has_left_or_never_was(client, bench):
    people.change_person(bench.db, bench.people["roaster"], "Ravi", "roaster", False, SYSTEM, bench.now)
    for person in (bench.people["roaster"], "nobody", "' OR 1=1 --"):
        assert client.post("/sign-in", data={"person": person, "pin": "314159"}).status_code == 200
    assert client.get("/me").status_code == 303


def test_it_gives_a_new_token_at_every_sign_in_and_ends_the_one_before(client, enter, app, bench):
    enter(client, "roaster")
    first = client.get_cookie("person").value
    enter(client, "roaster")
    assert client.get_cookie("person").value != first
    thief = app.test_client()
    thief.set_cookie("tablet", bench.tablet_secret)
    thief.set_cookie("person", first)
    assert thief.get("/me").status_code == 303


def test_it_changes_person_without_a_lock_between(client, enter):
    enter(client, "trainee")
    assert "Back, still Tomas" in client.page("/sign-in?next=/me").find("main")[0].text
    enter(client, "roaster")
    assert "Ravi" in client.page("/me").find("h1")[0].text


def test_it_keeps_who_is_signed_in_when_the_next_persons_pin_is_wrong(client, enter):
    enter(client, "trainee")
    enter(client, "roaster", "999111")
    assert "Tomas" in client.page("/me").find("h1")[0].text


def test_it_hides_its_cookies_from_scripts_and_other_sites(client, enter):
    cookies = enter(client, "roaster").headers.getlist("Set-Cookie")
    assert {c.partition("=")[0] for c in cookies} >= {"person", "tablet"}
    for cookie in cookies:
        assert "HttpOnly" in cookie
        assert "SameSite=Lax" in cookie
        assert "Path=/" in cookie


def test_it_ends_with_the_shift_however_busy(client, enter, clock):
    enter(client, "roaster")
    for _ten in range(12 * 6 - 1):
        clock(minutes=10)
        assert client.get("/me").status_code == 200
    clock(minutes=10)
    assert client.get("/me").status_code == 303


def test_it_stays_open_while_somebody_works(client, enter, clock):
    enter(client, "roaster")
    for _ten in range(12):
        clock(minutes=9)
        assert client.get("/me").status_code == 200


def test_it_ends_when_nobody_touches_the_tablet(client, enter, clock):
    enter(client, "roaster")
    clock(minutes=12)
    answer = client.get("/me")
    assert (answer.status_code, answer.location) == (303, "/sign-in?next=/me")
