"""How the server is, as a lead reads it and as the command line says it: fine, worth a look, or to be acted on."""

import socket
import ssl
import threading
from datetime import UTC, datetime, timedelta

import pytest

from webapp.store import backups, connect, ledger, upkeep
from webapp.upkeep import certificate, state

trustme = pytest.importorskip("trustme")


@pytest.fixture
def place(path):
    """The bench's place, without HTTPS."""
    return state.Place(path, path.parent / "backups", "abc", None, None)


def how(db, place, now=None):
    """what -> (how, facts)."""
    lines = state.gather(db, place, now or datetime.now(UTC))
    return {line.what: (line.how, line.facts) for line in lines}


def test_it_asks_for_a_copy_a_trial_and_a_check_of_a_new_bench(db, place):
    found = how(db, place)
    assert found["copy"][0] == "act"
    assert found["trial"][0] == found["check"][0] == found["no_https"][0] == "look"
    assert found["engine"][0] == found["clock"][0] == found["space"][0] == "fine"


def test_it_is_content_with_what_was_done_lately_and_not_for_ever(db, place, bench):
    now = bench.now
    backups.make(place.database, place.backups, now)
    for what in ("backup", "trial", "check"):
        upkeep.note_chore(db, what, True, now, 12)
    assert {what: how(db, place, now)[what][0] for what in ("copy", "trial", "check")} == {
        "copy": "fine", "trial": "fine", "check": "fine",
    }  # fmt: skip
    found = how(db, place, now + timedelta(hours=31))
    assert (found["copy"][0], found["check"][0]) == ("act", "fine")
    found = how(db, place, now + timedelta(days=36))
    assert (found["trial"][0], found["check"][0]) == ("look", "look")


@pytest.mark.parametrize(("what", "line"), [("backup", "copy"), ("trial", "trial"), ("check", "check")])
def test_it_says_what_went_wrong(db, place, bench, what, line):
    backups.make(place.database, place.backups, bench.now)
    upkeep.note_chore(db, what, False, bench.now, None, "disk full")
    state_of, facts = how(db, place, bench.now)[line]
    assert (state_of, facts["problem"]) == ("act", "disk full")


def test_it_sees_a_clock_that_was_set_back(db, place, bench):
    with connect.write(db):
        ledger.note(db, "site changed", "site", "1", bench.now, None, None)
    assert how(db, place, bench.now)["clock"][0] == "fine"
    assert how(db, place, bench.now - timedelta(minutes=1))["clock"][0] == "fine"
    assert how(db, place, bench.now - timedelta(hours=1))["clock"][0] == "act"


class Server:
    """One TLS server on this machine."""

    def __init__(self, certificate_of: trustme.LeafCert) -> None:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        certificate_of.configure_cert(context)
        self.socket = socket.create_server(("127.0.0.1", 0))
        self.port = self.socket.getsockname()[1]
        self.context = context
        threading.Thread(target=self._answer, daemon=True).start()

    def _answer(self) -> None:
        while True:
            try:
                line, _who = self.socket.accept()
            except OSError:
                return
            try:
                with self.context.wrap_socket(line, server_side=True) as secured:
                    secured.recv(1)
            except OSError:
                pass

    def close(self) -> None:
        self.socket.close()


@pytest.fixture(scope="module")
def authority(tmp_path_factory):
    """A site's own authority (trustme, a library for tests), and its certificate in a file."""
    made = trustme.CA()
    file = tmp_path_factory.mktemp("authority") / "root.pem"
    made.cert_pem.write_to_path(str(file))
    return made, file


def test_it_reads_the_days_left_as_a_tablet_would(authority):
    made, file = authority
    ends = datetime.now(UTC).replace(microsecond=0) + timedelta(days=20)
    server = Server(made.issue_cert("bench.test", not_after=ends))
    seen = certificate.look("bench.test", file, server.port, "127.0.0.1")
    server.close()
    assert (seen.problem, seen.ends_at) == ("", ends)


def test_it_says_why_a_tablet_would_not_trust_it(authority):
    made, file = authority
    gone = datetime.now(UTC) - timedelta(days=1)
    cases = [
        (made.issue_cert("bench.test"), None, "local issuer"),  # an authority that nobody knows
        (made.issue_cert("other.test"), file, "Hostname mismatch"),
        (made.issue_cert("bench.test", not_before=gone - timedelta(days=9), not_after=gone), file, "expired"),
    ]
    for issued, trusted, said in cases:
        server = Server(issued)
        seen = certificate.look("bench.test", trusted, server.port, "127.0.0.1")
        server.close()
        assert seen.ends_at is None
        assert said in seen.problem, seen.problem


def test_it_says_that_nobody_answers():
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    assert certificate.look("bench.test", None, port, "127.0.0.1").problem == "Connection refused"


@pytest.mark.parametrize(("left", "wanted"), [(20, "fine"), (13, "look"), (2, "act")])
def test_it_warns_before_the_certificate_ends(db, place, monkeypatch, bench, left, wanted):
    ends = bench.now + timedelta(days=left, hours=1)
    monkeypatch.setattr(certificate, "look", lambda host, authority: certificate.Seen(host, ends))
    with_https = state.Place(place.database, place.backups, "abc", "bench.test", None)
    found = how(db, with_https, bench.now)["certificate"]
    assert (found[0], found[1]["days"]) == (wanted, left)


def test_a_lead_reads_it_on_a_page(sign_in, db, bench, path):
    backups.make(path, path.parent / "backups", bench.now)
    shown = sign_in("lead").get("/status").text
    said = "Nothing is urgent", "1 copy is kept", "flask try-restore"
    for words in said:
        assert words in shown, words
    assert ledger.head(db)[1] in shown


def test_the_command_says_the_same_and_fails_when_something_has_to_be_done(app, path, db, bench):
    done = app.test_cli_runner().invoke(args=["status"])
    assert done.exit_code == 1
    assert "ACT   Copy of the database: There is none yet." in done.output
    backups.make(path, path.parent / "backups", bench.now)
    done = app.test_cli_runner().invoke(args=["status"])
    assert done.exit_code == 0, done.output
    assert "ok    Engine: SQLite" in done.output
