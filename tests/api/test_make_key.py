"""A lead makes a key for a program, sees it once, and revokes it."""

import hashlib
import re
import uuid

import pytest

from tests.support.roastery import later
from webapp.store import api_tokens, ledger
from webapp.store.errors import AlreadyThere, NotFound

TEXT = re.compile(r"drumside_[A-Za-z0-9_-]{43}")


def shown(page):
    """What stands on a page."""
    return " ".join(page.find("main")[0].text.split())


def test_it_says_what_will_be_there(sign_in):
    assert "No key yet." in shown(sign_in("lead").page("/people/keys"))


def test_it_shows_the_key_once_and_keeps_its_hash_alone(sign_in, bench, path):
    lead = sign_in("lead")
    answer = lead.post("/people/keys", data={"id": str(uuid.uuid4()), "name": "Office screen"})
    (text,) = set(TEXT.findall(answer.text))
    assert text not in lead.get("/people/keys").text
    (row,) = bench.db.query("SELECT * FROM api_token")
    assert row["token_hash"] == hashlib.sha256(text.encode()).hexdigest()
    bench.db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    everything = path.read_bytes()
    assert row["token_hash"].encode() in everything
    assert text.removeprefix("drumside_").encode() not in everything
    assert list(ledger.faults(bench.db)) == []


def test_it_has_256_bits_that_differ_every_time(bench):
    """32 bytes of the system's random source, in base64url: 43 characters (RFC 4648, 5)."""
    made = {api_tokens.add_key(bench.db, str(uuid.uuid4()), "x", bench.who("lead"), bench.now) for _no in range(20)}
    assert len(made) == 20
    assert all(TEXT.fullmatch(text) for text in made)


def test_it_makes_one_key_when_the_form_is_sent_twice(sign_in, bench):
    lead, form = sign_in("lead"), {"id": str(uuid.uuid4()), "name": "Office screen"}
    assert TEXT.search(lead.post("/people/keys", data=form).text)
    again = lead.post("/people/keys", data=form, follow_redirects=True)
    assert "This key was made before" in again.text
    assert not TEXT.search(again.text)
    assert len(api_tokens.list_keys(bench.db)) == 1
    with pytest.raises(AlreadyThere):
        api_tokens.add_key(bench.db, form["id"], "Office screen", bench.who("lead"), bench.now)


@pytest.mark.parametrize("name", ["", "   ", "x" * 61, "a\x07b"])
def test_it_wants_to_know_what_it_is_for(sign_in, bench, name):
    answer = sign_in("lead").post("/people/keys", data={"id": str(uuid.uuid4()), "name": name})
    assert "Please look at this again" in answer.text
    assert not TEXT.search(answer.text)
    assert api_tokens.list_keys(bench.db) == []


def test_it_asks_before_it_revokes_and_then_does_it_once(sign_in, bench, program, key_id):
    lead = sign_in("lead")
    page = lead.page("/people/keys")
    assert "Yes, revoke Production plan" in shown(page)
    assert "Made" in shown(page)
    assert program.ask("/about").status_code == 200
    assert lead.post(f"/people/keys/{key_id}/revoke", follow_redirects=True).text.count("The key is revoked.") == 1
    assert program.ask("/about").status_code == 401
    after = shown(lead.page("/people/keys"))
    assert "by Ada" in after
    assert "Revoked" in after
    assert "Yes, revoke" not in after
    assert lead.post(f"/people/keys/{key_id}/revoke").status_code == 404
    with pytest.raises(NotFound):
        api_tokens.revoke_key(bench.db, key_id, bench.who("lead"), bench.now)
    assert list(ledger.faults(bench.db)) == []


def test_it_says_when_a_key_was_used(sign_in, program):
    lead = sign_in("lead")
    assert "Not used yet" in shown(lead.page("/people/keys"))
    program.get("/about")
    assert "Last used" in shown(lead.page("/people/keys"))


def test_it_lists_what_is_in_force_first(bench, program, key_id):
    other = str(uuid.uuid4())
    api_tokens.add_key(bench.db, other, "Second", bench.who("lead"), later(bench.now, minutes=1))
    api_tokens.revoke_key(bench.db, other, bench.who("lead"), later(bench.now, minutes=2))
    assert [key.id for key in api_tokens.list_keys(bench.db)] == [key_id, other]


def test_it_is_reached_from_the_settings(sign_in):
    assert sign_in("lead").page("/settings").find("a", href="/people/keys")
