"""What a tablet keeps of the app: whole, the same for everybody, and nobody's."""

import base64
import hashlib
import html
import json
import re

import pytest

from tests.conftest import SECRET
from tests.support.offline import release
from tests.support.roastery import NAMES, PINS
from webapp import assets, create_app
from webapp.config import Config


def told(client) -> dict:
    """What the worker is given of this release."""
    text = client.get("/sw.js").get_data(as_text=True)
    return json.loads(re.match(r"const RELEASE = (\{.*\});\n", text)[1])


# All that is kept besides static files.
PAGES = ("/shell", "/shell/new-batch", "/shell/capture", "/offline")


@pytest.fixture
def app(tmp_path, path):
    """An app with static files that nobody changes meanwhile."""
    return release(tmp_path, path)


def test_T14_the_worker_is_asked_for_anew_every_time(app):
    response = app.test_client().get("/sw.js")
    assert response.status_code == 200
    assert response.mimetype == "text/javascript"
    assert response.headers["Cache-Control"] == "no-cache"
    # At the root, so that its scope is the whole app.
    assert "Service-Worker-Allowed" not in response.headers


def test_it_lists_every_file_with_the_hash_that_the_server_sends(app):
    """Fetched one by one, as a tablet does: whatever does not fit keeps the whole release off the tablet."""
    client = app.test_client()
    files = told(client)["files"]
    assert len(files) > 60
    for address, integrity in files:
        with client.get(address) as response:
            assert response.status_code == 200, address
            digest = base64.b64encode(hashlib.sha256(response.data).digest()).decode()
        assert integrity == f"sha256-{digest}", address


def test_it_keeps_all_that_a_page_of_the_bench_loads(app):
    """Every script, style and picture there is, but for what only an install or a developer looks at."""
    names = {address.removeprefix(app.static_url_path + "/") for address, _hash in told(app.test_client())["files"]}
    there = {name for name, _path in assets.static_files(assets.Path(app.static_folder))}
    left_out = there - names
    assert {n for n in left_out if not n.startswith("screenshots/")} == {
        "sw.js", "sw-off.js", "icons/README.md", "icons/favicon.ico",
    }  # fmt: skip
    assert names - there == set(PAGES)


def test_T14_anything_that_changes_is_another_release(tmp_path, path, monkeypatch):
    first = told(release(tmp_path, path).test_client())["name"]
    assert told(release(tmp_path, path).test_client())["name"] == first
    changed = told(release(tmp_path, path, "another colour", "css/tokens.css").test_client())["name"]
    assert changed != first
    # The worker itself, a text in a page that is kept, the policy that goes with it.
    names = [told(release(tmp_path, path, "another worker", "sw.js").test_client())["name"]]
    app = release(tmp_path, path)
    app.jinja_env.globals["_"] = app.jinja_env.globals["gettext"] = lambda text, **_values: text.upper()
    names.append(told(app.test_client())["name"])
    monkeypatch.setattr(assets, "CSP", assets.CSP + "; sandbox")
    names.append(told(release(tmp_path, path).test_client())["name"])
    assert len({first, changed, *names}) == 5


@pytest.mark.parametrize("page", PAGES)
def test_T20_a_page_that_is_kept_is_the_same_for_everybody(app, bench, sign_in, page):
    bench.sample(bench.batch("0514-01").id, "whole", [56.2, 56.3, 56.1])
    asked = [app.test_client(), *(sign_in(role) for role in NAMES)]
    texts = {client.get(page).get_data(as_text=True) for client in asked}
    assert len(texts) == 1
    text = texts.pop()
    secrets = [*NAMES.values(), *PINS.values(), *bench.people.values(), bench.tablet, bench.product, "Lantern House"]
    secrets += ["0514-01", "56.2", "Machine 1", "Meter A", "Test roastery", "Europe/Vienna", "csrf"]
    assert [secret for secret in secrets if secret in text] == []
    assert "Set-Cookie" not in asked[1].get(page).headers


def test_it_gives_the_pages_of_an_open_page_from_another_build_by_their_names(app):
    client = app.test_client()
    with client.get("/static/0123456789ab/js/app.mjs") as old, client.get(f"{app.static_url_path}/js/app.mjs") as now:
        assert old.data == now.data
        assert old.headers["Cache-Control"] == "no-cache"
    for path in ("/static/0123456789ab/nothing.css", "/static/not-a-build/js/app.mjs", "/static/0123456789ab/../x"):
        assert client.get(path).status_code == 404


