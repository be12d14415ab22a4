"""Planning a comparison: what is compared, on which coffees, and when the two count as the same."""

import uuid

import pytest

from tests.support.comparing import COFFEES, plan, second_meter
from webapp.store import comparisons, gear, ledger, methods
from webapp.store.comparisons import NewSide
from webapp.store.errors import AlreadyThere
from webapp.store.who import SYSTEM


@pytest.fixture
def lead(sign_in):
    return sign_in("lead")


@pytest.fixture
def meters(bench):
    """The form for two meters, filled in."""
    return {
        "id": str(uuid.uuid4()), "name": "New meter", "method": bench.versions["whole"].id, "a_meter": bench.meter,
        "b_meter": second_meter(bench), "coffees": "\r\n".join(COFFEES), "fills": "2", "readings": "3",
        "bound": "0,5", "blind": "y",
    }  # fmt: skip


def stored(bench):
    return comparisons.list_comparisons(bench.db)


def refused(lead, fields, what="meters"):
    """The page that a form comes back in, as text."""
    answer = lead.post(f"/comparisons/new/{what}", data=fields)
    assert answer.status_code == 422
    return answer.get_data(as_text=True)


def test_it_stores_a_plan_for_two_meters(bench, lead, meters):
    answer = lead.post("/comparisons/new/meters", data=meters)
    assert answer.status_code == 303
    [there] = stored(bench)
    assert (there.what, there.kind, there.scale.id) == ("meters", "whole", bench.scale)
    assert (there.a.meter.name, there.b.meter.name) == ("Meter A", "Meter N")
    assert (there.fills, there.readings, there.bound, there.blind) == (2, 3, 50, True)
    assert sorted(coffee.name for coffee in there.coffees) == sorted(COFFEES)
    assert list(ledger.faults(bench.db)) == []
    assert "Meter N" in lead.page(answer.location).find("main")[0].text


def test_it_puts_the_coffees_into_a_random_order_with_random_codes(bench, lead, meters):
    lead.post("/comparisons/new/meters", data=meters)
    lead.post("/comparisons/new/meters", data=meters | {"id": str(uuid.uuid4())})
    one, other = (there.coffees for there in stored(bench))
    # By chance alike: one in 12!, about two in a thousand million.
    assert [coffee.name for coffee in one] != [coffee.name for coffee in other]
    assert {coffee.code for coffee in one} != {coffee.code for coffee in other}
    assert sorted(coffee.first for coffee in one) == ["a"] * 6 + ["b"] * 6
    assert all(len(coffee.code) == 3 for coffee in one)


def test_it_makes_one_plan_of_a_form_that_is_sent_twice(bench, lead, meters):
    first = lead.post("/comparisons/new/meters", data=meters)
    coffees = stored(bench)[0].coffees
    assert lead.post("/comparisons/new/meters", data=meters).location == first.location
    assert [there.coffees for there in stored(bench)] == [coffees]


def test_it_proposes_a_quarter_of_the_narrowest_band_and_shows_it_first(bench, lead, meters):
    """Lantern House: whole bean 54.5 to 57.5, so 3.0 wide."""
    assert 'value="0.75"' in refused(lead, meters | {"bound": ""})
    assert not stored(bench)


@pytest.mark.parametrize("bound", ["0", "-1", "some", "200"])
def test_it_refuses_a_bound_that_is_none(lead, meters, bound):
    assert f'value="{bound}"' in refused(lead, meters | {"bound": bound})


def test_it_refuses_two_sides_that_are_the_same(bench, lead, meters):
    assert "Both sides are the same." in refused(lead, meters | {"b_meter": meters["a_meter"]})


def test_it_refuses_meters_on_two_scales(bench, lead, meters):
    assert "different scales" in refused(lead, meters | {"b_meter": bench.flipped_meter})


