"""Reading one coffee of a comparison on one side: guided, blind, and nothing typed is lost."""

import re
import uuid

import pytest

from tests.support.comparing import COFFEES, form, plan, read
from webapp.store import compared, comparisons, ledger
from webapp.store.compared import NewOutcome
from webapp.store.errors import AlreadyThere


def address(there, no=1, side="a"):
    return f"/comparisons/{there.id}/{no}/{side}"


def stored(bench, there):
    return comparisons.list_samples(bench.db, there.id)


@pytest.mark.parametrize("role", ["trainee", "roaster", "lead"])
def test_it_stores_what_anybody_reads(bench, sign_in, role):
    there = plan(bench)
    answer = sign_in(role).post(address(there), data=form([["56,1", "56.2"]]))
    assert (answer.status_code, answer.location) == (303, f"/comparisons/{there.id}")
    [sample] = stored(bench, there)
    assert (sample.coffee_no, sample.side, sample.role) == (1, "a", role)
    assert [(r.value, r.typed) for r in sample.readings] == [(5610, "56,1"), (5620, "56.2")]
    assert list(ledger.faults(bench.db)) == []


def test_it_stores_a_form_that_is_sent_twice_once(bench, sign_in):
    there, sent = plan(bench), form()
    client = sign_in("roaster")
    assert [client.post(address(there), data=sent).status_code for _again in range(2)] == [303, 303]
    assert len(stored(bench, there)) == 1
    changed = sent | {"fills-0-readings-0-value": "56.3"}
    assert client.post(address(there), data=changed).status_code == 409
    assert len(stored(bench, there)) == 1


def test_it_shows_the_meter_the_method_its_cautions_and_what_is_next(bench, sign_in):
    there = plan(bench, kind="ground")
    text = sign_in("trainee").page(address(there, 1, "b")).find("main")[0].text
    cautions = [step.caution for step in bench.versions["ground"].steps if step.caution]
    assert cautions
    assert all(caution in text for caution in cautions)
    for word in ("Meter N", "Grinder 1, 7", bench.versions["ground"].name):
        assert word in text
    page = sign_in("trainee").page(f"/comparisons/{there.id}").find("main")[0].text
    assert "Next: Cup 101 with Meter A" in re.sub(r"\s+", " ", page)


def test_it_goes_through_the_coffees_each_on_its_own_side_first(bench, sign_in):
    there, client, went = plan(bench, 2 + 8), sign_in("roaster"), []
    for _step in range(4):
        link = client.page(f"/comparisons/{there.id}").find("a", class_="primary")[0].attrs["href"]
        went.append(link.removeprefix(f"/comparisons/{there.id}/"))
        client.post(link, data=form())
    # Odd coffees of these plans are read on side a first, even ones on side b.
    assert went == ["1/a", "1/b", "2/b", "2/a"]


def test_it_keeps_the_coffees_names_from_everybody_who_reads(bench, sign_in):
    blind, named = plan(bench), plan(bench, blind=False)
    for role in ("trainee", "roaster", "lead"):
        client = sign_in(role)
        for path in (address(blind), f"/comparisons/{blind.id}", "/comparisons"):
            text = client.get(path).get_data(as_text=True)
            assert not [name for name in COFFEES if name in text], (role, path)
        assert COFFEES[0] in client.get(address(named)).get_data(as_text=True)
    key = sign_in("lead").page(f"/comparisons/{blind.id}/coffees").find("main")[0].text
    assert COFFEES[0] in key
    assert "101" in key
    for role in ("trainee", "roaster"):
        assert sign_in(role).get(f"/comparisons/{blind.id}/coffees").status_code == 403


