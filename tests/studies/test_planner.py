"""The planner: what more fills and readings give and cost, and a plan that becomes the method's next version."""

import html
import re
import uuid

import pytest

from tests.support.roastery import later
from tests.support.studying import accept, plan
from webapp.store import ledger, methods, sessions, spreads
from webapp.store.who import SYSTEM

# The meter of the tests has a plate with tolerance 0.2 and no check: 0.2 / sqrt 3 (JCGM 100, 4.3.7); the step is 0.1.
OTHER = 0.1**2 / 12 + 0.2**2 / 3
SIGMA_R, SIGMA_F = 0.12, 0.25


def give(fills, readings):
    """Give or take as computation by hand has it (JCGM 100, 5.1.2)."""
    return 2 * (SIGMA_F**2 / fills + SIGMA_R**2 / (fills * readings) + OTHER) ** 0.5


@pytest.fixture
def lead(sign_in):
    return sign_in("lead")


@pytest.fixture
def study(bench):
    """An accepted study of the method for ground coffee: sigma_r 0.12, sigma_f 0.25."""
    there = plan(bench)
    accept(bench, there, SIGMA_R, SIGMA_F)
    return there


def path(bench, kind="ground", **query):
    asked = "&".join(f"{name}={value}" for name, value in query.items())
    return f"/studies/planner/{bench.methods[kind]}" + (f"?{asked}" if asked else "")


def words(client, where, status=200):
    answer = client.get(where)
    assert answer.status_code == status
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", answer.get_data(as_text=True))))


def cells(client, where):
    """(fills x readings) -> the text of its choice in the table."""
    page = client.page(where)
    labels = [e for e in page.find("label") if "plan" in e.attrs.get("class", "").split()]
    values = [e.attrs["value"] for e in page.find("input", name="plan")]
    return dict(zip(values, (" ".join(label.text.split()) for label in labels), strict=True))


def apply(bench, client, chosen="2x3", where=None, **changes):
    now = methods.version_in_force(bench.db, bench.methods["ground"])
    fields = {"id": str(uuid.uuid4()), "base": now.id, "plan": chosen, "reason": "Surer, with one more fill."}
    return client.post(where or path(bench), data=fields | changes)


def test_it_shows_give_or_take_and_minutes_of_every_plan(bench, lead, study):
    found = cells(lead, path(bench, fill_minutes="1.5", reading_minutes="0.25"))
    assert len(found) == 20
    # Rounded up to a hundredth: 2 fills, 3 readings; 4 fills, 5 readings.
    assert 0.43 < give(2, 3) <= 0.44
    assert "±0.44 4.5 min" in found["2x3"]
    assert 0.34 < give(4, 5) <= 0.35
    assert "±0.35 11 min" in found["4x5"]


def test_it_marks_the_plan_in_force_and_the_cheapest_that_reaches_what_is_wanted(bench, lead, study):
    found = cells(lead, path(bench, fill_minutes="2", reading_minutes="0,25", wanted="0,45"))
    assert found["1x3"].endswith("now")
    assert give(2, 2) < 0.45 < min(give(2, 1), give(1, 5))
    assert [name for name, text in found.items() if "cheapest" in text] == ["2x2"]
    text = words(lead, path(bench, fill_minutes="2", reading_minutes="0,25", wanted="0,45"))
    assert "The cheapest plan for give or take 0.45: 2 fills, 2 readings each: give or take 0.45 , 5 minutes" in text
    assert f"1 fill, 3 readings each: give or take {0.58:.2f}" in text
    assert 0.57 < give(1, 3) <= 0.58


def test_it_says_that_no_plan_reaches_what_is_wanted(bench, lead, study):
    text = words(lead, path(bench, wanted="0.3"))
    assert "No plan here reaches give or take 0.30. The least is 0.35." in text
    assert 0.23 < 2 * OTHER**0.5 <= 0.24
    assert "make 0.24 of it, whatever the plan" in text


def test_it_says_that_reading_again_does_not_shrink_the_fills_part(bench, lead, study):
    text = words(lead, path(bench))
    assert "Reading the same fill again does not shrink the fill’s part" in text
    assert 0.55 < 2 * (SIGMA_F**2 + OTHER) ** 0.5 <= 0.56
    assert "give or take never falls below 0.56 with this number of fills" in text
    page = lead.page(path(bench))
    bars = [e.attrs for e in page.find("rect", class_="piece")]
    heights = [float(bar["height"]) for bar in bars[:15] if bar["fill"] == "url(#part-fill)"]
    assert len(set(heights)) == 1
    readings = [float(bar["height"]) for bar in bars[:15] if bar["fill"] == "url(#part-reading)"]
    assert readings == sorted(readings, reverse=True)
    assert len(set(readings)) == 5


def test_it_goes_without_what_fills_add_where_nothing_was_found(bench, lead):
    accept(bench, plan(bench), SIGMA_R, 0.0)
    text = words(lead, path(bench))
    assert "Between fills nothing was found" in text
    assert "does not shrink the fill’s part" not in text


@pytest.mark.parametrize(("name", "typed"), [
    ("fill_minutes", "soon"), ("reading_minutes", ""), ("reading_minutes", "1.555"), ("wanted", "0"), ("wanted", "-1")
])  # fmt: skip
def test_it_says_what_is_wrong_with_a_number_and_keeps_it(bench, lead, study, name, typed):
    answer = lead.get(path(bench, **{name: typed}))
    assert answer.status_code == 422
    page = lead.page(path(bench, **{name: typed}), 422)
    assert page.find("input", name=name)[0].attrs["value"] == typed
    assert page.find("p", class_="error")
    assert not page.find("input", name="plan")


