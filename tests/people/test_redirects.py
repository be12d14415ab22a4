"""After the PIN one goes to a page of this app, whatever the address asks for."""

import pytest

from tests.support.pages import Page

ELSEWHERE = [
    "https://elsewhere.example/",
    "//elsewhere.example/",
    "///elsewhere.example/",
    "/\\elsewhere.example/",
    "\\\\elsewhere.example/",
    "/\t/elsewhere.example/",
    "/\t\\elsewhere.example/",
    "\t//elsewhere.example/",
    " //elsewhere.example/",
    "/\x00/elsewhere.example",
    "/\x7f/elsewhere.example",
    "javascript:alert(1)",
    "data:text/html,x",
    "elsewhere.example",
    "http:elsewhere.example",
    "",
]
# Steps of signing in: going back to them would ask again for ever.
STEPS = ["/sign-in", "/sign-in?next=/me", "/confirm?next=/me", "/lock", "/enrol", "/setup"]


@pytest.mark.parametrize("target", ELSEWHERE + STEPS)
def test_it_goes_to_the_day_strip_instead(client, enter, target):
    assert enter(client, "roaster", next=target).location == "/"


@pytest.mark.parametrize("target", ELSEWHERE + STEPS)
def test_it_offers_no_link_elsewhere(sign_in, target):
    client = sign_in("roaster")
    page = Page(client.get("/sign-in", query_string={"next": target}).text)
    back = next(e for e in page.find("a") if e.text.startswith("Back, still"))
    assert back.attrs["href"] == "/"


@pytest.mark.parametrize("target", ELSEWHERE)
def test_it_locks_towards_this_app_only(client, target):
    assert client.post("/lock", data={"next": target}).location == "/sign-in?next=/"


@pytest.mark.parametrize("target", ["/me", "/days/2026-05-14", "/batches?code=0514-11", "/me?note=%2F%2Felsewhere"])
def test_it_goes_to_a_page_of_this_app(client, enter, target):
    assert enter(client, "roaster", next=target).location == target