def test_it_never_shows_a_number_while_there_is_something_to_read(bench, sign_in):
    """Neither the other side's nor one's own: the next reading is to be taken without it in mind."""
    there = plan(bench)
    read(bench, there, 1, "b", [61.7, 61.9])
    for path in (address(there), f"/comparisons/{there.id}", "/comparisons"):
        text = sign_in("roaster").get(path).get_data(as_text=True)
        assert "61.7" not in text
        assert "61.8" not in text


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("151", "This scale runs from 0.0 to 150.0."),
        ("562", "56.2? This scale runs from 0.0 to 150.0."),
        ("56.25", "This scale goes in steps of 0.1."),
        ("fifty", "Type a number as the meter shows it"),
        ("5.6.2", "Use one point or one comma"),
    ],
)
def test_it_refuses_beside_the_field_and_keeps_what_was_typed(bench, sign_in, typed, said):
    there = plan(bench)
    sent = form([[typed, "56.2"]], note="cup was cold")
    answer = sign_in("trainee").post(address(there), data=sent)
    text = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert said in text
    assert f'value="{typed}"' in text
    assert "cup was cold" in text
    assert sent["id"] in text
    assert not stored(bench, there)


def test_it_asks_for_every_reading_of_the_plan_or_a_tick(bench, sign_in):
    there, client, sent = plan(bench, fills=2), sign_in("roaster"), form([["56.1", "56.2"], ["56.1"]])
    text = client.post(address(there), data=sent).get_data(as_text=True)
    assert "Fill 2 has 1 reading, the plan asks for 2." in text
    assert client.post(address(there), data=sent | {"as_is": "y"}).status_code == 303
    assert client.post(address(there), data=form([["", ""], ["", ""]], as_is="y")).status_code == 422


def test_it_asks_for_one_more_when_readings_disagree(bench, sign_in):
    there, client = plan(bench), sign_in("roaster")
    sent = form([["56.1", "58.3"]])
    said = client.post(address(there), data=sent).get_data(as_text=True)
    assert "The readings of fill 1 disagree. Take 1 more" in said
    assert client.post(address(there), data=sent | {"fills-0-readings-2-value": "56.2"}).status_code == 303


def test_it_leaves_out_a_reading_that_does_not_count(bench, sign_in):
    there, client = plan(bench), sign_in("roaster")
    void = {"fills-0-readings-1-void": "mistyped"}
    client.post(address(there), data=form([["56.0", "96.0", "56.2"]], **void))
    assert compared.values(bench.db, there)[1, "a"].value == pytest.approx(56.1)
    assert len(stored(bench, there)[0].readings) == 3


def test_it_takes_the_mean_of_all_fills_of_a_coffee(bench):
    there = plan(bench, fills=2)
    read(bench, there, 3, "a", [56.0, 56.2], [57.0, 57.2])
    read(bench, there, 3, "a", [58.0, 58.2])
    value = compared.values(bench.db, there)[3, "a"]
    assert (value.value, value.fills) == (pytest.approx((56.1 + 57.1 + 58.1) / 3), 3)
    assert compared.values(bench.db, there)[3, "b"].value is None


def test_it_takes_nothing_after_the_outcome(bench, sign_in):
    there, client = plan(bench), sign_in("roaster")
    compared.add_outcome(
        bench.db, NewOutcome(str(uuid.uuid4()), there.id, "carry", 10, 0.0, 0.1, "same"), [], "", bench.who("lead"),
        bench.now,
    )  # fmt: skip
    assert client.get(address(there)).status_code == 303
    text = client.post(address(there), data=form()).get_data(as_text=True)
    assert "This comparison is concluded" in text
    assert 'value="56.1"' in text
    assert not stored(bench, there)


def test_it_knows_no_coffee_and_no_side_that_is_not_planned(bench, sign_in):
    there, client = plan(bench), sign_in("roaster")
    for path in (address(there, 13), address(there, 0), address(there, 1, "c"), f"/comparisons/{uuid.uuid4()}"):
        assert client.get(path).status_code == 404


def test_it_stores_no_other_content_under_one_number(bench):
    there = plan(bench)
    first = read(bench, there, 1, "a", [56.0])
    with pytest.raises(AlreadyThere):
        comparisons.add_sample(
            bench.db, comparisons.NewComparisonSample(first.id, there.id, 2, "a", "", first.made_at, first.readings),
            bench.who(), bench.now,
        )  # fmt: skip
