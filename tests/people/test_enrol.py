"""A code that a lead has made turns one browser into a tablet of the bench."""

import pytest

from tests.support.pages import Page
from webapp.store import codes, sessions


@pytest.fixture
def code(sign_in) -> str:
    page = Page(sign_in("lead").post("/tablets/code").text)
    return page.find("p", class_="code")[0].text


@pytest.fixture
def stranger(app):
    return app.test_client()


def test_it_tells_a_stranger_how_to_enrol(stranger):
    for path in ("/", "/sign-in", "/me", "/people"):
        page = stranger.page(path, status=403)
        assert page.find("h1")[0].text == "This tablet is not enrolled"


def test_it_tells_a_stranger_who_posts_that_nothing_was_stored(stranger):
    assert "Nothing was stored." in stranger.post("/me").text


def test_it_shows_the_code_with_the_address(sign_in):
    answer = sign_in("lead").post("/tablets/code")
    assert "http://localhost/enrol" in answer.text
    code = Page(answer.text).find("p", class_="code")[0].text
    assert len(code) == 9
    assert set(code.replace("-", "")) <= set(codes.ALPHABET)


def test_it_enrols_a_tablet_which_can_then_sign_in(stranger, code, enter):
    answer = stranger.post("/enrol", data={"code": code, "tablet_name": "By the cooler"})
    assert (answer.status_code, answer.location) == (303, "/sign-in")
    assert enter(stranger, "roaster").status_code == 303
    assert stranger.get("/me").status_code == 200


def test_it_notes_which_lead_made_the_code(stranger, bench, code):
    stranger.post("/enrol", data={"code": code, "tablet_name": "By the cooler"})
    row = next(bench.db.query("SELECT * FROM tablet WHERE name = 'By the cooler'"))
    assert row["enrolled_by"] == bench.people["lead"]
    line = next(bench.db.query("SELECT * FROM ledger WHERE record_id = ?", (row["id"],)))
    assert line["person_id"] == bench.people["lead"]


def test_it_takes_a_code_once(stranger, app, code):
    stranger.post("/enrol", data={"code": code, "tablet_name": "One"})
    second = app.test_client().post("/enrol", data={"code": code, "tablet_name": "Two"})
    assert "This code is wrong, used, or too old." in second.text


def test_it_ends_the_code_after_ten_minutes(stranger, code, clock):
    clock(minutes=10)
    assert "too old" in stranger.post("/enrol", data={"code": code, "tablet_name": "Late"}).text


def test_it_slows_down_after_wrong_codes(stranger, app, code, clock):
    for guesser in (stranger, app.test_client(), stranger, app.test_client(), stranger):
        answer = guesser.post("/enrol", data={"code": "ACDE-FGHJ", "tablet_name": "X"})
    assert answer.status_code == 429
    assert "Wait 30 seconds" in answer.text
    assert app.test_client().post("/enrol", data={"code": code, "tablet_name": "X"}).status_code == 429
    clock(seconds=31)
    assert stranger.post("/enrol", data={"code": code, "tablet_name": "X"}).status_code == 303


def test_it_asks_for_a_name_and_keeps_the_code_good(stranger, code):
    assert "Give this tablet a name" in stranger.post("/enrol", data={"code": code, "tablet_name": ""}).text
    assert stranger.post("/enrol", data={"code": code, "tablet_name": "Named"}).status_code == 303


def test_it_says_so_on_a_tablet_that_is_enrolled(client, bench, code):
    assert client.page("/enrol").find("h1")[0].text == "This tablet is enrolled"
    client.post("/enrol", data={"code": code, "tablet_name": "Again"})
    assert len(sessions.all_tablets(bench.db)) == 1


def test_it_keeps_only_hashes(stranger, bench, code):
    stranger.post("/enrol", data={"code": code, "tablet_name": "Named"})
    kept = str([list(bench.db.query(f"SELECT * FROM {t}")) for t in ("one_time_code", "tablet")])
    assert code.replace("-", "") not in kept
    assert stranger.get_cookie("tablet").value not in kept
