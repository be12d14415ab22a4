"""A sign-off: two people read the same coffees, each alone, and a lead concludes it."""

import re
import uuid
from datetime import UTC, datetime

import pytest

from tests.support.comparing import form, plan_people, read, read_for_sign_off
from tests.support.outbox import Outbox, envelope
from tests.support.roastery import later
from webapp.store import comparisons, ledger, signoffs
from webapp.store.signoffs import NewSignOff
from webapp.studies.sign_off import end_of
from webapp.studies.sign_off_forms import LEAST_CUPS

CUPS = ("Harbour", "Quay 4", "Night train", "Breakfast", "Winter blend", "Orchard")


def fields(bench, **changes):
    """A plan as a browser posts it."""
    sent = {
        "id": str(uuid.uuid4()), "trainee": bench.people["trainee"], "reference": bench.people["roaster"],
        "method": bench.versions["whole"].id, "meter": bench.meter, "coffees": "\n".join(CUPS), "fills": "2",
        "readings": "2", "bound": "0,75",
    }  # fmt: skip
    return sent | changes


def read_everything(bench, there, shift=0.1, spread=0.1):
    """Every coffee by both: the trainee by so much lighter, with fills so far from their mean."""
    for coffee in there.coffees:
        value = 50.0 + coffee.no
        read(bench, there, coffee.no, "a", [value] * 2, [value + 0.2] * 2)
        own = round(value + 0.1 + shift + (0.1 if coffee.no % 2 else -0.1), 2)
        read(bench, there, coffee.no, "b", [own - spread] * 2, [own + spread] * 2, role="trainee")


def page_of(there):
    return f"/studies/sign-offs/{there.id}"


def conclude(client, there, what="signed_off", **changes):
    """Look, and store what follows."""
    seen = client.page(page_of(there)).find("input", name="seen")
    sent = {"id": str(uuid.uuid4()), "seen": seen[0].attrs["value"] if seen else "0", "what": what, "months": "12",
            "reason": ""}  # fmt: skip
    return client.post(f"{page_of(there)}/conclude", data=sent | changes)


def state(bench, kind="whole", at=None):
    return signoffs.state_of(bench.db, bench.people["trainee"], kind, at or later(datetime.now(UTC), seconds=1))


# The plan --------------------------------------------------------------------------------------------


def test_it_plans_two_people_on_the_same_gear(bench, sign_in):
    answer = sign_in("lead").post("/studies/sign-offs/new", data=fields(bench))
    [there] = comparisons.list_comparisons(bench.db, of_people=True)
    assert answer.location == f"/comparisons/{there.id}"
    assert (there.what, there.kind, there.name) == ("people", "whole", "Tomas, whole bean")
    assert (there.blind, there.bound) == (True, 75)
    assert (there.a.person_name, there.b.person_name) == ("Ravi", "Tomas")
    assert (there.a.meter, there.a.method, there.a.setting) == (there.b.meter, there.b.method, there.b.setting)
    assert sorted(c.name for c in there.coffees) == sorted(CUPS)
    assert all(c.code.isdigit() and len(c.code) == 3 for c in there.coffees)
    assert comparisons.list_comparisons(bench.db) == []
    assert list(ledger.faults(bench.db)) == []


def test_it_proposes_a_quarter_of_the_narrowest_band(bench, sign_in):
    text = sign_in("lead").post("/studies/sign-offs/new", data=fields(bench, bound="")).get_data(as_text=True)
    assert "This is a quarter of the narrowest band" in text
    assert 'value="0.75"' in text
    assert not comparisons.list_open(bench.db)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"coffees": "\n".join(CUPS[:-1])}, f"At least {LEAST_CUPS} coffees. There are 5 so far."),
        ({"coffees": "\n".join([*CUPS, "Harbour"])}, "stands there twice"),
        ({"fills": "1"}, "2"),
        ({"trainee": ""}, "Choose the trainee."),
        ({"bound": "99"}, "more than a quarter of the whole scale"),
    ],
)
def test_it_refuses_in_words_and_keeps_what_was_typed(bench, sign_in, changes, said):
    answer = sign_in("lead").post("/studies/sign-offs/new", data=fields(bench, **changes))
    text = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert said in text
    assert "Night train" in text
    assert not comparisons.list_open(bench.db)


