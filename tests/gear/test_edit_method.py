"""Making and changing a method: steps in order, versions with reasons, and rearranging without storing."""

from __future__ import annotations

import pytest
from werkzeug.datastructures import MultiDict

from webapp.gear.method_forms import MOST_STEPS, rearranged
from webapp.store import methods


def edit_path(bench, kind="whole"):
    return f"/methods/{bench.methods[kind]}/edit"


def fields_of(page):
    """What a browser would send of the page's form."""
    data = MultiDict()
    for element in page.elements:
        name = element.attrs.get("name")
        if element.tag == "input" and name and element.attrs.get("type") in ("text", "hidden"):
            data[name] = element.attrs.get("value", "")
        elif element.tag == "textarea":
            data[name] = element.text.removeprefix("\r\n").removeprefix("\n")
    selects = [e for e in page.elements if e.tag in ("select", "option")]
    name = None
    for element in selects:
        if element.tag == "select":
            name = element.attrs["name"]
        elif "selected" in element.attrs:
            data[name] = element.attrs["value"]
    return data


def titles(page):
    return [e.attrs["value"] for e in page.find("input") if e.attrs.get("name", "").endswith("-title")]


def steps_of(db, bench, kind="whole"):
    return [step.title for step in methods.version_in_force(db, bench.methods[kind]).steps]


def press(client, path, data, **button):
    """The page after one of a step's buttons."""
    from tests.support.pages import Page

    response = client.post(path, data=MultiDict(list(data.items(multi=True)) + list(button.items())))
    assert response.status_code == 200
    return Page(response.get_data(as_text=True))


def test_it_stores_nothing_new_but_the_version_when_nothing_was_touched(sign_in, bench, db):
    client = sign_in("lead")
    for kind in ("whole", "ground"):
        before = methods.version_in_force(db, bench.methods[kind])
        data = fields_of(client.page(edit_path(bench, kind)))
        data["reason"] = "Only to see"
        assert client.post(edit_path(bench, kind), data=data).status_code == 303
        after = methods.version_in_force(db, bench.methods[kind])
        assert (after.no, after.reason, after.person_name) == (2, "Only to see", "Ada")
        same = ("name", "kind", "dish", "planned_readings", "planned_fills", "grinder_setting_id", "steps")
        assert [getattr(after, name) for name in same] == [getattr(before, name) for name in same]


def test_it_keeps_the_first_version_to_look_at(sign_in, bench, db):
    client = sign_in("lead")
    data = fields_of(client.page(edit_path(bench)))
    data["steps-0-title"] = "Switch it on first of all"
    data["reason"] = "Clearer"
    client.post(edit_path(bench), data=data)
    page = client.get(f"/methods/{bench.methods['whole']}/versions/1").get_data(as_text=True)
    assert "This is an earlier version." in page
    assert "Switch it on first of all" not in page
    assert "Switch it on first of all" in client.get(f"/methods/{bench.methods['whole']}").get_data(as_text=True)


def test_it_moves_adds_and_removes_steps_without_storing_and_keeps_what_was_typed(sign_in, bench, db):
    client, path, before = sign_in("lead"), edit_path(bench), steps_of(db, bench)
    data = fields_of(client.page(path))
    data["steps-1-timer"] = "1.5"
    data["steps-1-body"] = "Half a senten"
    page = press(client, path, data, up="2")
    assert titles(page)[:3] == [before[1], before[0], before[2]]
    moved = fields_of(page)
    assert (moved["steps-0-timer"], moved["steps-0-body"]) == ("1.5", "Half a senten")
    page = press(client, path, moved, down="1")
    assert titles(page) == before
    page = press(client, path, fields_of(page), add="1")
    assert titles(page) == [before[0], "", *before[1:]]
    page = press(client, path, fields_of(page), remove="2")
    assert titles(page) == before
    assert fields_of(page)["steps-1-timer"] == "1.5"
    assert steps_of(db, bench) == before
    assert len(methods.list_versions(db, bench.methods["whole"])) == 1


