"""Keeping scales, machines, meters with plates, and grinders: what is stored, what stays, what is refused."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlite_utils.utils import sqlite3

from webapp.store import connect, gear, ledger, migrations
from webapp.store.errors import AlreadyThere, NotFound
from webapp.store.who import SYSTEM

NOW = datetime(2026, 5, 14, 8, tzinfo=UTC)


@pytest.fixture
def store(tmp_path):
    """A connection to an empty database of the present schema."""
    path = tmp_path / "bench.db"
    migrations.migrate(path)
    db = connect.connect(path)
    yield db
    db.close()


def scale(db, name="Numbers", lower=0, upper=15000, step=10, lighter=1):
    return gear.add_scale(db, name, lower, upper, step, lighter, SYSTEM, NOW)


def test_it_keeps_a_scale_of_any_range_step_and_direction(store):
    kept = scale(store, "Flipped", -5000, 2500, 25, -1)
    assert gear.get_scale(store, kept) == gear.Scale(kept, "Flipped", -5000, 2500, 25, -1)
    assert [found.name for found in gear.list_scales(store)] == ["Flipped"]


@pytest.mark.parametrize(
    ("lower", "upper", "step", "lighter"),
    [(0, 15000, 0, 1), (100, 100, 10, 1), (200, 100, 10, 1), (5, 15000, 10, 1), (0, 15005, 10, 1), (0, 100, 10, 0)],
)
def test_it_refuses_what_is_no_scale(store, lower, upper, step, lighter):
    with pytest.raises(ValueError):
        scale(store, "Wrong", lower, upper, step, lighter)
    assert gear.list_scales(store) == []


def test_it_never_changes_a_scale(store):
    kept = scale(store)
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        store.conn.execute("UPDATE scale SET step = 1 WHERE id = ?", (kept,))


def test_it_keeps_a_record_sent_twice_once(store):
    for _ in range(2):
        gear.add_machine(store, "Drum 1", SYSTEM, NOW, id="11111111-0000-4000-8000-000000000001")
    assert len(gear.list_machines(store)) == 1
    with pytest.raises(AlreadyThere):
        gear.add_machine(store, "Drum 2", SYSTEM, NOW, id="11111111-0000-4000-8000-000000000001")


def test_it_gives_a_meter_the_newest_plate_value_and_keeps_the_ones_before(store):
    meter = gear.add_meter(store, "Meter A", scale(store), "Tile 7", 4520, 50, SYSTEM, NOW)
    later = NOW + timedelta(days=30)
    gear.add_plate(store, meter, "Tile 7", 4530, 50, "Certificate renewed", SYSTEM, later)
    assert gear.get_meter(store, meter).plate.assigned == 4530
    kept = [(plate.assigned, plate.reason) for plate in gear.list_plates(store, meter)]
    assert kept == [(4530, "Certificate renewed"), (4520, "")]
    assert gear.plate_in_force(store, meter, later - timedelta(seconds=1)).assigned == 4520
    assert gear.plate_in_force(store, meter, later).assigned == 4530
    assert gear.plate_in_force(store, meter, NOW - timedelta(seconds=1)) is None


def test_it_keeps_a_meter_without_a_plate(store):
    meter = gear.add_meter(store, "Meter A", scale(store), None, None, None, SYSTEM, NOW)
    assert gear.get_meter(store, meter).plate is None


def test_it_stores_neither_meter_nor_plate_if_one_of_them_is_wrong(store):
    with pytest.raises(sqlite3.IntegrityError):
        gear.add_meter(store, "Meter A", scale(store), "Tile 7", 4520, 0, SYSTEM, NOW)
    assert gear.list_meters(store, active_only=False) == []


def test_it_lists_the_meters_of_one_scale(store):
    one, other = scale(store, "One"), scale(store, "Other", 0, 10000, 100, -1)
    gear.add_meter(store, "Meter A", one, None, None, None, SYSTEM, NOW)
    gear.add_meter(store, "Meter B", other, None, None, None, SYSTEM, NOW)
    assert [meter.name for meter in gear.list_meters(store, scale_id=other)] == ["Meter B"]
    assert [meter.scale.lighter for meter in gear.list_meters(store)] == [1, -1]


def test_it_keeps_a_grinders_settings_in_the_order_they_were_made(store):
    grinder = gear.add_grinder(store, "Sample grinder", SYSTEM, NOW)
    for hours, name in enumerate(["8", "12 coarse", "3"]):
        gear.add_grinder_setting(store, grinder, name, SYSTEM, NOW + timedelta(hours=hours))
    assert [setting.name for setting in gear.get_grinder(store, grinder).settings] == ["8", "12 coarse", "3"]
    with pytest.raises(AlreadyThere):
        gear.add_grinder_setting(store, grinder, "8", SYSTEM, NOW)


def test_it_retires_instead_of_deleting(store):
    first, second = (gear.add_machine(store, name, SYSTEM, NOW) for name in ("Drum 1", "Drum 2"))
    gear.retire(store, "machine", first, SYSTEM, NOW)
    assert [machine.name for machine in gear.list_machines(store)] == ["Drum 2"]
    # in use first, although "Drum 1" comes first by name
    assert [machine.name for machine in gear.list_machines(store, active_only=False)] == ["Drum 2", "Drum 1"]
    assert gear.get_machine(store, first).active is False
    gear.bring_back(store, "machine", first, SYSTEM, NOW)
    assert [machine.id for machine in gear.list_machines(store)] == [first, second]


def test_it_renames_what_may_be_renamed(store):
    meter = gear.add_meter(store, "Meter A", scale(store), None, None, None, SYSTEM, NOW)
    gear.rename(store, "meter", meter, "Meter at the window", SYSTEM, NOW)
    assert gear.get_meter(store, meter).name == "Meter at the window"
    with pytest.raises(ValueError):
        gear.rename(store, "scale", meter, "Other", SYSTEM, NOW)
    with pytest.raises(NotFound):
        gear.rename(store, "machine", meter, "Other", SYSTEM, NOW)


@pytest.mark.parametrize("get", [gear.get_scale, gear.get_machine, gear.get_meter, gear.get_grinder])
def test_it_says_when_there_is_no_such_thing(store, get):
    with pytest.raises(NotFound):
        get(store, "11111111-0000-4000-8000-000000000001")


def test_it_leaves_a_sound_ledger(store):
    meter = gear.add_meter(store, "Meter A", scale(store), "Tile 7", 4520, 50, SYSTEM, NOW)
    grinder = gear.add_grinder(store, "Sample grinder", SYSTEM, NOW)
    gear.add_grinder_setting(store, grinder, "8", SYSTEM, NOW)
    gear.rename(store, "grinder", grinder, "Bench grinder", SYSTEM, NOW)
    gear.retire(store, "meter", meter, SYSTEM, NOW)
    assert list(ledger.faults(store)) == []
    lines = ledger.history(store, "grinder", grinder)
    assert [line["action"] for line in lines] == ["grinder added", "grinder renamed"]
