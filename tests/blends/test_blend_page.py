"""A blend's page, its trial among the batches, and carrying the blend-off out."""

from __future__ import annotations

import uuid

import pytest

from tests.support import blending
from tests.support.blending import fields, said, send
from tests.support.roastery import later
from webapp.store import blends, corrections, decisions, samples
from webapp.store.ledger import faults


@pytest.fixture
def blend(bench):
    """5 kg of each of two held batches, 56.0 expected."""
    return blending.stored(bench, {batch.id: 5000 for batch in blending.both_sides(bench)}, "B-mix")


def what_stands(bench, blend) -> set[str]:
    return {decisions.last_decision(bench.db, part.batch_id).what for part in blend.parts}


def test_it_says_what_is_to_be_done(blend, sign_in):
    page = sign_in("trainee").page(f"/blends/{blend.id}")
    assert "The trial is still to be read" in said(page)
    assert [e.text.strip()[:5] for e in page.find("li", class_="now")] == ["Mix a"]
    assert "500 g" in said(page)
    assert f"/batches/{blend.batch_id}/whole" in {e.attrs["href"] for e in page.find("a")}


def test_it_holds_what_was_read_against_what_was_expected(bench, blend, sign_in):
    blending.read(bench, blend, 56.3, 61.0)
    page = said(sign_in("trainee").page(f"/blends/{blend.id}"))
    assert "0.3 lighter, give or take" in page
    assert page.count("It reads as expected") == 3
    assert "The trial is in band, and not released yet" in page


def test_it_says_when_mixing_did_not_follow_the_shares(bench, blend, sign_in):
    blending.read(bench, blend, 53.0, 58.0)
    page = said(sign_in("trainee").page(f"/blends/{blend.id}"))
    assert page.count("It reads darker than expected, by more than the give or take of both.") == 2
    assert "The trial is not in band" in page


def test_its_trial_is_a_batch_that_says_so(bench, blend, sign_in):
    client = sign_in("roaster")
    result = said(client.page(f"/batches/{blend.batch_id}/result"))
    assert "Trial blend · Blend of B-dark, B-light" in result
    # An ordinary capture reads it.
    assert client.page(f"/batches/{blend.batch_id}/whole").find("input", name="method_version")
    record = client.page(f"/batches/{blend.batch_id}")
    assert "Blend of B-dark, B-light" in said(record)
    assert "Machine 1" not in record.find("dl", class_="facts")[0].text
    assert "trial blend planned" in said(record)


def test_its_parts_say_what_they_are_part_of(bench, blend, sign_in):
    page = sign_in("trainee").page(f"/batches/{blend.parts[0].batch_id}")
    assert "5.0 kg are part of blend B-mix (on trial)." in said(page)
    assert f"/blends/{blend.id}" in {e.attrs["href"] for e in page.find("a")}


def test_the_strip_marks_it(bench, blend, sign_in):
    blending.read(bench, blend, 56.0, 61.0)
    page = sign_in("trainee").page("/")
    marked = page.find("a", id=f"b{blend.batch_id}")[0]
    assert "trial blend" in marked.attrs["aria-label"]
    assert [e.text for e in page.find("span", class_="note")].count("trial") == 2  # across and upright
    assert "Blend of B-dark, B-light" in page.find("table")[0].text


def test_a_lead_carries_it_out_for_all_parts_at_once(bench, blend, sign_in):
    blending.read(bench, blend, 56.0, 61.0)
    blending.released(bench, blend)
    lead = sign_in("lead")
    sent = fields(lead.page(f"/blends/{blend.id}")) | {"reason": "Mixed and bagged."}
    assert lead.post(f"/blends/{blend.id}/carry-out", data=sent).status_code == 303
    assert what_stands(bench, blend) == {"blend"}
    made = decisions.last_decision(bench.db, blend.parts[0].batch_id)
    assert (made.reason, made.blend_id, made.role) == ("Mixed and bagged.", blend.id, "lead")
    page = lead.page(f"/blends/{blend.id}")
    assert "The blend-off is carried out" in said(page)
    assert not page.find("textarea")
    assert "It cannot be carried out" not in said(page)
    assert "(carried out)" in said(lead.page(f"/batches/{blend.parts[0].batch_id}"))
    # Again does nothing.
    assert lead.post(f"/blends/{blend.id}/carry-out", data=sent).status_code == 303
    assert len(decisions.get_decisions(bench.db, blend.parts[0].batch_id)) == 2
    assert list(faults(bench.db)) == []


