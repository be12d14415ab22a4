"""Name, time zone, and how long a tablet stays open."""

import pytest

from webapp.store.site import Site, get_site

TYPED = {"site_name": "Kiln Street", "time_zone": "America/Bogota", "idle_minutes": "5", "shift_hours": "8"}


def test_it_changes_the_site(sign_in, bench):
    answer = sign_in("lead").post("/site", data=TYPED)
    assert (answer.status_code, answer.location) == (303, "/settings")
    assert get_site(bench.db) == Site("Kiln Street", "America/Bogota", 5, 8)


def test_it_shows_the_form_as_things_are(sign_in):
    page = sign_in("lead").page("/site")
    values = {e.attrs["name"]: e.attrs.get("value") for e in page.find("input", type="text")}
    assert values == {
        "site_name": "Test roastery", "time_zone": "Europe/Vienna", "idle_minutes": "10", "shift_hours": "12",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"idle_minutes": "0"}, "A whole number of minutes, 1 to 120."),
        ({"idle_minutes": "121"}, "A whole number of minutes, 1 to 120."),
        ({"idle_minutes": "5.5"}, "A whole number of minutes, 1 to 120."),
        ({"idle_minutes": "1e1"}, "A whole number of minutes, 1 to 120."),
        ({"idle_minutes": "٥"}, "A whole number of minutes, 1 to 120."),
        ({"idle_minutes": ""}, "A whole number of minutes, 1 to 120."),
        ({"shift_hours": "25"}, "A whole number of hours, 1 to 24."),
        ({"time_zone": "Kiln Street"}, "There is no time zone of this name."),
        ({"time_zone": ""}, "Say which time zone the roastery is in."),
        ({"site_name": " "}, "Say what the roastery is called."),
    ],
)
def test_it_says_beside_the_field_what_is_wrong(sign_in, bench, change, words):
    answer = sign_in("lead").post("/site", data=TYPED | change)
    assert words in answer.text
    assert get_site(bench.db).name == "Test roastery"


def test_it_locks_after_the_new_time(sign_in, client, enter, clock):
    sign_in("lead").post("/site", data=TYPED)
    enter(client, "roaster")
    clock(minutes=5.9)
    assert client.get("/me").status_code == 200
    clock(minutes=6.1)
    assert client.get("/me").status_code == 303