def test_it_refuses_a_meter_that_is_none(bench, lead, study):
    assert lead.get(path(bench, meter="nothing")).status_code == 422


def test_it_starts_with_the_methods_own_waiting_times(bench, lead):
    steps = list(bench.versions["ground"].steps)
    fill = next(at for at, step in enumerate(steps) if step.picture == "spread-shallow")
    steps[fill + 1] = steps[fill + 1].__class__(**{**steps[fill + 1].__dict__, "timer_s": 30})
    methods.add_version(bench.db, bench.methods["ground"], "Dish", 3, 1, bench.setting, steps, "x", SYSTEM, bench.now)
    page = lead.page(path(bench))
    # Two minutes and half a minute of waiting after filling; the meter's warm-up comes once a sample, not once a fill.
    assert page.find("input", name="fill_minutes")[0].attrs["value"] == "2.5"


def test_it_says_where_its_numbers_are_from(bench, lead, study):
    assert "from the study of" in words(lead, path(bench))
    text = words(lead, path(bench, "whole"))
    assert "(assumed)" in text
    assert "A precision study shows what is true at this bench." in text


def test_it_makes_a_plan_the_next_version_which_keeps_the_study(bench, lead, study):
    before = methods.version_in_force(bench.db, bench.methods["ground"])
    assert "the new version goes by the same study" in words(lead, path(bench))
    answer = apply(bench, lead, "2x3")
    assert (answer.status_code, answer.location) == (303, f"/methods/{bench.methods['ground']}")
    after = methods.version_in_force(bench.db, bench.methods["ground"])
    assert (after.no, after.planned_fills, after.planned_readings) == (2, 2, 3)
    assert (after.dish, after.grinder_setting_id, after.steps) == (before.dish, before.grinder_setting_id, before.steps)
    assert (after.reason, after.person_name) == ("Surer, with one more fill.", "Ada")
    sigmas = spreads.sigmas_for(bench.db, after.id, bench.scale, "ground", 150.0)
    assert (sigmas.sigma_r, sigmas.sigma_f, sigmas.source) == (SIGMA_R, SIGMA_F, "study")
    assert list(ledger.faults(bench.db)) == []


def test_it_warns_that_routine_work_does_not_carry_over(bench, lead):
    batch = bench.batch()
    for _no in range(12):
        bench.sample(batch.id, "ground", [61.0, 61.2, 61.1], [61.4, 61.3, 61.4])
    text = words(lead, path(bench))
    assert "belongs to version 1: the new version begins with an assumed spread" in text
    apply(bench, lead, "2x3")
    after = methods.version_in_force(bench.db, bench.methods["ground"])
    assert spreads.sigmas_for(bench.db, after.id, bench.scale, "ground", 150.0).source == "assumed"


def test_it_makes_one_version_of_a_form_that_is_sent_twice(bench, lead, study):
    now, id = methods.version_in_force(bench.db, bench.methods["ground"]).id, str(uuid.uuid4())
    for _again in range(2):
        assert apply(bench, lead, id=id, base=now).status_code == 303
    assert len(methods.list_versions(bench.db, bench.methods["ground"])) == 2


def test_it_asks_for_a_plan_and_a_reason_and_keeps_the_numbers(bench, lead, study):
    where = path(bench, fill_minutes="1,5", wanted="0,45")
    answer = apply(bench, lead, "2x3", where, reason=" ")
    assert answer.status_code == 422
    text = answer.get_data(as_text=True)
    assert "Say in a few words why." in text
    assert 'value="1,5"' in text
    assert re.search(r'value="2x3" checked', text)
    assert apply(bench, lead, "").status_code == 422
    assert apply(bench, lead, "9x9").status_code == 422
    same = apply(bench, lead, "1x3")
    assert same.status_code == 422
    assert "This is the plan in force." in same.get_data(as_text=True)
    assert len(methods.list_versions(bench.db, bench.methods["ground"])) == 1


def test_it_stores_nothing_when_somebody_changed_the_method_meanwhile(bench, lead, study):
    old = bench.versions["ground"]
    changed = ("Other", 3, 1, bench.setting, old.steps, "x")
    methods.add_version(bench.db, old.method_id, *changed, bench.who("lead"), bench.now)
    answer = apply(bench, lead, base=old.id)
    assert answer.status_code == 422
    assert "stored version 2 meanwhile" in answer.get_data(as_text=True)
    assert len(methods.list_versions(bench.db, bench.methods["ground"])) == 2


def test_it_is_a_leads_alone_and_asks_for_the_pin_again(app, bench, sign_in, study):
    for role in ("trainee", "roaster"):
        assert sign_in(role).get(path(bench)).status_code == 403
        assert apply(bench, sign_in(role)).status_code == 403
    late = app.test_client()
    late.set_cookie("tablet", bench.tablet_secret)
    token = sessions.start_session(bench.db, bench.people["lead"], bench.tablet, 12, bench.now)
    sessions.confirm_session(bench.db, sessions.hashed(token), later(bench.now, minutes=-30))
    late.set_cookie("person", token)
    assert apply(bench, late).status_code == 403
    assert len(methods.list_versions(bench.db, bench.methods["ground"])) == 1


def test_it_finds_no_method_that_is_not_there(lead):
    assert lead.get(f"/studies/planner/{uuid.uuid4()}").status_code == 404


def test_a_plan_outside_of_the_table_is_said_too(bench, lead, study):
    old = bench.versions["ground"]
    methods.add_version(bench.db, old.method_id, old.dish, 8, 1, bench.setting, old.steps, "x", SYSTEM, bench.now)
    assert "1 fill, 8 readings each: give or take 0.57" in words(lead, path(bench))
    assert 0.56 < give(1, 8) <= 0.57
