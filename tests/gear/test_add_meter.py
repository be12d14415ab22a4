"""Adding a meter with its plate, setting a new plate value, renaming and retiring."""

from __future__ import annotations

import pytest

from webapp.store import gear

PLATE = {"plate_name": "Tile 7", "assigned": "45,25", "tolerance": "0.5"}


def test_it_keeps_a_meter_with_its_plate(sign_in, bench, db):
    response = sign_in("lead").post("/gear/meters/new", data={"name": "Meter C", "scale": bench.flipped} | PLATE)
    assert response.status_code == 303
    meter = next(meter for meter in gear.list_meters(db) if meter.name == "Meter C")
    assert meter.scale.id == bench.flipped
    assert (meter.plate.name, meter.plate.assigned, meter.plate.tolerance) == ("Tile 7", 4525, 50)
    assert meter.plate.person_name == "Ada"


def test_it_keeps_a_meter_whose_plate_is_not_at_hand(sign_in, bench, db):
    client = sign_in("lead")
    client.post("/gear/meters/new", data={"name": "Meter C", "scale": bench.scale, "plate_name": " "})
    meter = next(meter for meter in gear.list_meters(db) if meter.name == "Meter C")
    assert meter.plate is None
    assert "No plate value yet." in client.get(f"/gear/meters/{meter.id}").get_data(as_text=True)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"name": "METER A"}, "This name is taken."),
        ({"scale": ""}, "Choose the scale that this meter shows."),
        ({"plate_name": ""}, "Type what stands on the plate."),
        ({"assigned": ""}, "Type the plate&#39;s value."),
        ({"tolerance": ""}, "Type the tolerance."),
        ({"assigned": "101.5"}, "from 0.00 to 100.00"),
        ({"assigned": "4525"}, "Did you mean 45.25?"),
        ({"assigned": "45,2,5"}, "more than one mark"),
        ({"tolerance": "0"}, "from 0.01 to 100.00"),
    ],
)
def test_it_refuses_what_does_not_fit_and_keeps_what_was_typed(sign_in, bench, db, typed, words):
    data = {"name": "Meter C", "scale": bench.flipped} | PLATE | typed
    page = sign_in("lead").post("/gear/meters/new", data=data).get_data(as_text=True)
    # A plate value may be finer than the meter's step, so its bounds are shown in hundredths.
    assert words in page
    for name in ("name", "plate_name", "assigned", "tolerance"):
        assert f'value="{data[name]}"' in page
    assert len(gear.list_meters(db)) == 2


def test_it_sets_a_new_plate_value_and_keeps_the_one_before(sign_in, bench, db):
    client = sign_in("lead")
    path = f"/gear/meters/{bench.meter}/plate"
    new = {"plate_name": "Plate 1", "assigned": "60,3", "tolerance": "0.2", "reason": "New certificate"}
    form = new | {"id": client.page(path).find("input", name="id")[0].attrs["value"]}
    assert [client.post(path, data=form).status_code for _ in range(2)] == [303, 303]
    kept = [(plate.assigned, plate.reason) for plate in gear.list_plates(db, bench.meter)]
    assert kept == [(6030, "New certificate"), (6000, "")]
    page = client.get(f"/gear/meters/{bench.meter}").get_data(as_text=True)
    assert "New certificate" in page
    assert "first value" in page


def test_it_wants_a_reason_for_a_new_plate_value(sign_in, bench, db):
    data = {"plate_name": "Plate 1", "assigned": "60.3", "tolerance": "0.2", "reason": " "}
    page = sign_in("lead").post(f"/gear/meters/{bench.meter}/plate", data=data).get_data(as_text=True)
    assert "Say in a few words why." in page
    assert len(gear.list_plates(db, bench.meter)) == 1


def test_it_asks_for_the_scale_first_where_there_is_none(sign_in, db):
    db.conn.execute("PRAGMA foreign_keys=OFF")
    db.conn.execute("DROP TRIGGER scale_no_delete")
    db.conn.execute("DELETE FROM scale")
    page = sign_in("lead").get("/gear/meters/new").get_data(as_text=True)
    assert "Add a scale first" in page


def test_it_renames_and_retires_a_meter(sign_in, bench, db):
    client = sign_in("lead")
    client.post(f"/gear/meter/{bench.meter}/name", data={"name": "Meter at the window"})
    client.post(f"/gear/meter/{bench.meter}/use", data={"use": "0"})
    meter = gear.get_meter(db, bench.meter)
    assert (meter.name, meter.active) == ("Meter at the window", False)
    assert "What was recorded with it stays." in client.get(f"/gear/meters/{bench.meter}").get_data(as_text=True)
    client.post(f"/gear/meter/{bench.meter}/use", data={"use": "1"})
    assert gear.get_meter(db, bench.meter).active


def test_it_refuses_another_meters_name(sign_in, bench, db):
    page = sign_in("lead").post(f"/gear/meter/{bench.meter}/name", data={"name": "meter b"}).get_data(as_text=True)
    assert "This name is taken." in page
    assert gear.get_meter(db, bench.meter).name == "Meter A"


@pytest.mark.parametrize("sent", [{}, {"use": "maybe"}])
def test_it_does_not_retire_on_a_form_that_says_nothing(sign_in, bench, db, sent):
    assert sign_in("lead").post(f"/gear/meter/{bench.meter}/use", data=sent).status_code == 400
    assert gear.get_meter(db, bench.meter).active
