"""Refreshing costs little: nothing written since, nothing drawn."""

import pytest

from tests.strip.days import DAY, at, batch, measured
from webapp.store import strip_days, times
from webapp.strip import views


@pytest.fixture(params=["/", f"/days/{DAY}", "/wall"])
def address(request, monkeypatch):
    """Each page that refreshes itself, on the afternoon of DAY."""
    monkeypatch.setattr(times, "now", lambda: at("15:00"))
    return request.param


def ask(client, address, tag=None):
    return client.get(address, headers={"If-None-Match": tag} if tag else {})


def test_it_answers_304_until_something_is_written(bench, sign_in, address):
    client = sign_in("trainee")
    first = ask(client, address)
    assert first.status_code == 200
    again = ask(client, address, first.headers["ETag"])
    assert (again.status_code, again.data) == (304, b"")
    measured(bench, "07:00", whole=0, ground=0)
    fresh = ask(client, address, first.headers["ETag"])
    assert fresh.status_code == 200
    assert fresh.headers["ETag"] != first.headers["ETag"]
    assert ask(client, address, fresh.headers["ETag"]).status_code == 304


def test_it_reads_no_batch_to_say_that_nothing_changed(bench, sign_in, address, monkeypatch):
    batch(bench, "07:00")
    client = sign_in("trainee")
    tag = ask(client, address).headers["ETag"]
    monkeypatch.setattr(strip_days, "get_day", lambda *_: pytest.fail("read the day"))
    monkeypatch.setattr(views, "make_page", lambda *_: pytest.fail("drew the page"))
    assert ask(client, address, tag).status_code == 304


def test_it_takes_the_tag_that_a_proxy_has_weakened(sign_in, address):
    client = sign_in("trainee")
    tag = ask(client, address).headers["ETag"]
    assert ask(client, address, "W/" + tag).status_code == 304


def test_its_page_carries_the_tag_for_the_script(sign_in, address):
    client = sign_in("trainee")
    tag = ask(client, address).headers["ETag"]
    day = client.page(address).find("div", id="day")[0]
    assert f'"{day.attrs["data-version"]}"' == tag


def test_it_is_a_new_page_on_a_new_day(sign_in, monkeypatch):
    client = sign_in("trainee")
    monkeypatch.setattr(times, "now", lambda: at("23:59"))
    tag = ask(client, "/").headers["ETag"]
    monkeypatch.setattr(times, "now", lambda: at("00:01", "2026-05-15"))
    assert ask(client, "/", tag).status_code == 200


def test_it_is_kept_in_no_cache(sign_in, address):
    assert ask(sign_in("trainee"), address).headers["Cache-Control"] == "no-store"
