"""Planning a blend: what may be mixed, the largest mix, why there is none; and storing its trial."""

from __future__ import annotations

import pytest

from tests.support import blending
from tests.support.blending import fields, said, send
from tests.support.roastery import later
from webapp.store import batches, blends, decisions, results
from webapp.store.ledger import faults


def address(bench, **more) -> str:
    return f"/blends/new?product={bench.product}" + "".join(f"&{name}={value}" for name, value in more.items())


def test_it_mixes_what_is_held_at_once(bench, sign_in):
    dark, light = blending.both_sides(bench)
    page = sign_in("roaster").page(address(bench))
    assert "20.4" in said(page)
    assert {"B-dark", "B-light"} <= set(said(page).split())
    assert "No source shows that readings mix in proportion to mass." in said(page)
    assert "A lead stores the trial." in said(page)
    assert not page.find("textarea", name="reason")


def test_a_lead_stores_it_as_a_batch_with_its_parts(bench, sign_in):
    dark, light = blending.both_sides(bench)
    lead = sign_in("lead")
    sent = fields(lead.page(address(bench))) | {"code": "MIX-1", "trial": "1,5", "reason": "Both sides."}
    answer = lead.post("/blends/new", data=sent)
    assert answer.status_code == 303
    blend = blends.get_blend(bench.db, answer.location.rsplit("/", 1)[1])
    assert {part.batch_id: part.grams for part in blend.parts} == {dark.id: 10200, light.id: 10200}
    assert (blend.code, blend.trial_g, blend.reason) == ("MIX-1", 1500, "Both sides.")
    assert blend.expected["whole"].value == pytest.approx(56.0)
    assert blend.expected["ground"].chance > 0.8
    for part in blend.parts:
        there = results.get_parts(bench.db, part.batch_id)
        assert {kind: (k.value, k.u) for kind, k in part.values.items()} == {
            kind: (there[kind].value, there[kind].u) for kind in ("whole", "ground", "difference")
        }
    batch = blending.fresh(bench, blend.batch_id)
    assert (batch.blend, batch.green_g, batch.machine_id) == (1, None, bench.machine)
    assert list(faults(bench.db)) == []
    # The button was pressed twice.
    assert lead.post("/blends/new", data=sent).location == answer.location
    assert len(blends.list_blends(bench.db)) == 1


def test_what_was_typed_stays_where_something_is_wrong(bench, sign_in):
    blending.both_sides(bench)
    lead = sign_in("lead")
    sent = fields(lead.page(address(bench)))
    page = send(lead, "/blends/new", sent | {"code": "B-dark", "trial": "lots", "reason": ""}, 422)
    assert "Batch B-dark is there already" in said(page)
    assert "This is not a number." in said(page)
    assert "Give the reason" in said(page)
    kept = fields(page)
    assert kept["trial"] == "lots"
    assert kept["id"] == sent["id"]
    assert blends.list_blends(bench.db) == []


def test_it_stores_no_plan_that_nobody_saw(bench, sign_in):
    dark, _light = blending.both_sides(bench)
    lead = sign_in("lead")
    sent = fields(lead.page(address(bench))) | {"code": "MIX-1", "reason": "Both sides."}
    bench.sample(dark.id, "whole", [53.4] * 3, [53.4] * 3, at=later(bench.now, minutes=-1))
    page = send(lead, "/blends/new", sent, 422)
    assert "Something about the batches has changed since this plan was made." in said(page)
    assert fields(page)["code"] == "MIX-1"
    assert blends.list_blends(bench.db) == []
    # It was looked at now, and may be stored.
    assert lead.post("/blends/new", data=fields(page) | {"reason": "Both sides."}).status_code == 303


def test_what_was_typed_stays_where_there_is_no_mix_any_more(bench, sign_in):
    dark, _light = blending.both_sides(bench)
    lead = sign_in("lead")
    sent = fields(lead.page(address(bench))) | {"code": "MIX-1", "reason": "Both sides."}
    decisions.add_decision(bench.db, "r-1", dark.id, "reject", "Burnt.", bench.who("lead"), bench.now)
    page = send(lead, "/blends/new", sent, 422)
    assert "There is no mix to store any more." in said(page)
    assert fields(page)["code"] == "MIX-1"
    assert page.find("textarea", name="reason")[0].text.strip() == "Both sides."
    assert blends.list_blends(bench.db) == []


