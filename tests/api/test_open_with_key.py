"""What opens the door for programs, and what does not; what they are told (RFC 6750, RFC 9457)."""

import pytest

from tests.conftest import application
from webapp.store import api_tokens, people
from webapp.ui import programs

# Every address, with an id that stands for nothing.
NOTHING = "00000000-0000-4000-8000-000000000000"
PATHS = ["/about", "/openapi.json", "/batches", f"/batches/{NOTHING}", "/waiting", "/products", f"/products/{NOTHING}",
         "/meters", f"/meters/{NOTHING}"]  # fmt: skip


def refused(answer, code):
    """A refusal in JSON, that nobody keeps."""
    assert answer.status_code == code
    assert answer.mimetype == "application/problem+json"
    assert answer.headers["Cache-Control"] == "no-store"
    said = answer.get_json()
    assert said["status"] == code
    assert said["title"]
    return said


def test_it_knows_every_route(app):
    """So that the tests below leave none out."""
    rules = {r.rule.removeprefix("/api/v1") for r in app.url_map.iter_rules() if r.rule.startswith("/api/")}
    assert {rule.replace("<uuid:batch_id>", NOTHING).replace("<uuid:product_id>", NOTHING)
            .replace("<uuid:meter_id>", NOTHING) for rule in rules} == set(PATHS)  # fmt: skip


@pytest.mark.parametrize("place", PATHS)
def test_it_wants_a_key_whoever_is_signed_in(sign_in, app, place):
    """A lead's session is no key: nobody's browser can be made to read for somebody else."""
    for client in (app.test_client(), *(sign_in(role) for role in ("trainee", "roaster", "lead"))):
        answer = client.get(f"/api/v1{place}")
        refused(answer, 401)
        assert answer.headers["WWW-Authenticate"] == 'Bearer realm="Drumside"'
        assert "Set-Cookie" not in answer.headers


def test_it_leaves_a_session_alone(bench, sign_in, program, clock):
    """A request with a key is nobody's: it keeps no session from going idle, even beside its cookies."""
    lead = sign_in("lead")
    (before,) = bench.db.query("SELECT last_seen_at FROM session")
    clock(minutes=5)
    assert lead.get("/api/v1/about", headers={"Authorization": f"Bearer {program.key}"}).status_code == 200
    assert list(bench.db.query("SELECT last_seen_at FROM session")) == [before]


WRONG = ["drumside_" + "A" * 43, "x", "drumside_", "drumside_" + "A" * 4000, "é" * 52, "' OR 1=1 --"]


@pytest.mark.parametrize("text", WRONG, ids=range(len(WRONG)))
def test_it_refuses_a_wrong_key(app, program, text):
    program.key = text
    answer = program.ask("/batches")
    refused(answer, 401)
    assert 'error="invalid_token"' in answer.headers["WWW-Authenticate"]


def test_it_takes_no_key_but_in_the_header(app, program):
    client = app.test_client()
    for name in ("access_token", "key", "token"):
        refused(client.get(f"/api/v1/batches?{name}={program.key}"), 401)
        assert refused(program.ask(f"/batches?{name}={program.key}"), 400)["errors"][0]["parameter"] == name
    for cookie in ("tablet", "person", "key"):
        client.set_cookie(cookie, program.key)
    refused(client.get("/api/v1/batches"), 401)
    for said in (program.key, f"Basic {program.key}", "Bearer", f"Bearer {program.key} x"):
        refused(client.get("/api/v1/batches", headers={"Authorization": said}), 401)
    twice = [("Authorization", f"Bearer {program.key}"), ("Authorization", "Bearer x")]
    refused(client.get("/api/v1/batches", headers=twice), 401)
    # The word before it is not told apart by capitals (RFC 9110, 11.1).
    assert client.get("/api/v1/about", headers={"Authorization": f"bearer {program.key}"}).status_code == 200


@pytest.mark.parametrize("place", ["/", "/settings", "/people", "/people/keys", "/export/file", "/kit", "/wall"])
def test_a_key_opens_nothing_else(program, place):
    answer = program.client.get(place, headers={"Authorization": f"Bearer {program.key}"})
    assert answer.status_code in (302, 303, 403)
    assert "Ada" not in answer.text


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE"])
@pytest.mark.parametrize("place", PATHS)
def test_it_only_reads(program, place, method):
    answer = program.ask(place, method)
    refused(answer, 405)
    assert set(answer.headers["Allow"].split(", ")) == {"GET", "HEAD"}


def test_it_answers_a_head_as_a_get_without_its_body(program, busy):
    asked, told = program.ask("/batches", "HEAD"), program.ask("/batches")
    assert asked.data == b""
    for name in ("Content-Type", "Content-Length", "ETag", "Cache-Control"):
        assert asked.headers[name] == told.headers[name]


@pytest.mark.parametrize("place", ["/", "/batches/x", "/batches/", "/nothing", f"/batches/{NOTHING}/readings"])
def test_it_says_in_json_that_there_is_nothing(program, place):
    refused(program.ask(place), 404)


@pytest.mark.parametrize("kind", ["batches", "products", "meters"])
def test_it_says_in_json_that_a_record_is_not_there(program, kind):
    refused(program.ask(f"/{kind}/{NOTHING}"), 404)


def test_it_says_in_json_what_broke_and_nothing_of_it(app, program, monkeypatch):
    monkeypatch.setitem(app.config, "PROPAGATE_EXCEPTIONS", False)
    monkeypatch.setattr("webapp.store.api_lists.begin", lambda *_a: 1 / 0)
    said = refused(program.ask("/batches"), 500)
    assert "zero" not in str(said)


def test_it_answers_under_its_own_names_alone(path):
    app = application(path)
    app.config["TRUSTED_HOSTS"] = ["bench.example"]
    refused(app.test_client().get("/api/v1/about", base_url="http://evil.example"), 400)


def test_it_lets_no_page_of_another_site_read(program):
    assert not [name for name in program.ask("/about").headers.keys() if name.lower().startswith("access-control")]  # noqa: SIM118


def test_it_writes_down_a_use_once_a_minute(bench, program, key_id, clock):
    def uses():
        return [(row["last_used_at"], row["requests"]) for row in bench.db.query("SELECT * FROM api_use")]

    programs._counted.clear()
    program.get("/about")
    first = uses()
    assert [requests for _at, requests in first] == [1]
    for _no in range(5):
        program.get("/about")
    assert uses() == first
    clock(seconds=61)
    program.get("/about")
    ((at, requests),) = uses()
    assert at > first[0][0]
    assert requests == 7


def test_it_reads_on_when_a_use_cannot_be_written_down(bench, program, key_id, monkeypatch):
    bench.db.conn.execute("CREATE TRIGGER full BEFORE INSERT ON api_use BEGIN SELECT RAISE(ABORT, 'full'); END")
    monkeypatch.setattr(api_tokens.sqlite3, "OperationalError", api_tokens.sqlite3.IntegrityError)
    assert program.ask("/about").status_code == 200


def test_it_goes_on_when_whoever_made_the_key_has_left(bench, program):
    """A key is the bench's, not its maker's: only revoking ends it."""
    people.add_person(bench.db, "Bo", "lead", "826491", bench.who("lead"), bench.now)
    people.change_person(bench.db, bench.people["lead"], "Ada", "lead", False, bench.who("lead"), bench.now)
    assert program.ask("/about").status_code == 200
