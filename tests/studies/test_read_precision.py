"""Reading one fill of a precision study: by its own person, guided, and without a number in sight."""

import re
import uuid

import pytest

from tests.support.studying import accept, form, plan, read
from webapp.store import ledger, precision
from webapp.store.errors import AlreadyThere, NotFound
from webapp.store.precision import AnothersPlace, NewFill


def address(there, no=1):
    return f"/studies/precision/{there.id}/{no}"


def stored(bench, there):
    return precision.list_fills(bench.db, there.id)


def main(client, path):
    return re.sub(r"\s+", " ", client.page(path).find("main")[0].text)


@pytest.mark.parametrize("role", ["trainee", "roaster", "lead"])
def test_it_stores_what_its_own_person_reads(bench, sign_in, role):
    there = plan(bench, [role], 6)
    answer = sign_in(role).post(address(there), data=form(["61,1", "61.2"], note="cold cup"))
    assert (answer.status_code, answer.location) == (303, f"/studies/precision/{there.id}")
    [fill] = stored(bench, there)
    assert (fill.place_no, fill.person_id, fill.role, fill.note) == (1, bench.people[role], role, "cold cup")
    assert [(r.value, r.typed) for r in fill.readings] == [(6110, "61,1"), (6120, "61.2")]
    assert fill.counted == [61.1, 61.2]
    assert list(ledger.faults(bench.db)) == []


def test_it_is_read_by_nobody_else(bench, sign_in):
    there, client = plan(bench), sign_in("roaster")
    page = client.page(address(there))
    text = page.find("main")[0].text
    assert "This is a fill of Ada" in text
    assert not page.find("input", name="readings-0-value")
    links = {e.attrs.get("href") for e in page.find("a")}
    # How to change person, and where one's own fill is.
    assert {f"/sign-in?next={address(there)}", address(there, 2)} <= {link.replace("%2F", "/") for link in links}
    answer = client.post(address(there), data=form(["61.1", "61.2"], note="kept"))
    text = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "This is a fill of Ada, and only they can read it" in text
    assert 'value="61.1"' in text
    assert "kept" in text
    assert not stored(bench, there)


def test_it_shows_the_method_its_cautions_the_meter_and_the_coffee(bench, sign_in):
    there = plan(bench)
    text = main(sign_in("lead"), address(there))
    version = bench.versions["ground"]
    cautions = [step.caution for step in version.steps if step.caution]
    assert cautions
    assert all(caution in text for caution in cautions)
    assert all(step.title in text for step in version.steps)
    for word in ("Ada, fill 1 of 3", "Lantern House, one batch", "Meter A", "Grinder 1, 7", version.name):
        assert word in text


def test_it_goes_on_from_fill_to_fill_and_says_whose_turn_it_is(bench, sign_in):
    """Lead and roaster in turn: places 1, 3 and 5 are the lead's."""
    there, client = plan(bench), sign_in("lead")
    where, went = f"/studies/precision/{there.id}", []
    for _fill in range(3):
        link = client.page(where).find("a", class_="primary")[0].attrs["href"]
        went.append(int(link.removeprefix(f"{where}/")))
        client.post(link, data=form())
    assert went == [1, 3, 5]
    text = main(client, where)
    for words in ("Next: Ravi", "All your fills are read.", "3 of 6 fills are read", "Ada 3 of 3", "Ravi 0 of 3"):
        assert words in text
    text = main(sign_in("trainee"), where)
    assert "You take no part in this study." in text


def test_it_says_that_another_comes_first_and_does_not_wait_for_them(bench, sign_in):
    there = plan(bench)
    text = main(sign_in("roaster"), f"/studies/precision/{there.id}")
    assert "Your next fill: 1 of 3" in text
    assert "it is the turn of Ada first" in text
    assert sign_in("roaster").post(address(there, 2), data=form()).status_code == 303


def test_it_says_when_all_is_read(bench, sign_in):
    there = plan(bench)
    for place in there.places:
        read(bench, there, place.no, [61.1, 61.2])
    for path in (f"/studies/precision/{there.id}", "/studies/precision"):
        assert "All fills are read" in main(sign_in("roaster"), path)


def test_it_never_shows_a_number_while_it_is_open(bench, sign_in):
    """Neither another's nor one's own: the next fill is to be read without it in mind."""
    there = plan(bench)
    read(bench, there, 1, [57.1, 57.3])
    read(bench, there, 2, [57.1, 57.3])
    for role in ("trainee", "roaster", "lead"):
        client = sign_in(role)
        for path in (address(there, 3), f"/studies/precision/{there.id}", "/studies/precision", "/studies"):
            text = client.get(path).get_data(as_text=True)
            assert not re.search(r"57[.,][123]|\b57[123]0\b", text), (role, path)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("151", "This scale runs from 0.0 to 150.0."),
        ("56.25", "This scale goes in steps of 0.1."),
        ("fifty", "Type a number as the meter shows it"),
        ("5.6.2", "Use one point or one comma"),
    ],
)
def test_it_refuses_beside_the_field_and_keeps_what_was_typed(bench, sign_in, typed, said):
    there, sent = plan(bench), form([typed, "56.2"], note="cup was cold")
    answer = sign_in("lead").post(address(there), data=sent)
    text = answer.get_data(as_text=True)
    assert answer.status_code == 422
    for words in (said, f'value="{typed}"', "cup was cold", sent["id"]):
        assert words in text
    assert not stored(bench, there)