@pytest.mark.parametrize("state", ["unread", "not released", "out", "rejected"])
def test_nothing_is_carried_out_before_the_trial_is_in_band_and_released(bench, blend, sign_in, state):
    if state != "unread":
        blending.read(bench, blend, 56.0 if state != "out" else 53.0, 61.0)
    if state in ("out", "rejected"):
        blending.released(bench, blend, "release" if state == "out" else "reject")
    lead = sign_in("lead")
    assert not lead.page(f"/blends/{blend.id}").find("textarea")
    page = send(lead, f"/blends/{blend.id}/carry-out", {"reason": "Now."}, 409)
    assert "The trial has to be read, in band and released before." in said(page)
    assert what_stands(bench, blend) == {"hold"}


def test_a_part_that_was_corrected_is_named_and_nothing_is_stored(bench, blend, sign_in):
    blending.read(bench, blend, 56.0, 61.0)
    blending.released(bench, blend)
    taken = samples.get_samples(bench.db, blend.parts[0].batch_id)
    sample = next(one.id for one in taken if one.kind == "whole")
    corrections.add_correction(
        bench.db, str(uuid.uuid4()), sample, 1, 1, 5320, "Wrong digit.", bench.who(), later(bench.now, seconds=5)
    )
    lead = sign_in("lead")
    assert "B-dark reads otherwise now than when the blend was planned." in said(lead.page(f"/blends/{blend.id}"))
    page = send(lead, f"/blends/{blend.id}/carry-out", {"reason": "Now."}, 409)
    assert "Nothing was stored" in said(page)
    assert "B-dark reads otherwise now than when the blend was planned." in said(page)
    assert what_stands(bench, blend) == {"hold"}


def test_a_part_that_was_decided_about_is_named_and_nothing_is_stored(bench, blend, sign_in):
    blending.read(bench, blend, 56.0, 61.0)
    blending.released(bench, blend)
    part = blend.parts[1]
    # In the same moment as the plan: the ledger knows which came first.
    decisions.add_decision(bench.db, str(uuid.uuid4()), part.batch_id, "reject", "Burnt.", bench.who("lead"), bench.now)
    page = send(sign_in("lead"), f"/blends/{blend.id}/carry-out", {"reason": "Now."}, 409)
    assert f"{part.code} was decided about since the blend was planned." in said(page)
    assert what_stands(bench, blend) == {"hold", "reject"}


def test_a_reason_is_asked_for(bench, blend, sign_in):
    blending.read(bench, blend, 56.0, 61.0)
    blending.released(bench, blend)
    page = send(sign_in("lead"), f"/blends/{blend.id}/carry-out", {"reason": " "}, 422)
    assert "Give the reason" in said(page)
    assert what_stands(bench, blend) == {"hold"}


@pytest.mark.parametrize("role", ["trainee", "roaster"])
def test_only_a_lead_stores_and_carries_out(bench, blend, sign_in, role):
    blending.read(bench, blend, 56.0, 61.0)
    blending.released(bench, blend)
    client = sign_in(role)
    assert not client.page(f"/blends/{blend.id}").find("textarea")
    assert client.post(f"/blends/{blend.id}/carry-out", data={"reason": "x"}).status_code == 403
    assert client.post("/blends/new", data={"product": bench.product}).status_code == 403
    assert client.get(f"/blends/new?product={bench.product}").status_code == (403 if role == "trainee" else 200)


def test_the_pin_page_carries_the_form_along(bench, blend, sign_in):
    blending.read(bench, blend, 56.0, 61.0)
    blending.released(bench, blend)
    lead = sign_in("lead")
    bench.db.conn.execute("UPDATE session SET confirmed_at = '2020-01-01T00:00:00.000Z'")
    page = send(lead, f"/blends/{blend.id}/carry-out", {"reason": "Mixed and bagged."}, 403)
    assert "Mixed and bagged." in [e.attrs.get("value") for e in page.find("input", name="kept_value")]
    assert what_stands(bench, blend) == {"hold"}


def test_the_same_blend_stored_twice_is_one_and_another_is_refused(bench, blend):
    masses = {part.batch_id: part.grams for part in blend.parts}
    new = blending.new_blend(bench, masses, "B-two")
    first = blends.add_blend(bench.db, new, bench.who("lead"), bench.now)
    assert blends.add_blend(bench.db, new, bench.who("lead"), bench.now) == first
    with pytest.raises(blends.AlreadyThere):
        blends.add_blend(bench.db, blends.NewBlend(**vars(new) | {"reason": "Another."}), bench.who("lead"), bench.now)
