"""No form is taken without the token of its own browser: another site cannot write in somebody's name."""

import re

import pytest

from tests.conftest import application
from tests.conventions.addresses import address
from tests.conventions.source import rules
from webapp.store import ledger, sessions

# Taken without a token, and why that harms nobody.
WITHOUT = {"people.lock": "locking is never wrong, also from a page that is older than the server's key"}

# Sent by a script as JSON, with the token in a header: refused as JSON. tests/sync/test_knock.py has every case.
AS_JSON = {"sync.take_records", "sync.confirm"}


@pytest.fixture
def lead(path, bench):
    """A lead whose browser has the cookies and whose forms need their tokens."""
    app = application(path)
    app.config["WTF_CSRF_ENABLED"] = True
    client = app.test_client()
    client.set_cookie("tablet", bench.tablet_secret)
    client.set_cookie("person", sessions.start_session(bench.db, bench.people["lead"], bench.tablet, 12, bench.now))
    return client


def posts(app, value_of):
    """(endpoint, address) of every route that takes a form."""
    return [(rule.endpoint, address(app, rule, value_of)) for rule, method in rules(app) if method == "POST"]


def test_it_refuses_every_form_without_a_token_in_plain_words(lead, value_of, bench):
    before = ledger.head(bench.db)
    refused = set()
    for endpoint, path in posts(lead.application, value_of):
        if endpoint in WITHOUT:
            continue
        for data in ({}, {"csrf_token": ""}, {"csrf_token": "made up"}):
            response = lead.post(path, data=data)
            if endpoint in AS_JSON:
                assert (response.status_code, response.get_json()) == (403, {"error": "content_type"})
                continue
            assert response.status_code == 400, (path, data)
            text = response.get_data(as_text=True)
            assert "This form is too old to send" in text
            assert "load the page again" in text
            for jargon in ("CSRF", "token is missing", "session", "Bad Request"):
                assert jargon not in re.sub(r"<[^>]+>", "", text)
        refused.add(endpoint)
    assert len(refused) > 20
    assert ledger.head(bench.db) == before


def test_it_refuses_the_token_of_another_browser(lead, bench):
    app = lead.application
    other = app.test_client()
    token = other.token("/enrol")
    response = lead.post("/gear/machines/new", data={"csrf_token": token, "name": "Machine 9"})
    assert response.status_code == 400


def test_it_takes_a_form_with_its_own_token(lead, bench):
    """Otherwise everything above would hold for a server that takes nothing at all."""
    page = lead.page("/gear/machines/new")
    (form_id,) = {e.attrs["value"] for e in page.find("input", name="id")}
    token = next(e.attrs["value"] for e in page.elements if e.attrs.get("name") == "csrf_token")
    response = lead.post("/gear/machines/new", data={"csrf_token": token, "id": form_id, "name": "Machine 9"})
    assert response.status_code == 303, response.get_data(as_text=True)
    assert bench.db.conn.execute("SELECT count(*) FROM machine WHERE name = 'Machine 9'").fetchone()[0] == 1


def test_it_takes_a_token_that_is_as_old_as_a_shift(lead):
    """A tablet may stay on one form for hours: the token has no end of its own, the session has."""
    assert lead.application.config["WTF_CSRF_TIME_LIMIT"] is None


def test_it_refuses_no_form_for_its_token_but_those(lead, value_of):
    for endpoint in WITHOUT:
        (path,) = [path for e, path in posts(lead.application, value_of) if e == endpoint]
        assert lead.post(path).status_code == 303


def test_it_asks_no_token_of_a_page(lead):
    assert lead.get("/").status_code == 200