def test_it_asks_for_every_reading_of_the_plan_or_a_tick(bench, sign_in):
    there, client, sent = plan(bench, readings=3), sign_in("lead"), form(["61.1", "61.2"])
    text = client.post(address(there), data=sent).get_data(as_text=True)
    assert "This fill has 2 readings, the study asks for 3." in text
    assert client.post(address(there), data=form(["", ""], as_is="y")).status_code == 422
    void = {"readings-1-void": "moved"}
    assert client.post(address(there), data=form(["61.1", "66.0", "61.2", "61.3"], **void)).status_code == 303
    assert client.post(address(there, 3), data=sent | {"as_is": "y"}).status_code == 303
    assert [fill.counted for fill in stored(bench, there)] == [[61.1, 61.2, 61.3], [61.1, 61.2]]


def test_it_asks_about_a_reading_far_from_its_fellows_once(bench, sign_in):
    there, client = plan(bench, readings=3), sign_in("lead")
    sent = form(["61.1", "61.2", "66.1"])
    text = client.post(address(there), data=sent).get_data(as_text=True)
    assert "Far from the other readings of this fill." in text
    assert 'name="readings-2-sure"' in text
    assert client.post(address(there), data=sent | {"readings-2-sure": "y"}).status_code == 303
    assert stored(bench, there)[0].readings[2].confirmed


def test_it_asks_for_no_further_reading_where_they_disagree(bench, sign_in):
    """Everyday work would: they are further apart than 2.8 times the assumed 0.3. A study selects nothing."""
    there = plan(bench)
    assert sign_in("lead").post(address(there), data=form(["61.1", "62.2"])).status_code == 303
    assert stored(bench, there)[0].counted == [61.1, 62.2]


def test_it_keeps_the_first_of_two_fills_of_one_place_and_says_so(bench, sign_in):
    """Opened on two tablets: the second form is stored, and does not count."""
    there, client = plan(bench), sign_in("lead")
    assert client.post(address(there), data=form(["61.1", "61.2"])).status_code == 303
    client.post(address(there), data=form(["63.1", "63.2"]))
    text = main(client, f"/studies/precision/{there.id}")
    assert "This fill had been read before. The first counts" in text
    assert "read a second time: kept, does not count" in text
    assert len(stored(bench, there)) == 2
    assert precision.values(bench.db, there)[bench.people["lead"]][0] == [61.1, 61.2]
    # It is not offered again.
    assert client.get(address(there)).location == f"/studies/precision/{there.id}"


def test_it_stores_a_form_that_is_sent_twice_once(bench, sign_in):
    there, sent, client = plan(bench), form(), sign_in("lead")
    assert [client.post(address(there), data=sent).status_code for _again in range(2)] == [303, 303]
    assert "had been read before" not in main(client, f"/studies/precision/{there.id}")
    assert client.post(address(there), data=sent | {"readings-0-value": "61.3"}).status_code == 409
    assert len(stored(bench, there)) == 1


def test_it_takes_nothing_after_the_outcome(bench, sign_in):
    there, client = plan(bench), sign_in("lead")
    accept(bench, there)
    assert client.get(address(there)).status_code == 303
    text = client.post(address(there), data=form()).get_data(as_text=True)
    assert "This study is closed" in text
    assert 'value="61.1"' in text
    assert not stored(bench, there)


def test_it_knows_no_place_that_is_not_planned(bench, sign_in):
    there, client = plan(bench), sign_in("lead")
    for path in (address(there, 7), address(there, 0), f"/studies/precision/{uuid.uuid4()}"):
        assert client.get(path).status_code == 404


def test_the_store_takes_a_fill_of_its_own_person_only_and_once(bench):
    there = plan(bench)
    first = read(bench, there, 1, [61.1, 61.2])
    precision.add_fill(bench.db, first, bench.who("lead"), bench.now)
    assert len(stored(bench, there)) == 1
    other = NewFill(first.id, there.id, 3, "", first.made_at, first.readings)
    for new, role, error in (
        (other, "lead", AlreadyThere),
        (first, "roaster", AlreadyThere),
        (NewFill(str(uuid.uuid4()), there.id, 1, "", first.made_at, first.readings), "roaster", AnothersPlace),
        (NewFill(str(uuid.uuid4()), there.id, 7, "", first.made_at, first.readings), "lead", NotFound),
    ):
        with pytest.raises(error):
            precision.add_fill(bench.db, new, bench.who(role), bench.now)
    assert len(stored(bench, there)) == 1
