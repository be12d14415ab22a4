"""Accepting a precision study: from then on the method's spread comes from it, until a newer one is accepted."""

import html
import re
import uuid

import pytest

from tests.support.roastery import later
from tests.support.studying import plan, read, read_all
from webapp import measure
from webapp.store import ledger, methods, precision, results, sessions, spreads
from webapp.store.who import SYSTEM

# Made up: sums of squares that can be checked by hand. Two people, three fills, two readings; in each fill the readings
# lie 0.2 apart, the fill means of each person are m - 0.4, m, m + 0.4, and both people have the same mean.
VALUES = [[60.5, 60.7], [60.9, 61.1], [61.3, 61.5]]
# MS of readings = 0.2^2 / 2 = 0.02; MS of fills = 2 * 0.4^2 = 0.32; that of persons is 0, so the two upper ones are
# pooled: 0.32 * 4 / 5 = 0.256 (REML, Thompson 1962), and sigma_f^2 = (0.256 - 0.02) / 2.
SIGMA_R, SIGMA_F = 0.02**0.5, ((0.256 - 0.02) / 2) ** 0.5


@pytest.fixture
def lead(sign_in):
    return sign_in("lead")


def studied(bench, kind="ground", **changes):
    study = plan(bench, fills=3, readings=2, kind=kind, **changes)
    read_all(bench, study, {bench.people[role]: VALUES for role in ("lead", "roaster")})
    return study


def conclude(bench, client, study, outcome="accepted", **changes):
    """Send the form as its page would."""
    seen = len(precision.list_fills(bench.db, study.id))
    fields = {"id": str(uuid.uuid4()), "outcome": outcome, "reason": "Well mixed.", "seen": seen}
    return client.post(f"/studies/precision/{study.id}/result", data=fields | changes)


def sigmas(bench, version=None, kind="ground"):
    version = version or bench.versions[kind].id
    return spreads.sigmas_for(bench.db, version, bench.scale, kind, 150.0)


def words(client, path):
    answer = client.get(path)
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", answer.get_data(as_text=True))))


def test_it_gives_the_method_its_sigmas(bench, lead):
    study = studied(bench)
    assert sigmas(bench).source == "assumed"
    answer = conclude(bench, lead, study)
    assert (answer.status_code, answer.location) == (303, f"/studies/precision/{study.id}/result")
    found = sigmas(bench)
    assert found.source == "study"
    assert found.sigma_r == pytest.approx(SIGMA_R)
    assert found.sigma_f == pytest.approx(SIGMA_F)
    outcome = precision.find_outcome(bench.db, study.id)
    assert (outcome.persons, outcome.fills, outcome.readings) == (2, 3, 2)
    assert (outcome.df_r, outcome.sigma_p) == (6, 0)
    assert list(ledger.faults(bench.db)) == []


def test_a_sample_after_it_rests_on_the_study_and_one_before_does_not(bench, lead):
    batch = bench.batch()
    before = bench.sample(batch.id, "ground", [61.0, 61.1, 61.0])
    rows = list(bench.db.query("SELECT * FROM part_result"))
    conclude(bench, lead, studied(bench))
    assert list(bench.db.query("SELECT * FROM part_result")) == rows
    other = bench.batch()
    after = bench.sample(other.id, "ground", [61.0, 61.1, 61.0], at=later(bench.now, seconds=5))
    assert (before.sigmas.source, after.sigmas.source) == ("assumed", "study")
    part = results.get_parts(bench.db, other.id)["ground"]
    terms = (SIGMA_F**2, SIGMA_R**2 / 3, 0.1**2 / 12, 0.2**2 / 3)
    # The meter's part: a plate with tolerance 0.2 and no check yet, 0.2 / sqrt 3 (JCGM 100, 4.3.7).
    assert part.u == pytest.approx(sum(terms) ** 0.5)
    assert "(assumed)" in words(lead, f"/batches/{batch.id}")
    assert re.search(r"\(from the study of \d+ \w+ \d{4}\)", words(lead, f"/batches/{other.id}"))
    assert results.rebuild(bench.db, store=False) == []


