"""What a trainee reads before the sign-off: marked, and countersigned by somebody else before it can leave."""

import uuid
from datetime import timedelta

import pytest

from tests.decisions.test_decide import decide
from tests.support import comparing
from tests.support.outbox import Outbox, sample_record
from tests.support.roastery import later
from webapp.store import corrections, countersigns, decisions, ledger, people, results, signoffs
from webapp.store.signoffs import NewSignOff


def read_both(bench, role="trainee", at=None):
    """A batch in band, read by this role."""
    batch = bench.batch(at=later(at or bench.now, minutes=-5))
    bench.sample(batch.id, "whole", [56.0, 56.1, 56.0], at=at, role=role)
    bench.sample(batch.id, "ground", [61.0, 61.1, 61.0], at=at, role=role)
    return batch


def state(bench, batch):
    return results.get_batch_result(bench.db, batch.id).hands_state


def waiting(bench, batch):
    return [sample.id for sample in countersigns.waiting_samples(bench.db, batch.id)]


def countersign(client, batch, ids, **fields):
    sent = {"id": str(uuid.uuid4()), "samples": " ".join(ids)} | fields
    return client.post(f"/batches/{batch.id}/countersign", data=sent)


def sign_off(bench, at, kind="whole", what="signed_off", until=None):
    there = comparing.plan_people(bench, 1, kind) if what == "signed_off" else None
    evidence = signoffs.Evidence(10, 0.0, -0.1, 0.1, 0.75, 0.2, 0.5, 10) if there else None
    new = NewSignOff(str(uuid.uuid4()), bench.people["trainee"], kind, what, there and there.id, evidence, until, "So.")
    signoffs.add_signoff(bench.db, new, bench.who("lead"), at)


def test_it_waits_and_neither_release_nor_concession_lets_it_go(bench, sign_in):
    batch = read_both(bench)
    assert state(bench, batch) == "waiting"
    assert len(waiting(bench, batch)) == 2
    for role in ("roaster", "lead"):
        client = sign_in(role)
        text = client.get(f"/batches/{batch.id}/result").text
        assert "Waits for a countersignature: whole bean read by Tomas before the sign-off" in text
        assert "Release it when it is countersigned." in text
        assert "Release batch" not in text
        assert ">Countersign<" in text
        for what in ("release", "concession"):
            assert decide(client, batch, what, "seen by eye").status_code == 403
    assert not decisions.get_decisions(bench.db, batch.id)
    assert results.rebuild(bench.db) == []


@pytest.mark.parametrize(("role", "what"), [("roaster", "hold"), ("lead", "hold"), ("lead", "reject")])
def test_it_can_be_held_and_rejected(bench, sign_in, role, what):
    batch = read_both(bench)
    assert decide(sign_in(role), batch, what, "burnt in the cup").status_code == 303
    assert state(bench, batch) == "waiting"


@pytest.mark.parametrize("role", ["roaster", "lead"])
def test_it_leaves_once_somebody_signed_off_stands_behind_it(bench, sign_in, role):
    batch, client = read_both(bench), sign_in(role)
    answer = countersign(client, batch, waiting(bench, batch))
    assert answer.location == f"/batches/{batch.id}/result"
    assert state(bench, batch) is None
    name = {"roaster": "Ravi", "lead": "Ada"}[role]
    for path in (f"/batches/{batch.id}/result", f"/batches/{batch.id}"):
        text = client.get(path).text
        assert f"Countersigned by {name}," in text
        assert "Waits for a countersignature" not in text
    assert "countersigned" in client.get(f"/batches/{batch.id}").text
    assert decide(client, batch, "release").status_code == 303
    assert list(ledger.faults(bench.db)) == []
    assert results.rebuild(bench.db) == []


def test_no_trainee_countersigns_and_nobody_their_own(bench, sign_in):
    batch = read_both(bench)
    ids = waiting(bench, batch)
    assert countersign(sign_in("trainee"), batch, ids).status_code == 403
    text = sign_in("trainee").get(f"/batches/{batch.id}/result").text
    assert "A roaster or lead countersigns it, and nobody their own." in text
    assert ">Countersign<" not in text
    # Made a roaster meanwhile: these are still their own.
    people.change_person(bench.db, bench.people["trainee"], "Tomas", "roaster", True, bench.who("lead"), bench.now)
    client = sign_in("trainee")
    assert ">Countersign<" not in client.get(f"/batches/{batch.id}/result").text
    answer = countersign(client, batch, ids)
    assert answer.status_code == 422
    assert "not your own samples" in answer.text
    assert state(bench, batch) == "waiting"


def test_it_takes_no_sample_of_another_batch_or_of_somebody_signed_off(bench, sign_in):
    batch, other, own = read_both(bench), read_both(bench), read_both(bench, "roaster")
    taken = [row["id"] for row in bench.db.query("SELECT id FROM sample WHERE batch_id = ?", (own.id,))]
    for where, ids in ((batch, waiting(bench, other)), (own, taken), (batch, [str(uuid.uuid4())]), (batch, [])):
        assert countersign(sign_in("lead"), where, ids).status_code == 422
    assert state(bench, batch) == state(bench, other) == "waiting"


def test_it_stands_for_the_samples_that_were_seen_and_no_later_one(bench, sign_in):
    batch = read_both(bench)
    ids = waiting(bench, batch)
    fresh = bench.sample(batch.id, "whole", [56.2, 56.1, 56.0], role="trainee")
    countersign(sign_in("roaster"), batch, ids)
    assert waiting(bench, batch) == [fresh.id]
    assert state(bench, batch) == "waiting"
    countersign(sign_in("lead"), batch, [fresh.id])
    assert state(bench, batch) is None
    assert [s.person_name for s in countersigns.list_countersignatures(bench.db, batch.id)] == ["Ravi", "Ada"]


