"""What goes with every answer: nothing inline, nothing from elsewhere, nothing personal in a cache."""

import re

import pytest

from tests.conftest import SECRET
from tests.conventions.source import rules
from tests.support.roastery import PINS
from webapp import create_app
from webapp.config import Config

# Written out: a word added to the policy in webapp/headers.py has to be added here, too.
CSP = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; "
    "object-src 'none'; require-trusted-types-for 'script'; trusted-types drumside-worker"
)


def assert_headers(response, what):
    """The headers of every answer, page or not."""
    headers = response.headers
    assert headers.getlist("Content-Security-Policy") == [CSP], what
    assert headers["X-Content-Type-Options"] == "nosniff", what
    # same-origin, not no-referrer: over HTTPS the form protection wants a Referer (Flask-WTF, csrf.py).
    assert headers["Referrer-Policy"] == "same-origin", what
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin", what
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin", what
    assert "camera=()" in headers["Permissions-Policy"], what
    assert "Access-Control-Allow-Origin" not in headers, what


# Pages without something of a person's on it, which a browser may keep if it asks again.
MAY_BE_ASKED_AGAIN = {"manifest", "worker", "shell.shell", "shell.form", "shell.offline", "earlier_static"}


def test_it_sends_them_with_every_page(sign_in, pages):
    """Every page there is, by a lead; the test client looks whether each is a sound page besides."""
    lead = sign_in("lead")
    seen = {}
    for endpoint, path in pages.items():
        with lead.get(path) as response:
            assert_headers(response, path)
            seen[endpoint] = response.status_code
            kept = response.headers["Cache-Control"]
            if endpoint == "static":
                assert kept == "public, max-age=31536000, immutable"
            elif endpoint in MAY_BE_ASKED_AGAIN:
                assert kept == "no-cache"
            else:
                assert kept == "no-store", path
    # Signed in, confirmed, with records that are there: every page is a page, but for those that send on or are closed.
    others = {"people.setup": 404, "strip.find_day": 400, "trends.product": 303}
    others["upkeep.authority_certificate"] = 404  # this bench has no authority of its own
    # A lead's session is no key for programs.
    others |= dict.fromkeys((e for e in pages if e.startswith("api.") and e != "api.show_keys"), 401)
    assert {e: s for e, s in seen.items() if s != 200} == others


@pytest.mark.parametrize("role", ["trainee", "roaster"])
def test_it_sends_them_with_what_is_refused(sign_in, pages, role):
    client = sign_in(role)
    for path in pages.values():
        with client.get(path) as response:
            assert_headers(response, path)
            if not any(word in path for word in ("static", "manifest", "/sw.js", "/shell", "/offline")):
                assert response.headers["Cache-Control"] == "no-store"


def test_it_sends_them_with_the_pages_of_a_tablet_and_of_a_stranger(app, client, pages):
    for who in (client, app.test_client()):
        for path in pages.values():
            with who.get(path) as response:
                assert_headers(response, path)


def test_it_sends_them_with_errors_and_redirects(sign_in, bench):
    lead = sign_in("lead")
    batch = bench.batch()
    for path, method, status in [
        ("/nothing", "GET", 404),
        (f"/batches/{batch.id}/decision", "GET", 405),
        ("/", "POST", 405),
        (f"/batches/{batch.id}/decision", "POST", 403),
        ("/batches/not-an-id", "GET", 404),
        ("/lock", "POST", 303),
        ("/static/0/nothing.css", "GET", 404),
    ]:
        response = lead.open(path, method=method)
        assert response.status_code == status, path
        assert_headers(response, path)
        assert response.headers["Cache-Control"] == "no-store"


def test_it_sends_them_with_a_form_that_is_too_large(sign_in):
    response = sign_in("lead").post("/batches/new", data={"note": "x" * (300 * 1024)})
    assert response.status_code == 413
    assert_headers(response, "too large")


def test_it_keeps_static_files_for_ever_under_an_address_that_changes_with_them(app):
    assert re.fullmatch(r"/static/[0-9a-f]{12}", app.static_url_path)
    with app.test_client().get(f"{app.static_url_path}/css/tokens.css") as response:
        assert response.headers["Cache-Control"] == "public, max-age=31536000, immutable"
        assert response.mimetype == "text/css"
    with app.test_client().get(f"{app.static_url_path}/js/app.mjs") as response:
        # A browser runs a module only under a JavaScript type (HTML standard, "fetch a single module script").
        assert response.mimetype in ("text/javascript", "application/javascript")


def test_it_serves_nothing_but_what_lies_in_the_static_folder(app):
    for name in ("../webapp/config.py", "..%2fwebapp%2fconfig.py", "%2e%2e/pyproject.toml", "/etc/passwd", "css"):
        with app.test_client().get(f"{app.static_url_path}/{name}") as response:
            assert response.status_code in (404, 308), name


def test_it_sets_cookies_that_no_script_reads_and_no_other_site_sends(app, bench, sign_in, pages):
    """HttpOnly, SameSite; over HTTPS also Secure with the prefix that ties them to this host (RFC 6265bis)."""

    client = app.test_client()
    client.set_cookie("tablet", bench.tablet_secret)
    response = client.post("/sign-in", data={"person": bench.people["roaster"], "pin": PINS["roaster"]})
    assert response.status_code == 303
    (cookie,) = [c for c in response.headers.getlist("Set-Cookie") if c.startswith("person=")]
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    assert "Path=/" in cookie


def test_it_ties_cookies_to_https_where_there_is_https(path, bench):

    app = create_app(Config(database=path, secret_key=SECRET, secure_cookies=True, testing=True))
    app.config["WTF_CSRF_ENABLED"] = False
    client = app.test_client()
    client.set_cookie("__Host-tablet", bench.tablet_secret, domain="localhost", secure=True)
    response = client.post(
        "/sign-in",
        data={"person": bench.people["roaster"], "pin": PINS["roaster"]},
        base_url="https://localhost",
    )
    assert response.status_code == 303
    (cookie,) = [c for c in response.headers.getlist("Set-Cookie") if "person=" in c]
    assert cookie.startswith("__Host-person=")
    assert "Secure" in cookie
    assert "HttpOnly" in cookie
    assert "Domain" not in cookie


def test_it_answers_only_to_its_own_names_when_they_are_set(path):

    app = create_app(Config(database=path, secret_key=SECRET, trusted_hosts=("bench.example",), testing=True))
    assert app.test_client().get("/enrol", base_url="http://bench.example").status_code == 200
    refused = app.test_client().get("/enrol", base_url="http://elsewhere.example")
    assert refused.status_code == 400


def test_it_has_every_route_among_the_pages(app, pages):
    assert set(pages) == {rule.endpoint for rule, method in rules(app) if method == "GET"}
