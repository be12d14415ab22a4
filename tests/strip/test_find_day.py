"""From the date field to a day's own address."""

import pytest

from tests.strip.days import at
from webapp.store import times


def test_it_goes_to_the_day(sign_in):
    answer = sign_in("trainee").get("/days?day=2026-05-14")
    assert (answer.status_code, answer.location) == (303, "/days/2026-05-14")


def test_it_goes_to_today_by_todays_own_address(sign_in, monkeypatch):
    monkeypatch.setattr(times, "now", lambda: at("12:00"))
    assert sign_in("trainee").get("/days?day=2026-05-14").location == "/"


@pytest.mark.parametrize("typed", ["", "soon", "2026-02-30", "14.5.2026"])
def test_it_asks_again_in_plain_words_and_keeps_what_was_typed(sign_in, typed):
    page = sign_in("trainee").page(f"/days?day={typed}", 400)
    assert page.find("title")[0].text.startswith("Error: ")
    assert page.find("input", name="day")[0].attrs["value"] == typed
    assert "Choose a day of the calendar" in page.find("a", href="#day-field")[0].text