def test_it_lets_no_browser_keep_that_a_file_was_not_there(app):
    response = app.test_client().get(f"{app.static_url_path}/nothing.css")
    assert response.status_code == 404
    assert response.headers["Cache-Control"] == "no-store"


def test_it_takes_the_worker_away_when_it_is_switched_off(path, monkeypatch):
    monkeypatch.setenv("DRUMSIDE_DATABASE", str(path))
    monkeypatch.setenv("DRUMSIDE_SECRET_KEY", SECRET)
    monkeypatch.setenv("DRUMSIDE_WORKER", "off")
    client = create_app(Config.from_environment()).test_client()
    text = client.get("/sw.js").get_data(as_text=True)
    assert "unregister()" in text
    assert "indexedDB" not in text
    assert 'data-worker="off"' in client.get("/offline").get_data(as_text=True)


def test_it_says_every_sentence_of_the_shell_as_an_online_page_does(app):
    """Each text in webapp/shell/words.py stands word for word elsewhere, but for what only the shell has to say."""
    from webapp.shell import words

    others = "\n".join(
        path.read_text()
        for path in assets.Path(assets.__file__).parent.rglob("*")
        if path.suffix in (".py", ".html") and path.name != "words.py"
    )
    # A long text may be broken over lines; quotes may be escaped.
    others = re.sub(r'"\s*\n\s*"', "", others).replace("\\'", "'")
    with app.test_request_context():
        own = words.own_words()
        told_ = {k: v for k, v in words.words().items() if k not in own}
    texts = [text for value in told_.values() for text in (value if isinstance(value, list) else [value])]
    assert [text for text in texts if text not in others] == []


@pytest.mark.parametrize("only", ["", "new-batch", "capture"])
def test_it_lets_a_tablet_fetch_the_shells_scripts_all_at_once(app, only):
    """Whatever they import outright is named in the page's head, and is among what is kept."""
    from webapp.shell.scripts import IMPORT, modules
    from webapp.shell.views import FORMS, SCRIPTS

    client = app.test_client()
    text = client.get(f"/shell/{only}".rstrip("/")).get_data(as_text=True)
    named = re.findall(r'<link rel="modulepreload" href="([^"]+)">', text)
    assert set(named) <= {address for address, _hash in told(client)["files"]}
    names = {address.removeprefix(f"{app.static_url_path}/js/") for address in named}
    folder = assets.Path(app.static_folder) / "js"
    assert names == set(modules(folder, *SCRIPTS, *FORMS.get(only, ())))
    for name in names:
        found = {path[0] or path[1] for path in IMPORT.findall((folder / name).read_text())}
        written = set(re.findall(r'from "(\.[^"]+)"', (folder / name).read_text()))
        assert found == written, name
        for path in found:
            target = (folder / name).parent.joinpath(path).resolve().relative_to(folder.resolve()).as_posix()
            assert target in names, (name, path)


@pytest.mark.parametrize("only", ["new-batch", "capture"])
def test_it_gives_a_form_of_its_own_all_that_it_may_show(app, only):
    """No page of less than the whole shell lacks a page or a sentence that its scripts ask for by name."""
    client = app.test_client()
    whole, text = (client.get(address).get_data(as_text=True) for address in ("/shell", f"/shell/{only}"))
    assert len(text) < len(whole) / 2
    pages, all_pages = (set(re.findall(r'<template data-page="([^"]+)"', page)) for page in (text, whole))
    assert pages < all_pages
    wanted = {"no-kit", "broken", "unknown", "not-ready", "kit-line", "person", only}
    assert wanted | ({"gauges"} if only == "capture" else set()) == pages
    scripts = ["offline/shell", "offline/capture-fill", "offline/meter-state", "ui/gauge-geometry"]
    folder = assets.Path(app.static_folder) / "js"
    written = "\n".join((folder / f"{name}.mjs").read_text() for name in scripts)
    said = set(re.findall(r'words\.(?:say|count)\("(\w+)"', written))
    assert len(said) > 20
    told_ = json.loads(html.unescape(re.search(r'data-words="([^"]*)"', text)[1]))
    assert said <= set(told_)