def test_the_method_says_since_when_and_by_which_study(bench, lead):
    conclude(bench, lead, study := studied(bench))
    page = lead.page(f"/methods/{bench.methods['ground']}")
    text = " ".join(page.find("main")[0].text.split())
    assert "readings of one fill scatter by about 0.14, fills by about 0.34" in text
    assert re.search(r"Since .* by the study “Bench, spring”, accepted by Ada\.", text)
    assert page.find("a", href=f"/studies/precision/{study.id}/result")


def test_it_shows_the_old_numbers_beside_the_new_and_a_typical_verdict(bench, lead):
    """Assumed for ground on a scale of 150 units: 0.2 and 0.3 times 1.5."""
    text = words(lead, f"/studies/precision/{studied(bench).id}/result")
    assert "Readings of one fill scatter by 0.30 0.14" in text
    assert "Fills scatter by 0.45 0.34" in text
    # The product's band for ground ends at 62.5, its target is 61.0.
    assert "Lantern House, read 61.75, half way from the target to the light limit" in text
    u = [sum(terms) ** 0.5 for terms in ((0.45**2, 0.3**2 / 3, 0.1**2 / 12, 0.2**2 / 3),
                                         (SIGMA_F**2, SIGMA_R**2 / 3, 0.1**2 / 12, 0.2**2 / 3))]  # fmt: skip
    gives = " ".join(measure.show_give_or_take(2 * one, 0.01) for one in u)
    assert f"1 fill , 3 readings each {gives}" in re.sub(r" ,", " ,", text).replace("1 fill,", "1 fill ,")
    assert re.search(r"In band chance \d+ % In band chance (> )?\d+", text)


def test_setting_it_aside_changes_nothing(bench, lead):
    study = studied(bench)
    assert conclude(bench, lead, study, "set_aside", reason="The coffee was not mixed.").status_code == 303
    assert sigmas(bench).source == "assumed"
    assert precision.find_outcome(bench.db, study.id).sigma_r is None
    assert "Set aside" in words(lead, f"/studies/precision/{study.id}/result")


def test_it_asks_for_an_outcome_and_a_reason_and_keeps_what_was_typed(bench, lead):
    study = studied(bench)
    answer = conclude(bench, lead, study, reason=" ")
    assert answer.status_code == 422
    assert "Say in a few words why." in answer.get_data(as_text=True)
    assert re.search(r'<input[^>]*checked[^>]*value="accepted"', answer.get_data(as_text=True))
    assert conclude(bench, lead, study, "").status_code == 422
    assert precision.find_outcome(bench.db, study.id) is None


def test_it_stores_nothing_when_somebody_read_meanwhile(bench, lead):
    study = plan(bench, fills=4, readings=2)
    read_all(bench, study, {bench.people[role]: VALUES for role in ("lead", "roaster")})
    seen = len(precision.list_fills(bench.db, study.id))
    read(bench, study, 8, [60.0, 60.1])
    answer = conclude(bench, lead, study, seen=seen)
    assert answer.status_code == 422
    assert "Somebody has read more meanwhile." in answer.get_data(as_text=True)
    assert precision.find_outcome(bench.db, study.id) is None


def test_it_is_concluded_once(bench, lead):
    study = studied(bench)
    assert conclude(bench, lead, study).status_code == 303
    first = precision.find_outcome(bench.db, study.id)
    assert conclude(bench, lead, study, "set_aside").status_code == 303
    assert precision.find_outcome(bench.db, study.id) == first


def test_a_study_that_is_too_small_can_only_be_set_aside(bench, lead):
    study = plan(bench, fills=3, readings=2)
    read(bench, study, 1, [60.0, 60.1])
    assert conclude(bench, lead, study).status_code == 422
    assert precision.find_outcome(bench.db, study.id) is None
    assert conclude(bench, lead, study, "set_aside").status_code == 303
    outcome = precision.find_outcome(bench.db, study.id)
    assert (outcome.outcome, outcome.persons, outcome.fills) == ("set_aside", 1, 1)