def test_it_stores_the_new_order(sign_in, bench, db):
    client, path, before = sign_in("lead"), edit_path(bench), steps_of(db, bench)
    data = fields_of(press(client, path, fields_of(client.page(path)), down="1"))
    data["reason"] = "Sample first"
    client.post(path, data=data)
    assert steps_of(db, bench) == [before[1], before[0], *before[2:]]


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("steps-2-title", "", "Step 3: Say in a few words what to do."),
        ("steps-0-timer", "1.5", "Step 1: Type minutes and seconds with a colon"),
        ("steps-0-timer", "2:00:00", "Step 1: Type minutes and seconds with a colon"),
        ("steps-0-timer", "121", "Step 1: Type minutes and seconds, from 0:01 to 120:00."),
        ("steps-0-note_unit", "g", "Step 1: Say what the value is"),
        ("planned_readings", "11", "Type a number from 1 to 10."),
        ("planned_readings", "2,5", "Type a whole number."),
        ("planned_fills", "0", "Type a number from 1 to 4."),
        ("planned_fills", "٣", "digits 0 to 9"),
        ("reason", "  ", "Say in a few words why."),
    ],
)
def test_it_refuses_what_does_not_fit_and_shows_it_again(sign_in, bench, db, field, typed, words):
    client = sign_in("lead")
    data = fields_of(client.page(edit_path(bench)))
    data["reason"] = "Change"
    data[field] = typed
    response = client.post(edit_path(bench), data=data)
    page = response.get_data(as_text=True)
    assert response.status_code == 200
    assert words in page
    assert f'value="{typed.strip()}"' in page
    assert len(methods.list_versions(db, bench.methods["whole"])) == 1


def test_it_refuses_a_picture_that_is_not_there(sign_in, bench, db):
    client = sign_in("lead")
    data = fields_of(client.page(edit_path(bench)))
    data["reason"] = "Change"
    data["setting"] = bench.setting
    data["steps-0-picture"] = ""
    assert client.post(edit_path(bench), data=data).status_code == 303
    stored = methods.version_in_force(db, bench.methods["whole"])
    assert stored.steps[0].picture == ""
    # A whole-bean method has no field for a setting: one that is sent all the same is not taken.
    assert stored.grinder_setting_id is None


def test_it_makes_one_version_of_a_form_sent_twice(sign_in, bench, db):
    client = sign_in("lead")
    data = fields_of(client.page(edit_path(bench)))
    data["reason"] = "Change"
    assert [client.post(edit_path(bench), data=data).status_code for _ in range(2)] == [303, 303]
    assert len(methods.list_versions(db, bench.methods["whole"])) == 2


def test_it_says_when_somebody_else_changed_it_meanwhile(sign_in, bench, db):
    client = sign_in("lead")
    mine = fields_of(client.page(edit_path(bench)))
    mine["reason"] = "Mine"
    before = methods.version_in_force(db, bench.methods["whole"])
    methods.add_version(
        db, before.method_id, "Deep dish", 5, 1, None, before.steps, "Theirs", bench.who("lead"), bench.now
    )
    response = client.post(edit_path(bench), data=mine)
    assert "Ada stored version 2 meanwhile." in response.get_data(as_text=True)
    assert len(methods.list_versions(db, bench.methods["whole"])) == 2
    again = fields_of_response(response)
    assert client.post(edit_path(bench), data=again).status_code == 303
    assert [v.reason for v in methods.list_versions(db, bench.methods["whole"])] == ["Mine", "Theirs", ""]


def fields_of_response(response):
    from tests.support.pages import Page

    return fields_of(Page(response.get_data(as_text=True)))


def new_method(bench, **typed):
    return {
        "name": "Ground, second grinder", "kind": "ground", "dish": "Shallow dish", "planned_readings": "4",
        "planned_fills": "2", "setting": bench.setting, "steps-0-title": "Fill it", "steps-0-timer": "0:45",
        "steps-0-note_label": "Room", "steps-0-note_unit": "°C", "steps-0-caution": "Burrs cut.",
        "steps-1-title": "Read it",
    } | typed  # fmt: skip