def test_it_offers_only_trainees_on_one_side_and_nobody_else_on_the_other(bench, sign_in):
    page = sign_in("lead").page("/studies/sign-offs/new")
    options = {name: [o.text for o in page.find("option")] for name in ("trainee",)}["trainee"]
    assert options.count("Tomas") == 1
    assert sign_in("lead").post(
        "/studies/sign-offs/new", data=fields(bench, reference=bench.people["trainee"])
    ).status_code == 422  # fmt: skip


def test_it_plans_no_second_one_while_one_is_under_way(bench, sign_in):
    plan_people(bench, 6)
    text = sign_in("lead").post("/studies/sign-offs/new", data=fields(bench)).get_data(as_text=True)
    assert "is under way already" in text
    ground = fields(bench, method=bench.versions["ground"].id)
    assert sign_in("lead").post("/studies/sign-offs/new", data=ground).status_code == 303


def test_it_refuses_people_with_other_gear_each(bench):
    there = plan_people(bench, 6)
    for side in (there.a, there.b):
        other = comparisons.NewSide(bench.meter, bench.versions["ground"].id, None, side.person_id)
        with pytest.raises(ValueError):
            plan_people(bench, 6, b=other)
    alone = comparisons.NewSide(bench.meter, bench.versions["whole"].id, None)
    with pytest.raises(ValueError):
        plan_people(bench, 6, b=alone)


# Reading ---------------------------------------------------------------------------------------------


def test_it_lets_each_read_their_own_cups_alone(bench, sign_in):
    there = plan_people(bench, 6)
    client = sign_in("trainee")
    assert client.post(f"/comparisons/{there.id}/1/b", data=form([["56,1", "56.2"]] * 2)).status_code == 303
    answer = client.get(f"/comparisons/{there.id}/1/a")
    assert answer.status_code == 403
    assert "Cup 101 is for Ravi" in answer.get_data(as_text=True)
    [sample] = comparisons.list_samples(bench.db, there.id)
    assert (sample.side, sample.person_name) == ("b", "Tomas")


@pytest.mark.parametrize("role", ["roaster", "lead"])
def test_it_stores_nobody_elses_reading_and_keeps_what_was_typed(bench, sign_in, role):
    there = plan_people(bench, 6)
    answer = sign_in(role).post(f"/comparisons/{there.id}/1/b", data=form([["56,1", "56.2"]] * 2))
    text = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "This cup is for Tomas." in text
    assert 'value="56,1"' in text
    assert not comparisons.list_samples(bench.db, there.id)


def test_it_takes_nobody_elses_reading_out_of_an_outbox(bench, sign_in):
    there = plan_people(bench, 6)
    sent = form([["56.1", "56.2"]] * 2, comparison=there.id, coffee="1", side="b")
    sent.pop("id")
    said = Outbox(sign_in("lead")).send_one(envelope(bench, "comparison_sample", "roaster", None, sent))
    assert (said["status"], said["error"]) == (422, "invalid")
    assert "This cup is for Tomas." in said["problems"][0]["message"]
    own = Outbox(sign_in("lead")).send_one(envelope(bench, "comparison_sample", "trainee", None, sent))
    assert own["status"] == 200
    assert "56" not in re.sub(r"[0-9a-f-]{36}", "an id", str(own["result"]))


def test_it_shows_no_number_to_anybody_before_it_is_concluded(bench, sign_in):
    """Neither of the other nor of one's own cups; and no name of a coffee."""
    there = plan_people(bench, 6)
    read(bench, there, 1, "a", [61.7, 61.9], [61.8, 61.8])
    read(bench, there, 1, "b", [62.3, 62.4], [62.3, 62.4], role="trainee")
    paths = (f"/comparisons/{there.id}", "/studies/sign-offs", "/comparisons", "/me/progress")
    for role, side in (("trainee", "b"), ("roaster", "a"), ("lead", "")):
        client = sign_in(role)
        for path in (*paths, *([f"/comparisons/{there.id}/1/{side}"] if side else [])):
            text = client.get(path).get_data(as_text=True)
            assert not [number for number in ("61.7", "61.8", "62.3", "62.4", "+0.5") if number in text], (role, path)
            assert "Harbour" not in text
    kit = sign_in("trainee").get("/kit").get_data(as_text=True)
    assert "61.8" not in kit
    assert "Harbour" not in kit
    for role in ("trainee", "roaster"):
        assert sign_in(role).get(page_of(there)).status_code == 403
    text = sign_in("lead").get(page_of(there)).get_data(as_text=True)
    assert "5 coffees are not read by both" in text
    assert "61.8" not in text


