"""The lead's list of tablets; a revoked one is out at once."""

from tests.support.pages import Page
from webapp.store import ledger, sessions
from webapp.store.who import SYSTEM


def test_it_lists_tablets_with_who_used_them_last(sign_in, bench):
    sessions.enrol_tablet(bench.db, "Spare", SYSTEM, bench.now)
    text = " ".join(sign_in("lead").page("/tablets").find("main")[0].text.split())
    assert "Bench tablet this one Last used" in text
    assert "by Ada" in text
    assert "Spare Enrolled" in text
    assert "not used yet" in text


def test_it_ends_every_session_on_a_revoked_tablet(sign_in, bench, app):
    spare, secret = sessions.enrol_tablet(bench.db, "Spare", SYSTEM, bench.now)
    token = sessions.start_session(bench.db, bench.people["roaster"], spare, 12, bench.now)
    other = app.test_client()
    other.set_cookie("tablet", secret)
    other.set_cookie("person", token)
    assert other.get("/me").status_code == 200
    answer = sign_in("lead").post(f"/tablets/{spare}/revoke", follow_redirects=True)
    assert "The tablet is revoked." in answer.text
    for path in ("/me", "/sign-in", "/"):
        assert Page(other.get(path).text).find("h1")[0].text == "This tablet is not enrolled"
    assert list(ledger.faults(bench.db)) == []


def test_it_lets_nobody_sign_in_on_a_revoked_tablet(sign_in, bench, client, enter):
    sign_in("lead").post(f"/tablets/{bench.tablet}/revoke")
    assert enter(client, "roaster").status_code == 403
    assert client.get_cookie("person") is None


def test_it_revokes_a_tablet_once(sign_in, bench):
    lead = sign_in("lead")
    spare, _secret = sessions.enrol_tablet(bench.db, "Spare", SYSTEM, bench.now)
    assert lead.post(f"/tablets/{spare}/revoke").status_code == 303
    assert lead.post(f"/tablets/{spare}/revoke").status_code == 404


def test_it_keeps_a_revoked_tablet_in_the_list(sign_in, bench):
    spare, _secret = sessions.enrol_tablet(bench.db, "Spare", SYSTEM, bench.now)
    lead = sign_in("lead")
    lead.post(f"/tablets/{spare}/revoke")
    assert "Revoked" in lead.page("/tablets").find("li")[-1].text


def test_it_lets_a_lead_end_a_tablets_wait(sign_in, bench, client, enter, clock):
    spare, secret = sessions.enrol_tablet(bench.db, "Spare", SYSTEM, bench.now)
    client.set_cookie("tablet", secret)
    for n in range(20):
        answer = enter(client, ("roaster", "trainee")[n % 2], "808172")
        if "PINs on this tablet" not in answer.text:
            clock(seconds=int(answer.headers.get("Retry-After", 0)))
    assert "Too many wrong PINs on this tablet." in answer.text
    assert enter(client, "lead").status_code == 429
    boss = sign_in("lead")
    token = sessions.start_session(bench.db, bench.people["lead"], bench.tablet, 12, clock())
    boss.set_cookie("person", token)
    assert "nobody can sign in for 30 seconds" in boss.page("/tablets").find("main")[0].text
    boss.post(f"/tablets/{spare}/unlock")
    assert enter(client, "lead").status_code == 303
