"""Adding a scale: any range, step and direction; what cannot be a scale is refused beside its field."""

from __future__ import annotations

import pytest

from webapp.store import gear

GOOD = {"name": "Scale C", "lower": "0", "upper": "150", "step": "0.1", "lighter": "1"}


def sent(client, **typed):
    """The page after the form was sent."""
    return client.post("/gear/scales/new", data=GOOD | typed)


def shown(response, name):
    """What stands in a field of the page that came back."""
    html = response.get_data(as_text=True)
    return html.split(f'name="{name}"')[1].split('value="')[1].split('"')[0]


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ({}, (0, 15000, 10, 1)),
        ({"lower": "-50", "upper": "25,5", "step": "0,25", "lighter": "-1"}, (-5000, 2550, 25, -1)),
        ({"upper": " 999 ", "step": "1"}, (0, 99900, 100, 1)),
        ({"lower": "−2", "upper": "2", "step": "0.01"}, (-200, 200, 1, 1)),
    ],
)
def test_it_keeps_any_range_step_and_direction(sign_in, db, typed, kept):
    assert sent(sign_in("lead"), **typed).status_code == 303
    found = next(scale for scale in gear.list_scales(db) if scale.name == "Scale C")
    assert (found.lower, found.upper, found.step, found.lighter) == kept


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("name", "", "Give it a name."),
        ("name", "   ", "Give it a name."),
        ("name", "scale a", "This name is taken."),
        ("name", "x" * 61, "at most 60 characters"),
        ("lower", "", "Type the smallest number."),
        ("lower", "nothing", "not a number"),
        ("lower", "0.05", "must be 0 or 0.1"),
        ("upper", "0", "must be above the smallest one"),
        ("upper", "-3", "must be above the smallest one"),
        ("upper", "149.95", "must be 149.9 or 150"),
        ("upper", "1.234,5", "more than one mark"),
        ("upper", "1e3", "not a number"),
        ("step", "0", "from 0.01 to"),
        ("step", "0.001", "at most two decimals"),
        ("step", "-1", "from 0.01 to"),
    ],
)
def test_it_refuses_what_is_no_scale_and_shows_it_again(sign_in, db, field, typed, words):
    response = sent(sign_in("lead"), **{field: typed})
    page = response.get_data(as_text=True)
    assert response.status_code == 200
    assert words in page
    assert "<title>Error: " in page
    assert shown(response, field) == (typed.strip() if field == "name" else typed)
    assert len(gear.list_scales(db)) == 2


def test_it_asks_which_way_is_lighter(sign_in, db):
    client = sign_in("lead")
    response = client.post("/gear/scales/new", data={k: v for k, v in GOOD.items() if k != "lighter"})
    assert "Choose which number is the lighter one." in response.get_data(as_text=True)
    assert len(gear.list_scales(db)) == 2


def test_it_keeps_a_form_sent_twice_once(sign_in, db):
    client = sign_in("lead")
    form = GOOD | {"id": client.page("/gear/scales/new").find("input", name="id")[0].attrs["value"]}
    assert [client.post("/gear/scales/new", data=form).status_code for _ in range(2)] == [303, 303]
    assert len(gear.list_scales(db)) == 3


def test_it_says_what_was_stored(sign_in):
    client = sign_in("lead")
    sent(client)
    assert "The scale Scale C is stored." in client.get("/gear").get_data(as_text=True)
    assert "The scale Scale C is stored." not in client.get("/gear").get_data(as_text=True)
