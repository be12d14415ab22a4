"""A bench over HTTPS, through the proxy as it is installed: what a tablet that trusts it gets, and one that does not.

Service workers need a connection without certificate errors (W3C Service Workers, "secure context"; the browser itself
is asked here).
"""

from __future__ import annotations

import shutil
import ssl
import subprocess
import urllib.error
import urllib.request
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from email.message import Message

import pytest
from playwright.sync_api import expect

from tests.deploy import chain as chains
from tests.deploy.chain import NAME
from tests.support.browser import ARGUMENTS, chromium
from tests.support.offline import KIT, READY
from webapp.store import connect, sessions
from webapp.store.who import Who
from webapp.upkeep import certificate

pytestmark = pytest.mark.skipif(shutil.which("caddy") is None, reason="Debian's caddy is not installed")


@pytest.fixture(scope="module")
def chain(templates, tmp_path_factory):
    """A small roastery behind Caddy with its own authority."""
    folder = tmp_path_factory.mktemp("chain")
    database = folder / "bench.db"
    shutil.copy(templates["roastery"], database)
    with chains.running(database, folder) as running:
        yield running


@dataclass
class Answer:
    """An answer, read to its end."""

    status: int
    headers: Message
    text: str


def fetch(chain, path, port=None, scheme="https", host=None) -> Answer:
    """An answer, over a line that checks certificate and name; a redirect is not followed."""
    context = ssl.create_default_context(cafile=str(chain.root))
    opener = urllib.request.build_opener(urllib.request.HTTPSHandler(context=context), Stay())
    address = f"{scheme}://127.0.0.1:{port or chain.https}{path}"
    request = urllib.request.Request(address, headers={"Host": host} if host else {})
    try:
        with opener.open(request, timeout=10) as answer:
            return Answer(answer.status, answer.headers, answer.read().decode())
    except urllib.error.HTTPError as refused:
        with refused:
            return Answer(refused.code, refused.headers, refused.read().decode())


class Stay(urllib.request.HTTPRedirectHandler):
    """Show a redirect instead of following it."""

    def redirect_request(self, *_args):
        """Not followed: urllib raises it as an answer."""
        return None


def test_its_certificate_is_the_authoritys_own_and_lasts_three_months(chain):
    seen = certificate.look(NAME, chain.root, chain.https, "127.0.0.1")
    assert seen.problem == ""
    left = seen.ends_at - datetime.now(UTC)
    assert timedelta(days=89) < left <= timedelta(days=90)
    assert certificate.look(NAME, None, chain.https, "127.0.0.1").ends_at is None


def test_it_answers_by_name_and_by_address_and_to_no_other_host(chain):
    assert fetch(chain, "/trust").status == 200
    # The proxy answers with nothing of the bench.
    assert fetch(chain, "/trust", host="elsewhere.test").text == ""


def test_without_https_there_is_the_page_of_trust_and_nothing_else(chain):
    page = fetch(chain, "/trust", port=chain.http, scheme="http").text
    assert certificate.fingerprint(chain.root) in page
    given = fetch(chain, "/trust/certificate", port=chain.http, scheme="http")
    assert given.headers["Content-Type"] == "application/x-x509-ca-cert"
    assert given.text.strip() == chain.root.read_text().strip()
    for path in ("/", "/sign-in", "/records", "/kit"):
        moved = fetch(chain, path, port=chain.http, scheme="http")
        assert moved.status == 308
        assert moved.headers["Location"].startswith("https://")


def test_cookies_are_tied_to_https_and_to_this_host(chain):
    given = fetch(chain, "/enrol").headers.get_all("Set-Cookie")
    assert given
    for cookie in given:
        assert cookie.startswith("__Host-")
        assert "Secure" in cookie
        assert "HttpOnly" in cookie
        assert "Path=/" in cookie


@pytest.fixture(scope="module")
def profile(chain, tmp_path_factory):
    """A home folder whose browser trusts the authority, as a tablet does after the page of trust."""
    if shutil.which("certutil") is None:
        pytest.skip("certutil (libnss3-tools) is not installed")
    home = tmp_path_factory.mktemp("home")
    store = home / ".pki/nssdb"
    store.mkdir(parents=True)
    subprocess.run(["certutil", "-N", "-d", f"sql:{store}", "--empty-password"], check=True)
    subprocess.run(
        ["certutil", "-A", "-d", f"sql:{store}", "-n", "bench", "-t", "C,,", "-i", str(chain.root)], check=True
    )
    return home


REGISTER = """() => {
  // The page's own rule: only an address made by this policy may become a worker.
  const policy = trustedTypes.createPolicy("drumside-worker", { createScriptURL: (address) => address });
  return navigator.serviceWorker.register(policy.createScriptURL("/sw.js"))
    .then(() => "registered", (error) => error.name);
}"""


def opened(kind, home, folder, **options):
    """A browser with a profile of its own, for which the bench's name leads to this machine."""
    return kind.launch_persistent_context(
        str(folder), executable_path=chromium(), env={"HOME": str(home)},
        args=[*ARGUMENTS, f"--host-resolver-rules=MAP {NAME} 127.0.0.1"], **options,
    )  # fmt: skip


def test_a_tablet_that_trusts_it_keeps_the_app_for_later(chain, profile, tmp_path, templates, browser):
    """Signed in over HTTPS: the worker comes, and a page opens when the network is gone."""
    made, now = templates["made"], datetime.now(UTC)
    db = connect.connect(chain.folder / "bench.db")
    lead = Who(made.people["lead"], "lead", made.tablet)
    tablet, secret = sessions.enrol_tablet(db, "Behind HTTPS", lead, now)
    token = sessions.start_session(db, made.people["roaster"], tablet, 12, now)
    db.close()
    cookies = [{"name": "__Host-tablet", "value": secret}, {"name": "__Host-person", "value": token}]
    context = opened(browser.browser_type, profile, tmp_path / "profile")
    context.add_cookies([cookie | {"url": chain.url, "secure": True} for cookie in cookies])
    page = context.pages[0]
    assert page.goto(f"{chain.url}/batches/new").status == 200
    assert page.evaluate("window.isSecureContext")
    page.evaluate(READY)
    page.evaluate(KIT)
    page.wait_for_load_state("networkidle")
    context.set_offline(True)
    page.goto(f"{chain.url}/batches/new")
    expect(page.locator("h1")).to_have_text("Start a batch", timeout=30_000)
    context.close()


def test_a_tablet_that_does_not_trust_it_is_warned_and_keeps_nothing(chain, tmp_path, browser):
    """Also behind a warning that was clicked away: no service worker, so nothing for the time without a network."""
    home = tmp_path / "home"
    home.mkdir()
    context = opened(browser.browser_type, home, tmp_path / "profile")
    with pytest.raises(Exception, match="ERR_CERT_AUTHORITY_INVALID"):
        context.pages[0].goto(f"{chain.url}/trust")
    context.close()
    context = opened(browser.browser_type, home, tmp_path / "clicked", ignore_https_errors=True)
    page = context.pages[0]
    assert page.goto(f"{chain.url}/trust").status == 200
    found = page.evaluate(REGISTER)
    context.close()
    assert found == "SecurityError"