@pytest.mark.parametrize(("typed", "grams"), [("4", 4000), ("3,25", 3200), ("3.25", 3200), (" 2,5 ", 2500)])
def test_it_takes_masses_with_comma_and_point_in_whole_steps(bench, sign_in, typed, grams):
    dark, light = blending.both_sides(bench)
    asked = {f"use-{dark.id[:13]}": "y", f"use-{light.id[:13]}": "y", f"kg-{light.id[:13]}": "10.2", "step": 100}
    page = sign_in("roaster").page(address(bench, **asked, **{f"kg-{dark.id[:13]}": typed}))
    row = next(row for row in page.find("tr") if "B-dark" in row.text)
    assert f"{grams / 1000:g} kg" in row.text.replace(".0 kg", " kg")


@pytest.mark.parametrize(
    ("typed", "words"), [("", "Type how much of B-dark there is."), ("x", "This is not a number."),
                        ("11", "There can be no more of B-dark than 10.2 kg."), ("0", "Type the mass in kilograms")],
)  # fmt: skip
def test_it_says_what_is_wrong_with_a_mass(bench, sign_in, typed, words):
    dark, light = blending.both_sides(bench)
    asked = {f"use-{dark.id[:13]}": "y", f"use-{light.id[:13]}": "y", f"kg-{light.id[:13]}": "10.2", "step": 100}
    page = sign_in("roaster").page(address(bench, **asked, **{f"kg-{dark.id[:13]}": typed}), 422)
    assert words in said(page)
    assert page.find("a", href=f"#kg-{dark.id[:13]}")[0].text.count("B-dark") == 1
    assert fields(page)[f"kg-{dark.id[:13]}"] == typed
    assert "No mix yet" in said(page)


def test_it_says_why_there_is_no_mix_and_what_comes_nearest(bench, sign_in):
    blending.held(bench, "D-1", 53.0)
    blending.held(bench, "D-2", 52.5)
    page = sign_in("roaster").page(address(bench))
    assert "No mix of these is in band." in said(page)
    assert "darker than the dark limit" in said(page)
    assert "Nearest to it: > 99.9 % D-1." in said(page)
    assert not page.find("textarea", name="reason")


def test_batches_in_band_and_undecided_ones_are_offered_and_not_ticked(bench, sign_in):
    blending.held(bench, "D-1", 53.0)
    blending.held(bench, "W-1", 59.0, hold=False)
    inside = blending.held(bench, "I-1", 56.0, hold=False)
    decisions.add_decision(bench.db, "r-1", inside.id, "release", "", bench.who(), bench.now)
    page = sign_in("roaster").page(address(bench))
    ticked = {e.attrs["id"]: "checked" in e.attrs for e in page.find("input", type="checkbox")}
    assert sorted(ticked.values()) == [False, False, True]
    assert "Tick two batches or more" in said(page)
    assert "released: is it still here?" in said(page)
    assert "A lead may choose to blend them off instead" in said(page)


def test_it_names_what_cannot_be_mixed(bench, sign_in):
    blending.both_sides(bench)
    half = bench.batch("HALF", at=later(bench.now, minutes=-30))
    bench.sample(half.id, "whole", [60.0] * 3)
    decisions.add_decision(bench.db, "h-1", half.id, "hold", "Ground is missing.", bench.who(), bench.now)
    page = sign_in("roaster").page(address(bench))
    assert "Cannot be mixed: ground is not read." in said(page)
    assert len(page.find("input", type="checkbox")) == 2


def test_it_knows_what_is_part_of_a_trial_already(bench, sign_in):
    parts = blending.both_sides(bench)
    blending.stored(bench, {batch.id: 5000 for batch in parts}, "B-mix")
    page = sign_in("lead").page(address(bench))
    assert said(page).count("part of trial blend B-mix already") == 2
    assert not [e for e in page.find("input", type="checkbox") if "checked" in e.attrs]


def test_it_offers_what_stayed(bench, sign_in):
    blending.one_of_each(bench)
    page = sign_in("roaster").page(address(bench))
    assert "What stayed of earlier blends" in said(page)
    assert sorted(e.attrs["value"] for e in page.find("input", inputmode="decimal")) == ["5.2", "5.2"]


def test_it_lists_the_products_with_what_is_held(bench, sign_in):
    blending.both_sides(bench)
    blending.held(bench, "W-1", 59.0, hold=False)
    page = sign_in("roaster").page("/blends/new")
    assert "2 on hold, 1 not decided" in said(page)


def test_it_finds_no_product_that_is_none(bench, sign_in):
    assert sign_in("lead").get("/blends/new?product=nothing").status_code == 404
    assert sign_in("lead").post("/blends/new", data={"product": "x"}).status_code == 404


def test_the_proposed_code_is_free(bench, sign_in):
    blending.both_sides(bench)
    proposed = fields(sign_in("lead").page(address(bench)))["code"]
    assert batches.find_by_code(bench.db, proposed) == []
