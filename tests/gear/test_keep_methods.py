"""Keeping methods: versions with their steps, the one in force at a moment."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlite_utils.utils import sqlite3

from webapp.store import connect, gear, ledger, methods, migrations
from webapp.store.errors import AlreadyThere, NotFound
from webapp.store.who import SYSTEM

NOW = datetime(2026, 5, 14, 8, tzinfo=UTC)
FILL = methods.Step(1, "Fill it", "Until heaped.", "Because.", "Done", "fill-deep", "Mind the beans", 60, "Room", "°C")
LEVEL = methods.Step(2, "Level it")


@pytest.fixture
def store(tmp_path):
    """A connection to an empty database of the present schema."""
    path = tmp_path / "bench.db"
    migrations.migrate(path)
    db = connect.connect(path)
    yield db
    db.close()


def method(db, name="Deep dish", kind="whole", setting=None, at=NOW, **more):
    return methods.add_method(db, name, kind, "Deep dish", 3, 1, setting, [FILL, LEVEL], SYSTEM, at, **more)


def setting(db):
    grinder = gear.add_grinder(db, "Sample grinder", SYSTEM, NOW)
    return gear.add_grinder_setting(db, grinder, "8", SYSTEM, NOW)


def test_it_keeps_every_field_of_a_step(store):
    version = methods.version_in_force(store, method(store))
    assert version.steps == (FILL, LEVEL)
    assert (version.no, version.kind, version.dish, version.planned_readings, version.planned_fills) == (
        1, "whole", "Deep dish", 3, 1,
    )  # fmt: skip


def test_it_numbers_the_steps_in_the_order_given(store):
    kept = methods.add_method(store, "Backwards", "whole", "", 3, 1, None, [LEVEL, FILL], SYSTEM, NOW)
    assert [(step.no, step.title) for step in methods.version_in_force(store, kept).steps] == [
        (1, "Level it"), (2, "Fill it"),
    ]  # fmt: skip


def test_it_makes_an_edit_the_next_version_and_keeps_the_first(store):
    kept = method(store)
    later = NOW + timedelta(days=1)
    second = methods.add_version(store, kept, "Deep dish", 5, 2, None, [LEVEL], "Calmer numbers", SYSTEM, later)
    assert methods.version_in_force(store, kept).id == second
    assert [(v.no, v.reason, len(v.steps)) for v in methods.list_versions(store, kept)] == [
        (2, "Calmer numbers", 1), (1, "", 2),
    ]  # fmt: skip
    assert [found.no for found in methods.list_methods(store)] == [2]


def test_it_tells_the_version_in_force_at_a_moment(store):
    kept = method(store)
    later = NOW + timedelta(days=1)
    methods.add_version(store, kept, "Deep dish", 5, 1, None, [LEVEL], "Change", SYSTEM, later)
    moments = [NOW - timedelta(seconds=1), NOW, later - timedelta(milliseconds=1), later]
    found = [methods.version_in_force(store, kept, at) for at in moments]
    assert [version and version.no for version in found] == [None, 1, 1, 2]
    with pytest.raises(NotFound):
        methods.version_in_force(store, "none")


def test_it_never_changes_a_version(store):
    version = methods.version_in_force(store, method(store))
    for statement in (
        "UPDATE method_step SET title = 'Shake it' WHERE method_version_id = ?",
        "DELETE FROM method_step WHERE method_version_id = ?",
        "UPDATE method_version SET planned_readings = 1 WHERE id = ?",
    ):
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            store.conn.execute(statement, (version.id,))
    assert methods.get_version(store, version.id) == version


def test_it_names_grinder_and_setting_of_a_ground_method(store):
    kept = method(store, "Shallow dish", "ground", setting(store))
    version = methods.version_in_force(store, kept)
    assert (version.grinder_name, version.setting_name) == ("Sample grinder", "8")


def test_it_refuses_a_grinder_setting_for_whole_bean_and_a_method_without_steps(store):
    with pytest.raises(ValueError):
        method(store, setting=setting(store))
    with pytest.raises(ValueError):
        methods.add_method(store, "Empty", "whole", "", 3, 1, None, [], SYSTEM, NOW)
    assert methods.list_methods(store, active_only=False) == []


def test_it_lists_methods_of_one_kind_and_leaves_out_what_is_retired(store):
    deep, shallow = method(store), method(store, "Shallow dish", "ground")
    old = method(store, "Another deep dish")
    gear.retire(store, "method", old, SYSTEM, NOW)
    assert [found.method_id for found in methods.list_methods(store)] == [deep, shallow]
    assert [found.method_id for found in methods.list_methods(store, "ground")] == [shallow]
    assert [found.active for found in methods.list_methods(store, active_only=False)] == [True, True, False]


def test_it_keeps_a_method_sent_twice_once(store):
    taken = "11111111-0000-4000-8000-000000000001"
    for _ in range(2):
        method(store, id=taken)
    assert len(methods.list_versions(store, taken)) == 1
    again = {"reason": "Change", "who": SYSTEM, "now": NOW, "id": "11111111-0000-4000-8000-000000000002"}
    for _ in range(2):
        methods.add_version(store, taken, "Deep dish", 5, 1, None, [LEVEL], **again)
    assert [version.no for version in methods.list_versions(store, taken)] == [2, 1]
    with pytest.raises(AlreadyThere):
        methods.add_version(store, taken, "Deep dish", 4, 1, None, [LEVEL], **again)


def test_it_leaves_a_sound_ledger(store):
    kept = method(store)
    methods.add_version(store, kept, "Deep dish", 5, 1, None, [LEVEL], "Change", SYSTEM, NOW)
    assert list(ledger.faults(store)) == []