def test_it_leads_each_through_their_own_cups(bench, sign_in):
    there = plan_people(bench, 6)
    read_for_sign_off(bench, there, 1, 51.0, 51.2)
    for role, side in (("trainee", "b"), ("roaster", "a")):
        page = sign_in(role).page(f"/comparisons/{there.id}")
        assert page.find("a", class_="primary")[0].attrs["href"] == f"/comparisons/{there.id}/2/{side}"
    assert "Tomas" in sign_in("lead").get(f"/comparisons/{there.id}").get_data(as_text=True)


def test_it_hides_the_numbers_from_a_lead_who_takes_part(bench, sign_in):
    there = plan_people(
        bench, 7, a=comparisons.NewSide(bench.meter, bench.versions["whole"].id, None, bench.people["lead"])
    )
    for no in range(1, 7):
        read_for_sign_off(bench, there, no, 50.0 + no, 50.2 + no)
    for query in ("", "?stop=1"):
        text = sign_in("lead").get(page_of(there) + query).get_data(as_text=True)
        assert "You read in this sign-off" in text
        assert "51.0" not in text


# The conclusion --------------------------------------------------------------------------------------


def test_it_signs_off_with_the_evidence_and_until_the_end_of_a_day(bench, sign_in):
    there = plan_people(bench, 6)
    read_everything(bench, there)
    text = sign_in("lead").get(page_of(there)).get_data(as_text=True)
    assert "Tomas’s samples match the shop’s." in text
    assert conclude(sign_in("lead"), there, months="6").status_code == 303
    made = signoffs.find_conclusion(bench.db, there.id)
    assert (made.what, made.person_name, made.signed_by_name, made.kind) == ("signed_off", "Tomas", "Ada", "whole")
    found = made.evidence
    assert (found.coffees, found.bound, found.spread_df) == (6, 0.75, 6)
    assert found.bias == pytest.approx(0.1)
    assert found.bias_low < 0.1 < found.bias_high
    assert found.spread == pytest.approx(0.1 * 2**0.5)
    assert state(bench).signed
    assert not state(bench, "ground").signed
    assert made.valid_until.endswith("59.999Z")
    assert list(ledger.faults(bench.db)) == []
    # Now both may look at it.
    for role in ("trainee", "roaster"):
        assert "51.1" in sign_in(role).get(page_of(there)).get_data(as_text=True)


def test_it_says_by_how_much_and_offers_no_sign_off(bench, sign_in):
    there = plan_people(bench, 6)
    read_everything(bench, there, shift=0.9)
    text = sign_in("lead").get(page_of(there)).get_data(as_text=True)
    assert "Not yet: reads lighter by 0.90." in text
    assert "Practise, then plan the sign-off again" in text
    assert 'value="signed_off"' not in text
    assert conclude(sign_in("lead"), there).status_code == 422
    answer = conclude(sign_in("lead"), there, "not_yet", reason="")
    assert answer.status_code == 422
    assert "Say in a few words why not yet" in answer.get_data(as_text=True)
    assert conclude(sign_in("lead"), there, "not_yet", reason="Fill to the rim.").status_code == 303
    assert not state(bench).signed
    assert signoffs.find_conclusion(bench.db, there.id).what == "not_yet"
    # The way is free for the next one.
    assert sign_in("lead").post("/studies/sign-offs/new", data=fields(bench)).status_code == 303


def test_it_says_that_fills_vary_more_than_the_shops(bench, sign_in):
    there = plan_people(bench, 6)
    read_everything(bench, there, spread=0.9)
    text = sign_in("lead").get(page_of(there)).get_data(as_text=True)
    assert "Not yet: the fills differ more than the shop’s." in text


def test_it_says_darker_on_a_scale_that_runs_the_other_way(bench, sign_in):
    side = {name: comparisons.NewSide(bench.flipped_meter, bench.versions["whole"].id, None, bench.people[role])
            for name, role in (("a", "roaster"), ("b", "trainee"))}  # fmt: skip
    there = plan_people(bench, 6, scale_id=bench.flipped, **side)
    read_everything(bench, there, shift=0.9)
    assert "Not yet: reads darker by 0.90." in sign_in("lead").get(page_of(there)).get_data(as_text=True)


