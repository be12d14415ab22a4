"""Planning a precision study: who prepares which coffee how often, what that takes, and in which order."""

import re
import uuid
from collections import Counter
from html import unescape

import pytest

from tests.support.studying import accept, plan, read
from webapp.store import ledger, methods, people, precision, spreads
from webapp.store.errors import AlreadyThere, NotFound
from webapp.store.precision import NewPlace
from webapp.store.who import SYSTEM

WHERE = "/studies/precision/new"


@pytest.fixture
def lead(sign_in):
    return sign_in("lead")


@pytest.fixture
def fields(bench):
    """The form, filled in."""
    return {
        "id": str(uuid.uuid4()), "name": "Ground, spring", "coffee": "Lantern House, batch 7", "meter": bench.meter,
        "method": bench.versions["ground"].id, "persons": [bench.people[role] for role in ("roaster", "trainee")],
        "fills": "3", "readings": "2", "minutes": "2,5", "grams": "25",
    }  # fmt: skip


def stored(bench):
    return precision.list_studies(bench.db)


def shown(client, fields):
    """The page that says what it takes: (its text, the form with what was shown)."""
    answer = client.post(WHERE, data=fields)
    assert answer.status_code == 200
    html = answer.get_data(as_text=True)
    seen = re.search(r'name="seen"[^>]*value="([0-9a-f]+)"', html)[1]
    return re.sub(r"\s+", " ", unescape(re.sub("<[^>]+>", " ", html))), fields | {"seen": seen}


def refused(client, fields):
    answer = client.post(WHERE, data=fields)
    assert answer.status_code == 422
    return answer.get_data(as_text=True)


def test_it_shows_what_it_takes_and_stores_it_then(bench, lead, fields):
    """6 fills of 2.5 minutes and the timers of the method's steps."""
    version = bench.versions["ground"]
    timers = sum(step.timer_s or 0 for step in version.steps)
    assert timers
    said, again = shown(lead, fields)
    assert not stored(bench)
    assert f"It takes about {-(-(6 * (timers + 150)) // 60)} minutes, and 150 g of coffee" in said
    assert f"about {-(-(3 * (timers + 150)) // 60)} minutes of each person" in said
    assert "6 fills in all, 12 readings" in said
    cautions = [step.caution for step in version.steps if step.caution]
    assert cautions
    assert all(caution in said for caution in cautions)
    answer = lead.post(WHERE, data=again)
    assert answer.status_code == 303
    [there] = stored(bench)
    assert (there.kind, there.scale.id, there.fills, there.readings) == ("ground", bench.scale, 3, 2)
    assert (there.name, there.coffee, there.meter.name) == ("Ground, spring", "Lantern House, batch 7", "Meter A")
    assert there.persons == {bench.people[role]: name for role, name in (("roaster", "Ravi"), ("trainee", "Tomas"))}
    assert "0 of 6 fills are read" in lead.page(answer.location).find("main")[0].text
    assert list(ledger.faults(bench.db)) == []


def test_it_stores_nothing_but_what_was_shown(bench, lead, fields):
    _said, again = shown(lead, fields)
    said, again = shown(lead, again | {"fills": "5"})
    assert not stored(bench)
    assert "10 fills in all, 20 readings" in said
    lead.post(WHERE, data=again)
    assert stored(bench)[0].fills == 5


def test_it_invents_no_mass_and_says_so(lead, fields):
    said, _again = shown(lead, fields | {"grams": ""})
    assert "how much a fill takes is not typed in" in said
    assert "g of coffee" not in said


def test_it_gives_everybody_one_fill_a_round_in_a_random_order(bench, lead, fields):
    """Randomised blocks: NIST/SEMATECH e-Handbook 5.3.3.2."""
    everybody = [bench.people[role] for role in ("lead", "roaster", "trainee")]
    for _study in range(2):
        _said, again = shown(lead, fields | {"id": str(uuid.uuid4()), "persons": everybody, "fills": "20"})
        lead.post(WHERE, data=again)
    one, other = stored(bench)
    for study in (one, other):
        assert [place.no for place in study.places] == list(range(1, 61))
        for round in range(20):
            there = study.places[3 * round : 3 * round + 3]
            assert {place.preparer_id for place in there} == set(everybody)
            assert {place.fill_no for place in there} == {round + 1}
        # Who is first in a round: by chance never the same person twenty times, one in 3^19.
        assert len({study.places[3 * round].preparer_id for round in range(20)}) > 1
    # By chance alike: one in 6^20.
    assert [p.preparer_id for p in one.places] != [p.preparer_id for p in other.places]


@pytest.mark.parametrize(
    ("persons", "fills", "readings", "enough"),
    [(2, 3, 2, True), (2, 2, 2, False), (1, 6, 2, True), (1, 5, 2, False), (3, 3, 2, True), (1, 6, 10, True)],
)
def test_it_refuses_what_is_too_little_in_plain_words(bench, lead, fields, persons, fills, readings, enough):
    who = list(bench.people.values())[:persons]
    sent = fields | {"persons": who, "fills": str(fills), "readings": str(readings)}
    if enough:
        shown(lead, sent)
    else:
        said = refused(lead, sent)
        assert "at least 2 persons with 3 fills each, or one person with 6 fills, and 2 readings of each fill" in said
        assert f'value="{fills}"' in said