def test_it_refuses_fewer_than_ten_coffees(lead, meters):
    said = refused(lead, meters | {"coffees": "\n".join(COFFEES[:9])})
    assert "at least 10 coffees. There are 9 so far." in said
    assert COFFEES[8] in said


def test_it_refuses_two_coffees_of_one_name(lead, meters):
    assert "Harbour stands there twice" in refused(lead, meters | {"coffees": "\n".join([*COFFEES, " harbour "])})


@pytest.mark.parametrize("field", ["name", "method", "a_meter", "b_meter", "coffees", "fills", "readings"])
def test_it_asks_for_what_is_missing(bench, lead, meters, field):
    refused(lead, meters | {field: ""})
    assert not stored(bench)


def test_it_compares_two_grinders_or_two_settings_of_one(bench, lead, meters):
    finer = gear.add_grinder_setting(bench.db, bench.grinder, "6", SYSTEM, bench.now)
    other = gear.add_grinder(bench.db, "Grinder 2", SYSTEM, bench.now)
    theirs = gear.add_grinder_setting(bench.db, other, "4", SYSTEM, bench.now)
    fields = meters | {"method": bench.versions["ground"].id, "meter": bench.meter, "a_setting": bench.setting}
    assert "Both sides are the same." in refused(lead, fields | {"b_setting": bench.setting}, "grinders")
    for setting, what in ((finer, "settings"), (theirs, "grinders")):
        lead.post("/comparisons/new/grinders", data=fields | {"id": str(uuid.uuid4()), "b_setting": setting})
        newest = stored(bench)[0]
        assert (newest.what, newest.kind, newest.b.setting.id) == (what, "ground", setting)
    assert newest.b.grinder_name == "Grinder 2"


def test_it_compares_two_versions_of_a_method(bench, lead, meters):
    now = bench.versions["whole"]
    newer = methods.add_version(bench.db, now.method_id, "", 3, 1, None, now.steps, "less", SYSTEM, bench.now)
    fields = meters | {"a_method": now.id, "b_method": newer, "meter": bench.meter}
    assert "of one kind" in refused(lead, fields | {"b_method": bench.versions["ground"].id}, "methods")
    lead.post("/comparisons/new/methods", data=fields)
    [there] = stored(bench)
    assert (there.what, there.a.method.no, there.b.method.no) == ("methods", 1, 2)


def test_it_lets_only_a_lead_plan(bench, sign_in, meters):
    for role in ("trainee", "roaster"):
        assert sign_in(role).post("/comparisons/new/meters", data=meters).status_code == 403
        page = sign_in(role).page("/comparisons")
        assert "A lead plans it" in page.find("main")[0].text
    assert not stored(bench)


def test_it_says_what_comparisons_are_for_while_there_are_none(lead):
    assert "whether your targets still hold" in lead.page("/comparisons").find("main")[0].text
    for place, onward in (("/gear", "/studies"), ("/settings", "/studies"), ("/studies", "/comparisons")):
        assert [e for e in lead.page(place).find("a") if e.attrs["href"] == onward], place


def test_it_stores_nothing_that_cannot_be_compared(bench):
    """The store's own word, whoever asks."""
    there = plan(bench)
    with pytest.raises(ValueError, match="same"):
        plan(bench, b=NewSide(bench.meter, bench.versions["whole"].id, None))
    with pytest.raises(ValueError, match="scale"):
        plan(bench, b=NewSide(bench.flipped_meter, bench.versions["whole"].id, None))
    with pytest.raises(ValueError, match="kind"):
        plan(bench, b=NewSide(bench.meter, bench.versions["ground"].id, None))
    with pytest.raises(ValueError, match="twice"):
        plan(bench, coffees=0, b=NewSide(there.b.meter.id, bench.versions["whole"].id, None))
    with pytest.raises(AlreadyThere):
        plan(bench, id=there.id, name="Another", b=NewSide(there.b.meter.id, bench.versions["whole"].id, None))