def test_it_makes_a_new_method(sign_in, bench, db):
    assert sign_in("lead").post("/methods/new", data=new_method(bench)).status_code == 303
    made = next(m for m in methods.list_methods(db) if m.name == "Ground, second grinder")
    assert (made.no, made.kind, made.planned_readings, made.planned_fills) == (1, "ground", 4, 2)
    assert made.setting_name == "7"
    assert [(s.title, s.timer_s, s.note_label, s.note_unit, s.caution) for s in made.steps] == [
        ("Fill it", 45, "Room", "°C", "Burrs cut."), ("Read it", None, "", "", ""),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"kind": ""}, "Choose what this method prepares."),
        ({"kind": "whole"}, "A grinder setting belongs to ground coffee only."),
        ({"name": "ground, SHALLOW dish"}, "This name is taken."),
        ({"steps-0-title": "", "steps-1-title": ""}, "Step 2: Say in a few words what to do."),
    ],
)
def test_it_refuses_a_new_method_that_does_not_fit(sign_in, bench, db, typed, words):
    assert words in sign_in("lead").post("/methods/new", data=new_method(bench, **typed)).get_data(as_text=True)
    assert len(methods.list_methods(db)) == 2


def test_it_keeps_a_new_method_while_its_steps_are_rearranged(sign_in, bench):
    client = sign_in("lead")
    page = press(client, "/methods/new", MultiDict(new_method(bench)), add="2")
    assert titles(page) == ["Fill it", "Read it", ""]
    kept = fields_of(page)
    assert (kept["name"], kept["planned_readings"], kept["setting"]) == ("Ground, second grinder", "4", bench.setting)


@pytest.mark.parametrize(
    ("button", "no", "order"),
    [
        ("up", "1", "abc"), ("up", "3", "acb"), ("down", "3", "abc"), ("down", "1", "bac"), ("remove", "2", "ac"),
        ("add", "3", "abc_"), ("add", "1", "a_bc"), ("up", "9", "abc"), ("remove", "0", "abc"), ("down", "0", "abc"),
    ],
)  # fmt: skip
def test_it_rearranges_as_the_button_says(button, no, order):
    # The numbers on the fields need not be without gaps.
    sent = MultiDict({f"steps-{at}-title": title for at, title in zip((1, 4, 11), "abc", strict=True)} | {button: no})
    moved = rearranged(sent)
    assert "".join(moved[f"steps-{n}-title"] or "_" for n in range(len(order))) == order
    assert len(moved) == len(order)


def test_it_rearranges_nothing_without_a_button_and_keeps_one_step():
    assert rearranged(MultiDict({"steps-0-title": "a"})) is None
    assert rearranged(MultiDict({"steps-0-title": "a", "up": "first"})) is None
    assert len(rearranged(MultiDict({"steps-0-title": "a", "remove": "1"}))) == 1
    full = MultiDict([(f"steps-{n}-title", str(n)) for n in range(MOST_STEPS)] + [("add", "1")])
    assert len(rearranged(full)) == MOST_STEPS


def test_it_shows_signs_in_a_method_as_they_were_typed(sign_in, bench, db):
    client = sign_in("lead")
    odd = "Fill 80 % full, 100%(all) & <level>"
    data = new_method(bench, **{"name": odd, "steps-0-title": odd, "steps-0-body": odd, "dish": odd})
    assert client.post("/methods/new", data=data).status_code == 303
    made = next(m for m in methods.list_methods(db) if m.name == odd)
    for path in ("/methods", f"/methods/{made.method_id}", f"/methods/{made.method_id}/edit"):
        page = client.page(path)
        assert odd in page.find("main")[0].text + "".join(e.attrs.get("value", "") for e in page.find("input"))
