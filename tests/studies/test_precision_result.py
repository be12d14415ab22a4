"""The result of a precision study: one sentence, the drawings, the numbers, and who may see them when."""

import html
import re

import pytest

from tests.support.furnace import FURNACE
from tests.support.roastery import BEGINNING
from tests.support.studying import accept, plan, read, read_all
from webapp.store import people, precision
from webapp.store.precision import NewPlace
from webapp.store.who import SYSTEM
from webapp.studies import precision_drawing as drawing

# Made up: fills far apart, readings close together, people alike.
FILLS_DIFFER = {
    "lead": [[60.0, 60.1], [61.5, 61.6], [59.0, 59.0], [60.6, 60.7], [61.9, 61.9], [58.8, 58.9]],
    "roaster": [[61.4, 61.4], [59.1, 59.2], [60.3, 60.3], [62.0, 61.9], [58.9, 59.0], [60.5, 60.4]],
}


def said(client, study, query=""):
    """The result's text with single blanks."""
    answer = client.get(f"/studies/precision/{study.id}/result{query}")
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", answer.get_data(as_text=True))))


def by_id(bench, values):
    """Values by role as values by person."""
    return {bench.people[role]: fills for role, fills in values.items()}


def studied(bench, values, **changes):
    """A study that is read as far as these values go."""
    most = max(len(fills) for fills in values.values())
    study = plan(bench, tuple(values), **{"fills": most, "readings": 2} | changes)
    read_all(bench, study, by_id(bench, values))
    return study


@pytest.fixture
def lead(sign_in):
    return sign_in("lead")


def test_it_shows_a_published_study(bench, lead):
    """Printed there: standard deviations 17.679, 15.013 and 10.995, shares 47.44, 34.21 and 18.35 %, F 5.37404 and
    4.72864, degrees of freedom 20, 63 and 84. Read in tenths, so that they lie on the bench's scale."""
    runs = [people.add_person(bench.db, f"Run {no}", "roaster", f"90{no:04}", SYSTEM, BEGINNING) for no in range(21)]
    places = tuple(NewPlace(at + 21 * fill + 1, run, fill + 1) for fill in range(4) for at, run in enumerate(runs))
    study = plan(bench, fills=4, readings=2, places=places)
    tenths = {run: [[r / 10 for r in fill] for fill in fills] for run, fills in zip(runs, FURNACE, strict=True)}
    read_all(bench, study, tenths)
    text = said(lead, study)
    assert re.search(r"Reading 1\.10 [\d.]+ to [\d.]+ 18 %", text)
    assert re.search(r"Filling the dish 1\.50 [\d.]+ to [\d.]+ 34 %", text)
    assert re.search(r"Person 1\.77 [\d.]+ to [\d.]+ 47 %", text)
    assert re.search(r"persons [\d.]+ 20 [\d.]+ 5\.374 ", text)
    assert re.search(r"fills of a person [\d.]+ 63 [\d.]+ 4\.729 ", text)
    assert "No single thing stands out in what moves this number." in text
    assert "The largest share is who prepares the sample, but how the dish is filled or the reading itself" in text


def test_it_says_in_one_sentence_where_the_variation_comes_from(bench, lead):
    page = lead.page(f"/studies/precision/{studied(bench, {'lead': FILLS_DIFFER['lead']}).id}/result")
    assert page.find("h1")[0].text.strip() == "Most of what moves this number is how the dish is filled."


