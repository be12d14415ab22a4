"""A decision takes the place of the one before: with a reason, by whoever may, having seen what stands."""

import uuid

import pytest

from tests.decisions.test_decide import decide, read
from tests.support.roastery import later
from webapp.store import decisions


def put(bench, batch, what, role, reason="because", minutes=0, **more):
    """A decision that is there already; its id."""
    decision_id, at = str(uuid.uuid4()), later(bench.now, minutes=minutes)
    decisions.add_decision(bench.db, decision_id, batch.id, what, reason, bench.who(role), at, **more)
    return decision_id


def whats(bench, batch):
    return [d.what for d in decisions.get_decisions(bench.db, batch.id)]


def test_it_shows_all_newest_first_with_what_took_whose_place(bench, sign_in):
    batch = read(bench, "inside")
    put(bench, batch, "hold", "roaster", "check the lot")
    put(bench, batch, "release", "lead", "the lot is right", minutes=1)
    for page in ("", "/result"):
        html = sign_in("trainee").get(f"/batches/{batch.id}{page}").get_data(as_text=True)
        made = html[html.index('class="plain decisions"'):]
        assert made.index("the lot is right") < made.index('class="past"') < made.index("check the lot")
        assert made.index("check the lot") < made.index("Superseded by Ada")


def test_it_asks_why_when_a_release_takes_the_place_of_a_hold(bench, sign_in):
    batch, client = read(bench, "inside"), sign_in("roaster")
    held = put(bench, batch, "hold", "roaster", "check the lot")
    html = client.get(f"/batches/{batch.id}/result").get_data(as_text=True)
    assert f'href="/batches/{batch.id}/decision/release"' in html
    assert "On hold by Ravi" in client.get(f"/batches/{batch.id}/decision/release").get_data(as_text=True)
    assert decide(client, batch, "release", "", seen=held).status_code == 422
    assert decide(client, batch, "release", "the lot is right", seen=held).status_code == 303
    assert whats(bench, batch) == ["hold", "release"]


@pytest.mark.parametrize("what", ["release", "hold", "remeasure"])
@pytest.mark.parametrize("decided", ["release", "hold", "remeasure", "reject", "concession"])
def test_it_leaves_to_a_lead_what_a_lead_decided(bench, sign_in, decided, what):
    batch = read(bench, "inside")
    seen = put(bench, batch, decided, "lead")
    assert decide(sign_in("roaster"), batch, what, seen=seen).status_code == 403
    assert decide(sign_in("lead"), batch, what, seen=seen).status_code == 303


@pytest.mark.parametrize("decided", ["reject", "concession"])
def test_it_takes_what_only_a_lead_could_decide_for_a_leads(bench, sign_in, decided):
    """Records from before roles were kept have none."""
    batch = read(bench, "inside")
    row = (str(uuid.uuid4()), batch.id, decided, "so", "inside", bench.people["lead"], bench.tablet)
    bench.db.conn.execute("INSERT INTO decision (id, batch_id, what, reason, verdict, person_id, tablet_id, made_at,"
                          " received_at) VALUES (?, ?, ?, ?, ?, ?, ?, '2026-05-14', '2026-05-14')", row)  # fmt: skip
    assert decide(sign_in("roaster"), batch, "hold", seen=row[0]).status_code == 403


def test_it_asks_again_when_another_decision_was_stored_meanwhile(bench, sign_in):
    batch, client = read(bench, "inside"), sign_in("roaster")
    held = put(bench, batch, "hold", "roaster", "check the lot")
    answer = decide(client, batch, "release", "I looked at it", seen="")
    html = answer.get_data(as_text=True)
    assert answer.status_code == 409
    assert "Meanwhile somebody else has decided: On hold by Ravi" in html
    assert "I looked at it" in html
    assert f'value="{held}"' in html
    assert whats(bench, batch) == ["hold"]
    assert decide(client, batch, "release", "I looked at it", seen=held).status_code == 303


def test_it_says_so_when_a_lead_was_quicker(bench, sign_in):
    batch, client = read(bench, "inside"), sign_in("roaster")
    put(bench, batch, "reject", "lead", "smells of smoke")
    answer = decide(client, batch, "hold", "wait for the cupping", seen="")
    html = answer.get_data(as_text=True)
    assert (answer.status_code, whats(bench, batch)) == (409, ["reject"])
    assert "not yours to decide" in html
    assert "wait for the cupping" in html
    assert '<button class="button primary' not in html


def test_it_tells_a_form_which_decision_is_the_newest(bench, sign_in):
    batch, client = read(bench, "inside"), sign_in("roaster")
    assert client.get(f"/decisions/newest/{batch.id}").json == {"newest": ""}
    held = put(bench, batch, "hold", "roaster")
    assert client.get(f"/decisions/newest/{batch.id}").json == {"newest": held}
    assert client.get(f"/decisions/newest/{uuid.uuid4()}").status_code == 404


def test_it_shows_what_went_into_a_blend(bench, sign_in):
    """Such a decision is stored when the blend is carried out (store only); shown everywhere, offered nowhere."""
    batch, mixed = read(bench, "inside"), bench.batch("MIX")
    target = bench.db.conn.execute("SELECT id FROM target_version").fetchone()[0]
    bench.db.conn.execute("INSERT INTO blend VALUES ('b-1', ?, ?, 0.8, NULL, 'so', ?, ?, '2026-05-14', '2026-05-14')",
                          (mixed.id, target, bench.people["lead"], bench.tablet))  # fmt: skip
    put(bench, batch, "blend", "lead", "with two lighter ones", blend_id="b-1")
    html = sign_in("lead").get(f"/batches/{batch.id}/result").get_data(as_text=True)
    assert "Went into a blend" in html
    assert "decision/blend" not in html
    assert "Went into a blend" in sign_in("lead").get(f"/days/{batch.day}").get_data(as_text=True)