@pytest.mark.parametrize("field", ["name", "coffee", "method", "meter", "persons", "fills", "readings", "minutes"])
def test_it_asks_for_what_is_missing_and_keeps_the_rest(bench, lead, fields, field):
    said = refused(lead, fields | {field: ""})
    if field not in ("name", "coffee"):
        assert "Ground, spring" in said
        assert "Lantern House, batch 7" in said
    assert not stored(bench)


@pytest.mark.parametrize(
    ("field", "typed"), [("fills", "1"), ("fills", "21"), ("readings", "1"), ("readings", "3.5"), ("minutes", "-1"),
                         ("minutes", "soon"), ("grams", "0"), ("grams", "some")],
)  # fmt: skip
def test_it_refuses_beside_the_field(lead, fields, field, typed):
    said = refused(lead, fields | {field: typed})
    assert f'id="{field}-error-1"' in said
    assert f'value="{typed}"' in said


def test_it_asks_again_when_somebody_has_left(bench, lead, fields):
    people.change_person(bench.db, bench.people["trainee"], "Tomas", "trainee", False, SYSTEM, bench.now)
    assert "does not work here any more" in refused(lead, fields)


def test_it_makes_one_plan_of_a_form_that_is_sent_twice(bench, lead, fields):
    _said, again = shown(lead, fields)
    first = lead.post(WHERE, data=again)
    places = stored(bench)[0].places
    assert lead.post(WHERE, data=again).location == first.location
    assert [study.places for study in stored(bench)] == [places]


def test_it_lets_only_a_lead_plan(bench, sign_in, fields):
    for role in ("trainee", "roaster"):
        client = sign_in(role)
        assert client.post(WHERE, data=fields).status_code == 403
        assert "A lead plans it" in client.page("/studies/precision").find("main")[0].text
    assert not stored(bench)


def test_it_says_what_studies_are_for(lead):
    assert "how large each part is at your bench" in lead.page("/studies/precision").find("main")[0].text
    links = {e.attrs["href"] for e in lead.page("/studies").find("a")}
    assert {"/studies/precision", "/comparisons"} <= links


def test_the_store_takes_only_whole_plans(bench):
    """The store's own word, whoever asks."""
    people = bench.people
    short = (NewPlace(1, people["lead"], 1), NewPlace(2, people["lead"], 2))
    for places, word in (
        (short, "every fill"),
        ((*short, NewPlace(3, people["lead"], 2)), "every fill"),
        ((*short, NewPlace(4, people["lead"], 3)), "numbered"),
        ((), "numbered"),
    ):
        with pytest.raises(ValueError, match=word):
            plan(bench, places=places)
    there = plan(bench)
    for change in ({"coffee": "Another"}, {"roles": ("lead", "trainee")}):
        with pytest.raises(AlreadyThere):
            plan(bench, id=there.id, **change)
    with pytest.raises(NotFound):
        plan(bench, meter_id=str(uuid.uuid4()))
    with pytest.raises(NotFound):
        precision.get_study(bench.db, str(uuid.uuid4()))


def test_an_accepted_study_gives_the_sigmas_of_its_method_version_and_scale(bench):
    def sigmas(version=bench.versions["ground"].id, scale=bench.scale):
        return spreads.sigmas_for(bench.db, version, scale, "ground", 150.0)

    assert sigmas().source == "assumed"
    first, aside, second = plan(bench), plan(bench), plan(bench)
    accept(bench, first, 0.12, 0.25)
    nothing = dict.fromkeys(("sigma_r", "sigma_f", "df_r", "df_f"))
    outcome = accept(bench, aside, outcome="set_aside", **nothing)
    assert (outcome.outcome, outcome.person_name) == ("set_aside", "Ada")
    assert (sigmas().sigma_r, sigmas().sigma_f, sigmas().source) == (0.12, 0.25, "study")
    accept(bench, second, 0.15, 0.0)
    assert (sigmas().sigma_r, sigmas().sigma_f) == (0.15, 0.0)
    assert precision.accepted_for(bench.db, bench.versions["ground"].id, bench.scale).study_id == second.id
    # Neither another scale nor another version of the method.
    newer = methods.add_version(
        bench.db, bench.methods["ground"], "", 3, 1, None, bench.versions["ground"].steps, "less", SYSTEM, bench.now
    )
    assert {sigmas(scale=bench.flipped).source, sigmas(version=newer).source} == {"assumed"}


def test_a_study_has_one_outcome(bench):
    there = plan(bench)
    first = accept(bench, there)
    assert accept(bench, there, id=first.id) == first
    for change in ({}, {"id": first.id, "sigma_f": 0.3}):
        with pytest.raises(AlreadyThere):
            accept(bench, there, **change)
    with pytest.raises(NotFound):
        accept(bench, there, study_id=str(uuid.uuid4()))
    assert [study.id for study in precision.list_open(bench.db)] == []
    assert list(ledger.faults(bench.db)) == []


def test_the_values_are_those_of_the_first_fill_of_each_place_until_the_outcome(bench):
    there = plan(bench)
    read(bench, there, 1, [61.1, None, 61.3])
    read(bench, there, 1, [65.0, 65.0])
    read(bench, there, 4, [None])
    accept(bench, there)
    bench.now = bench.now.replace(year=bench.now.year + 1)
    read(bench, there, 2, [62.0, 62.1])
    lead, roaster = bench.people["lead"], bench.people["roaster"]
    assert precision.values(bench.db, there) == {lead: [[61.1, 61.3], [], []], roaster: [[], [], []]}
    assert Counter(fill.place_no for fill in precision.list_fills(bench.db, there.id)) == {1: 2, 4: 1, 2: 1}