def test_its_reproducibility_stands_on_every_complete_fill(bench, lead):
    """ISO 5725-2, 7.4, worked out here for six fills of one and four of the other: 2.8 s_R."""
    study = studied(bench, FILLS_DIFFER | {"roaster": FILLS_DIFFER["roaster"][:4]})
    ada, ravi = ([(a + b) / 2 for a, b in fills] for fills in (FILLS_DIFFER["lead"], FILLS_DIFFER["roaster"][:4]))
    centre = sum(ada + ravi) / 10
    means = sum(ada) / 6, sum(ravi) / 4
    within = (sum((x - means[0]) ** 2 for x in ada) + sum((x - means[1]) ** 2 for x in ravi)) / 8
    between = 6 * (means[0] - centre) ** 2 + 4 * (means[1] - centre) ** 2
    s_R = (within + max(0.0, (between - within) / (10 - (36 + 16) / 10))) ** 0.5
    assert f"Reproducibility limit R {2.8 * s_R:.2f} Two people" in said(lead, study)
    alone = studied(bench, {"lead": FILLS_DIFFER["lead"]}, name="Alone")
    assert "Reproducibility limit R" not in said(lead, alone)


def test_it_does_not_take_two_people_for_all(bench, lead):
    """They differ little here, but two are too few to say so of people: their interval reaches far."""
    ravi = [[value + 0.5 for value in fill] for fill in FILLS_DIFFER["roaster"]]
    text = said(lead, studied(bench, FILLS_DIFFER | {"roaster": ravi}))
    assert "Most of what moves this number seems to be how the dish is filled." in text
    assert "but who prepares the sample could matter as much. More people would tell." in text


def test_it_is_careful_where_the_intervals_overlap(bench, lead):
    ada, ravi = [[60.0, 60.4], [60.9, 60.6], [60.1, 59.8]], [[60.2, 60.5], [61.0, 60.6], [60.0, 60.3]]
    study = studied(bench, {"lead": ada, "roaster": ravi})
    text = said(lead, study)
    assert "seems to be how the dish is filled" in text
    assert "but the reading itself or who prepares the sample could matter as much." in text


def test_it_says_that_nothing_found_is_not_nothing(bench, lead):
    """Fills whose means are the same while their readings scatter: the estimate of the fill comes out below zero."""
    study = studied(bench, {"lead": [[60.0, 61.0]] * 3, "roaster": [[61.0, 60.0]] * 3})
    text = said(lead, study)
    assert "Most of what moves this number is the reading itself." in text or "seems to be the reading itself" in text
    assert "From filling nothing was found" in text
    assert "Between people nothing was found" in text
    assert "Nothing found does not mean that there is none" in text
    assert re.search(r"Filling the dish 0\.00 0\.00 to [\d.]+ none found", text)


def test_it_says_so_when_every_reading_was_the_same(bench, lead):
    text = said(lead, studied(bench, {"lead": [[60.0, 60.0]] * 3, "roaster": [[60.0, 60.0]] * 3}))
    assert "Every reading was the same: this study shows no variation at all." in text


def test_it_knows_nothing_of_people_where_one_did_it_all(bench, lead):
    text = said(lead, studied(bench, {"lead": FILLS_DIFFER["lead"]}))
    assert "One person prepared everything: how much people differ is not known." in text
    assert not re.search(r"Person \d", text)


def test_it_is_not_shown_while_it_is_open(bench, sign_in):
    study = studied(bench, FILLS_DIFFER)
    for role in ("trainee", "roaster"):
        text = said(sign_in(role), study, "?look=yes")
        assert "While a study is open only a lead looks at it" in text
        assert "how the dish is filled" not in text
        assert "60." not in text


def test_it_keeps_the_numbers_from_a_lead_who_still_has_to_read(bench, lead):
    study = studied(bench, {"lead": FILLS_DIFFER["lead"][:4], "roaster": FILLS_DIFFER["roaster"]})
    text = said(lead, study)
    assert "You have 2 fills still to read" in text
    assert "how the dish is filled" not in text
    assert "how the dish is filled" in said(lead, study, "?look=yes")


def test_it_is_shown_to_everybody_once_it_is_concluded(bench, sign_in):
    study = studied(bench, FILLS_DIFFER)
    accept(bench, study)
    text = said(sign_in("trainee"), study)
    assert "Most of what moves this number is how the dish is filled." in text
    assert "Accepted Ada" in text
    assert "Store the outcome" not in text