def test_it_is_a_leads_alone_and_asks_for_the_pin_again(app, bench, sign_in, lead):
    study = studied(bench)
    for role in ("trainee", "roaster"):
        assert conclude(bench, sign_in(role), study).status_code == 403
    late = app.test_client()
    late.set_cookie("tablet", bench.tablet_secret)
    token = sessions.start_session(bench.db, bench.people["lead"], bench.tablet, 12, bench.now)
    sessions.confirm_session(bench.db, sessions.hashed(token), later(bench.now, minutes=-30))
    late.set_cookie("person", token)
    answer = conclude(bench, late, study)
    assert answer.status_code == 403
    assert "PIN" in answer.get_data(as_text=True)
    assert precision.find_outcome(bench.db, study.id) is None


def test_the_newest_accepted_study_counts_and_an_older_record_names_its_own(bench, lead):
    conclude(bench, lead, studied(bench))
    first = precision.accepted_for(bench.db, bench.versions["ground"].id, bench.scale)
    again = plan(bench, fills=3, readings=2, name="Bench, summer")
    read_all(bench, again, {bench.people[role]: [[60.0, 60.1], [60.2, 60.3], [60.1, 60.2]]
                            for role in ("lead", "roaster")})  # fmt: skip
    conclude(bench, lead, again)
    newest = precision.accepted_for(bench.db, bench.versions["ground"].id, bench.scale)
    assert newest.study_id == again.id
    at_first = precision.accepted_for(bench.db, bench.versions["ground"].id, bench.scale, until=first.received_at)
    assert at_first.study_id == first.study_id


def test_it_says_when_people_differ_more_than_the_give_or_take(bench, lead):
    study = plan(bench, fills=3, readings=2)
    apart = [[value + 3 for value in fill] for fill in VALUES]
    read_all(bench, study, {bench.people["lead"]: VALUES, bench.people["roaster"]: apart})
    text = words(lead, f"/studies/precision/{study.id}/result")
    assert "People differ more than the give or take says" in text
    assert "Training to one way of preparing, and signing people off, does." in text
    conclude(bench, lead, study)
    assert "People differ more than the give or take says" in words(lead, f"/studies/precision/{study.id}/result")
    assert "People differ more" not in words(lead, f"/studies/precision/{studied(bench).id}/result")


def another_version(bench, kind="ground", **changes):
    """The next version of the method: the same, but for what is changed."""
    now = methods.version_in_force(bench.db, bench.methods[kind])
    fields = {
        "dish": now.dish, "planned_readings": now.planned_readings, "planned_fills": now.planned_fills,
        "grinder_setting_id": now.grinder_setting_id, "steps": now.steps,
    }  # fmt: skip
    return methods.add_version(bench.db, now.method_id, **fields | changes, reason="x", who=SYSTEM, now=bench.now)


def test_it_holds_for_a_version_that_differs_in_fills_and_readings_alone(bench, lead):
    conclude(bench, lead, studied(bench))
    more = another_version(bench, planned_fills=2, planned_readings=5)
    assert sigmas(bench, more).source == "study"
    assert sigmas(bench, more).sigma_f == pytest.approx(SIGMA_F)
    text = words(lead, f"/methods/{bench.methods['ground']}")
    assert "It was made with version 1, which prepares samples in the same way." in text


@pytest.mark.parametrize("changes", [{"dish": "Another"}, {"grinder_setting_id": None}, "steps"])
def test_it_does_not_hold_for_another_preparation(bench, lead, changes):
    conclude(bench, lead, studied(bench))
    steps = bench.versions["ground"].steps
    other = another_version(bench, **({"steps": steps[:-1]} if changes == "steps" else changes))
    assert sigmas(bench, other).source == "assumed"
    # One after it that prepares as the studied one did goes by the study again.
    same = another_version(
        bench, dish=bench.versions["ground"].dish, grinder_setting_id=bench.setting, steps=steps, planned_fills=3
    )
    assert sigmas(bench, same).source == "study"


def test_it_holds_neither_for_another_scale_nor_for_another_method(bench, lead):
    conclude(bench, lead, studied(bench))
    assert spreads.sigmas_for(bench.db, bench.versions["ground"].id, bench.flipped, "ground", 100.0).source == "assumed"
    assert sigmas(bench, kind="whole").source == "assumed"


def test_it_says_that_a_newer_version_goes_another_way(bench, lead):
    study = studied(bench)
    another_version(bench, dish="Another")
    text = words(lead, f"/studies/precision/{study.id}/result")
    assert "The method is at version 2 meanwhile, which prepares samples in another way." in text