def test_it_concludes_with_fewer_when_no_more_can_be_read(bench, sign_in):
    there = plan_people(bench, 7)
    for no in range(1, 7):
        read_for_sign_off(bench, there, no, 50.0 + no, 50.1 + no)
    lead = sign_in("lead")
    assert "No more can be read: conclude it with 6" in lead.get(page_of(there)).get_data(as_text=True)
    assert conclude(lead, there, seen="12").status_code == 303
    assert not signoffs.find_conclusion(bench.db, there.id)
    assert lead.get(f"{page_of(there)}?stop=1").status_code == 200
    assert conclude(lead, there, seen="12", stop="1").status_code == 303
    assert signoffs.find_conclusion(bench.db, there.id).evidence.coffees == 6


def test_it_asks_to_look_again_when_somebody_has_read_more_meanwhile(bench, sign_in):
    there = plan_people(bench, 6)
    read_everything(bench, there)
    answer = conclude(sign_in("lead"), there, seen="11")
    assert "Somebody has read more meanwhile" in answer.get_data(as_text=True)
    assert not signoffs.find_conclusion(bench.db, there.id)


def test_what_is_read_after_it_is_kept_and_changes_nothing(bench, sign_in):
    there = plan_people(bench, 6)
    read_everything(bench, there)
    conclude(sign_in("lead"), there)
    before = sign_in("lead").page(page_of(there)).find("main")[0].text
    bench.now = later(datetime.now(UTC), minutes=1)
    read(bench, there, 1, "b", [70.0, 70.0], [70.0, 70.0], role="trainee")
    assert sign_in("lead").page(page_of(there)).find("main")[0].text == before
    assert sign_in("trainee").get(f"/comparisons/{there.id}/1/b").status_code == 303


# Until when ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("now", "months", "until"),
    [
        (datetime(2026, 5, 14, 9, tzinfo=UTC), 12, "2027-05-14T21:59:59.999Z"),
        (datetime(2026, 8, 31, 9, tzinfo=UTC), 6, "2027-02-28T22:59:59.999Z"),
        # At the site it is the first already.
        (datetime(2026, 11, 30, 23, 30, tzinfo=UTC), 24, "2028-12-01T22:59:59.999Z"),
        (datetime(2026, 5, 14, 9, tzinfo=UTC), 0, None),
    ],
)
def test_it_holds_to_the_end_of_a_day_at_the_site(now, months, until):
    assert end_of(now, months, "Europe/Vienna") == until


def add(bench, what, at, until=None):
    there = plan_people(bench, 1).id if what in ("signed_off", "not_yet") else None
    evidence = signoffs.Evidence(10, 0.0, -0.1, 0.1, 0.75, 0.2, 0.5, 10) if there else None
    new = NewSignOff(str(uuid.uuid4()), bench.people["trainee"], "whole", what, there, evidence, until, "Because.")
    signoffs.add_signoff(bench.db, new, bench.who("lead"), at)


def test_it_ends_is_renewed_and_is_withdrawn(bench):
    day = [datetime(2026, 5, n, 9, tzinfo=UTC) for n in range(1, 20)]
    add(bench, "signed_off", day[1], "2026-05-05T21:59:59.999Z")
    add(bench, "not_yet", day[3])
    add(bench, "renewed", day[9])
    add(bench, "withdrawn", day[14])
    found = [state(bench, at=at) for at in day]
    assert [s.signed for s in found] == [False] + [True] * 4 + [False] * 4 + [True] * 5 + [False] * 5
    assert [s.expired for s in found].count(True) == 4
    assert found[18].withdrawn
    assert found[10].since == found[2].since


def test_a_lead_renews_and_withdraws_with_a_reason(bench, sign_in):
    add(bench, "signed_off", later(bench.now, days=-3), "2126-05-05T21:59:59.999Z")
    path, lead = f"/studies/sign-offs/people/{bench.people['trainee']}/whole", sign_in("lead")
    assert lead.post(f"{path}/renew", data={"months": "0", "reason": " "}).status_code == 422
    assert lead.post(f"{path}/renew", data={"months": "0", "reason": "Steady."}).status_code == 303
    assert state(bench).until is None
    assert lead.post(f"{path}/withdraw", data={"reason": "New dish."}).status_code == 303
    assert not state(bench).signed
    assert lead.get(f"{path}/renew").location == "/studies/sign-offs"
    text = lead.get("/studies/sign-offs").get_data(as_text=True)
    for word in ("Renewed", "Withdrawn", "New dish.", "withdrawn"):
        assert word in text