def test_it_says_what_is_left_out_and_why(bench, lead):
    study = plan(bench, fills=6, readings=2)
    values = {"lead": FILLS_DIFFER["lead"], "roaster": [*FILLS_DIFFER["roaster"][:3], [None, 61.9], [58.9, 59.0]]}
    read_all(bench, study, by_id(bench, values))
    text = said(lead, study)
    assert "Ada, fills 5, 6: others have fewer, and everybody counts alike." in text
    assert "Ravi, fill 4: fewer readings than planned count." in text
    assert "Ravi, fill 6: not read yet." in text
    assert "2 persons, 4 fills each, 2 readings of each fill." in text


def test_it_refuses_a_study_that_is_too_small_and_says_what_is_missing(bench, lead):
    study = plan(bench, fills=3, readings=2)
    read_all(bench, study, by_id(bench, {"lead": FILLS_DIFFER["lead"][:3], "roaster": FILLS_DIFFER["roaster"][:1]}))
    text = said(lead, study)
    assert "Too little is read for a result" in text
    assert "Still missing for a first result: 2 more fills by Ravi." in text
    assert "Ravi: 1 of 3 fills" in text
    assert "Standard deviation" not in text


def test_it_points_at_odd_values_and_drops_none(bench, lead):
    """One fill whose readings lie 3 apart among steady ones (Cochran's test, ISO 5725-2): it stays in the sums."""
    values = {role: [[60.0, 60.2], [60.3, 60.1], [60.2, 60.2], [60.0, 60.1]] for role in ("lead", "roaster", "trainee")}
    values["roaster"] = [[60.0, 60.2], [60.3, 63.3], [60.2, 60.2], [60.0, 60.1]]
    study = studied(bench, values)
    page = lead.page(f"/studies/precision/{study.id}/result")
    assert "Ravi, fill 2: its readings scatter more than those of the other fills." in page.find("ol")[0].text
    assert len(page.find("rect", class_="ring")) >= 1
    text = said(lead, study)
    # Pooled by hand: the squares of half the differences, twice: (11 fills of at most 0.2 apart) + 3.0^2 / 2.
    squares = [(a - b) ** 2 / 2 for fills in values.values() for a, b in fills]
    assert f"Reading {(sum(squares) / len(squares)) ** 0.5:.2f}" in text
    assert len(page.find("rect", class_="dot")) >= 24


@pytest.mark.parametrize("lighter", [1, -1])
def test_it_draws_lighter_above_whichever_way_the_scale_runs(lighter):
    person = drawing.Person("Ada", [[60.0, 60.1], [61.0, 61.1]], frozenset({0, 1}), {})
    first, second = drawing.dots([person], 2, 0.1, lighter).groups[0].columns
    assert (second.mean < first.mean) == (lighter > 0)


def test_it_draws_shares_that_make_up_the_whole():
    found = drawing.slices({"person": 0.5, "fill": 0.3, "reading": 0.2}, ("reading", "fill", "person"))
    assert [(s.part, s.start, s.width) for s in found] == [
        ("reading", 0.0, 20.0), ("fill", 20.0, 30.0), ("person", 50.0, 50.0)
    ]  # fmt: skip


def test_it_gives_an_odd_fill_the_number_that_it_has_in_the_plan(bench, lead):
    """The first fill is not read: the odd one is the third of the plan, although the second that counts."""
    study = plan(bench, ("lead", "roaster", "trainee"), fills=5, readings=2)
    steady = [[60.0, 60.2], [60.3, 60.1], [60.2, 60.2], [60.0, 60.1]]
    for place in study.places:
        if place.preparer_id == bench.people["roaster"] and place.fill_no == 1:
            continue
        values = steady[place.fill_no % 4]
        read(bench, study, place.no, [60.3, 63.3] if place.no == 8 else values)
    assert (study.place(8).preparer_name, study.place(8).fill_no) == ("Ravi", 3)
    assert "Ravi, fill 3: its readings scatter more" in said(lead, study)
    assert precision.find_outcome(bench.db, study.id) is None