def test_it_stores_the_same_countersignature_once(bench, sign_in):
    batch, client, fixed = read_both(bench), sign_in("roaster"), str(uuid.uuid4())
    ids = waiting(bench, batch)
    assert [countersign(client, batch, ids, id=fixed).status_code for _again in range(2)] == [303, 303]
    assert len(countersigns.list_countersignatures(bench.db, batch.id)) == 1
    assert countersign(client, batch, ids[:1], id=fixed).status_code == 409


def test_a_roasters_sample_beside_it_does_not_wait(bench):
    batch = bench.batch()
    own = bench.sample(batch.id, "whole", [56.0, 56.1, 56.0], role="trainee")
    bench.sample(batch.id, "ground", [61.0, 61.1, 61.0])
    assert waiting(bench, batch) == [own.id]


def test_what_does_not_count_does_not_wait(bench):
    """A trainee's readings that are all voided: there is nothing to stand behind."""
    batch = bench.batch()
    sample = bench.sample(batch.id, "whole", [56.0], role="trainee")
    bench.sample(batch.id, "ground", [61.0, 61.1, 61.0])
    assert state(bench, batch) == "waiting"
    corrections.add_correction(
        bench.db, str(uuid.uuid4()), sample.id, 1, 1, None, "Wrong cup.", bench.who(), later(bench.now, minutes=1)
    )
    assert state(bench, batch) is None


def test_after_the_sign_off_results_of_that_kind_are_unmarked(bench, sign_in):
    before = read_both(bench, at=later(bench.now, hours=-3))
    sign_off(bench, later(bench.now, hours=-2))
    after = read_both(bench, at=later(bench.now, hours=-1))
    assert [s.kind for s in countersigns.waiting_samples(bench.db, after.id)] == ["ground"]
    sign_off(bench, later(bench.now, minutes=-30), kind="ground")
    last = read_both(bench, at=bench.now)
    assert [state(bench, batch) for batch in (before, after, last)] == ["waiting", "waiting", None]
    assert decide(sign_in("roaster"), last, "release").status_code == 303
    assert results.rebuild(bench.db) == []


def test_it_goes_by_when_it_was_read_and_not_by_when_it_arrived(bench, sign_in):
    """Out of an outbox after the sign-off, and read before it: it waits. The other way round it does not."""
    sign_off(bench, later(bench.now, hours=-2))
    batches = [bench.batch(at=later(bench.now, hours=-5)) for _ in range(2)]
    for batch, hours in zip(batches, (-3, -1), strict=True):
        sent = sample_record(bench, batch.id, by="trainee", at=later(bench.now, hours=hours))
        assert Outbox(sign_in("trainee")).send_one(sent)["status"] == 200
    assert [state(bench, batch) for batch in batches] == ["waiting", None]


def test_a_sign_off_works_out_anew_what_was_read_since(bench):
    """Stored before, read after: a tablet's sample and a lead's word may cross."""
    batch = bench.batch()
    bench.sample(batch.id, "whole", [56.0, 56.1, 56.0], role="trainee")
    assert state(bench, batch) == "waiting"
    sign_off(bench, bench.now - timedelta(seconds=1))
    assert state(bench, batch) is None
    assert results.rebuild(bench.db) == []


def test_it_waits_again_after_the_end_and_after_a_withdrawal(bench):
    moments = [later(bench.now, hours=-9 + 2 * n) for n in range(5)]
    sign_off(bench, moments[0], until=moments[1].isoformat(timespec="milliseconds").replace("+00:00", "Z"))
    sign_off(bench, moments[2], what="renewed")
    sign_off(bench, moments[3], what="withdrawn")
    found = []
    for moment in moments[:4]:
        batch = bench.batch(at=moment)
        bench.sample(batch.id, "whole", [56.0, 56.1, 56.0], at=later(moment, hours=1), role="trainee")
        found.append(state(bench, batch))
    assert found == [None, "waiting", None, "waiting"]


def test_a_batch_that_was_decided_says_that_nobody_countersigned(bench, sign_in):
    """Released before a trainee's further fill came: it waits no more, and the record tells."""
    batch = read_both(bench, "roaster")
    decide(sign_in("roaster"), batch, "release")
    bench.sample(batch.id, "whole", [56.0, 56.1, 56.0], role="trainee")
    text = sign_in("roaster").get(f"/batches/{batch.id}/result").text
    assert "Not countersigned: whole bean read by Tomas before the sign-off." in text
    assert ">Countersign<" not in text


def test_a_trainee_who_is_signed_off_may_take_the_short_checklist_of_that_kind(bench, sign_in):
    sign_off(bench, later(bench.now, hours=-2))
    batch = bench.batch()
    client = sign_in("trainee")
    forms = {kind: client.page(f"/batches/{batch.id}/{kind}").find("form", class_="capture")[0] for kind in
             ("whole", "ground")}  # fmt: skip
    assert {kind: form.attrs["data-walk"] for kind, form in forms.items()} == {"whole": "0", "ground": "1"}
    box = Outbox(client)
    for kind, readings, status in (("whole", ("56.0",) * 3, 200), ("ground", ("61.0",) * 3, 422)):
        sent = sample_record(bench, batch.id, kind, readings, by="trainee", form={"checklist": "short"})
        assert box.send_one(sent)["status"] == status
