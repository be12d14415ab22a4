"""Adding machines and grinders, and a grinder's settings."""

from __future__ import annotations

import pytest

from webapp.store import gear


@pytest.mark.parametrize(("kind", "listed"), [("machine", gear.list_machines), ("grinder", gear.list_grinders)])
def test_it_keeps_a_new_one_once(sign_in, db, kind, listed):
    client = sign_in("lead")
    path = f"/gear/{kind}s/new"
    form = {"name": " Second one ", "id": client.page(path).find("input", name="id")[0].attrs["value"]}
    assert [client.post(path, data=form).status_code for _ in range(2)] == [303, 303]
    assert [item.name for item in listed(db)][-1] == "Second one"
    assert len(listed(db)) == 2


@pytest.mark.parametrize(("kind", "taken"), [("machine", "machine 1"), ("grinder", "GRINDER 1")])
def test_it_refuses_a_name_that_is_taken(sign_in, db, kind, taken):
    page = sign_in("lead").post(f"/gear/{kind}s/new", data={"name": taken}).get_data(as_text=True)
    assert "This name is taken." in page
    assert len(gear.list_machines(db)) == len(gear.list_grinders(db)) == 1


def test_it_refuses_a_name_that_a_retired_machine_has(sign_in, bench, db):
    client = sign_in("lead")
    client.post(f"/gear/machine/{bench.machine}/use", data={"use": "0"})
    assert "This name is taken." in client.post("/gear/machines/new", data={"name": "Machine 1"}).get_data(as_text=True)


def test_it_does_not_take_an_id_that_is_none(sign_in, db):
    assert sign_in("lead").post("/gear/machines/new", data={"name": "Second", "id": "../1"}).status_code == 303
    assert len(gear.list_machines(db)) == 2


def test_it_adds_a_setting(sign_in, bench, db):
    client = sign_in("lead")
    path = f"/gear/grinders/{bench.grinder}"
    form = {"name": "2.5", "id": client.page(path).find("input", name="id")[0].attrs["value"]}
    assert [client.post(path, data=form).status_code for _ in range(2)] == [303, 303]
    assert [setting.name for setting in gear.get_grinder(db, bench.grinder).settings] == ["7", "2.5"]


@pytest.mark.parametrize(("typed", "words"), [("7", "has this setting already"), ("  ", "Type the setting")])
def test_it_refuses_a_setting_that_is_there_or_empty(sign_in, bench, db, typed, words):
    page = sign_in("lead").post(f"/gear/grinders/{bench.grinder}", data={"name": typed}).get_data(as_text=True)
    assert words in page
    assert len(gear.get_grinder(db, bench.grinder).settings) == 1


def test_it_shows_settings_to_a_trainee_without_the_form(sign_in, bench):
    page = sign_in("trainee").page(f"/gear/grinders/{bench.grinder}")
    assert page.find("input", name="name") == []
