"""What became of a meter's plate: replaced, damaged, given a new value; and what a meter without a usable one is."""

from __future__ import annotations

import pytest

from webapp import measure
from webapp.store import gear, ledger, meter_state, samples

NEW = {"plate_name": "Plate 1", "assigned": "60.3", "tolerance": "0.5", "reason": "New certificate"}


def path(bench):
    return f"/gear/meters/{bench.meter}/plate"


def rows(db, bench):
    return [(p.what, p.name, p.assigned, p.tolerance, p.reason) for p in gear.list_plates(db, bench.meter)]


def set_plate(client, bench, **typed):
    """The form opened and sent; what a browser would send of it."""
    return client.post(path(bench), data={"id": opened(client, bench)} | NEW | typed)


def opened(client, bench):
    return client.page(path(bench)).find("input", name="id")[0].attrs["value"]


@pytest.mark.parametrize(
    ("typed", "what"),
    [
        ({"what": "replaced", "plate_name": "Plate 9"}, "replaced"),
        ({"what": "replaced"}, "replaced"),
        ({"what": "reassigned"}, "reassigned"),
        # Nothing chosen: another name is another plate.
        ({"plate_name": "Plate 9"}, "replaced"),
        ({}, "reassigned"),
    ],
)
def test_it_keeps_what_happened_and_why(sign_in, bench, db, typed, what):
    client = sign_in("lead")
    form = {"id": opened(client, bench)} | NEW | typed
    assert [client.post(path(bench), data=form).status_code for _ in range(2)] == [303, 303]
    assert rows(db, bench) == [
        (what, form["plate_name"], 6030, 50, "New certificate"), (None, "Plate 1", 6000, 20, ""),
    ]  # fmt: skip
    assert gear.get_meter(db, bench.meter).usable_plate.assigned == 6030


def test_it_takes_a_damaged_plate_out_of_use_with_the_values_it_had(sign_in, bench, db):
    client = sign_in("lead")
    form = {"id": opened(client, bench), "what": "damaged", "reason": "Fell on the floor"}
    empty = {"plate_name": "", "assigned": "abc", "tolerance": ""}
    assert [client.post(path(bench), data=form | empty).status_code for _ in range(2)] == [303, 303]
    assert rows(db, bench)[0] == ("damaged", "Plate 1", 6000, 20, "Fell on the floor")
    meter = gear.get_meter(db, bench.meter)
    assert (meter.plate.usable, meter.usable_plate) == (False, None)
    assert gear.plate_in_force(db, bench.meter).what == "damaged"
    shown = " ".join(client.page(f"/gear/meters/{bench.meter}").find("main")[0].text.split())
    assert "This plate is damaged and not used any more." in shown
    assert "Ada: Fell on the floor" in shown
    assert "plate damaged" in client.get("/gear").text
    assert list(ledger.faults(db)) == []


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"what": "damaged", "reason": " "}, "Say in a few words why."),
        ({"what": "stolen"}, "This is not offered any more."),
        ({"what": "replaced", "assigned": ""}, "Type the plate&#39;s value."),
        ({"what": "reassigned", "plate_name": "Plate 9"}, "This is another name than Plate 1."),
    ],
)
def test_it_refuses_what_does_not_fit(sign_in, bench, db, typed, words):
    assert words in set_plate(sign_in("lead"), bench, **typed).text
    assert len(rows(db, bench)) == 1


def test_it_does_not_mark_a_damaged_plate_again_and_comes_back_with_another(sign_in, bench, db):
    client = sign_in("lead")
    set_plate(client, bench, what="damaged")
    assert "It is marked as damaged already." in set_plate(client, bench, what="damaged").text
    set_plate(client, bench, what="replaced", plate_name="Plate 9")
    assert [row[:2] for row in rows(db, bench)] == [("replaced", "Plate 9"), ("damaged", "Plate 1"), (None, "Plate 1")]
    assert gear.get_meter(db, bench.meter).usable_plate.name == "Plate 9"


def test_it_asks_of_a_first_plate_only_its_values(sign_in, bench, db):
    meter = gear.add_meter(db, "Meter C", bench.scale, None, None, None, bench.who("lead"), bench.now)
    client = sign_in("lead")
    assert "What happened?" not in client.get(f"/gear/meters/{meter}/plate").text
    assert client.post(f"/gear/meters/{meter}/plate", data=NEW | {"what": "damaged"}).status_code == 303
    assert [plate.what for plate in gear.list_plates(db, meter)] == [None]


def test_it_puts_no_damaged_plate_behind_a_reading(bench, db):
    """JCGM 100, 4.3.7: a tolerance is a rectangle. Without a usable plate it is the assumed one again."""
    gear.add_plate(db, bench.meter, "Plate 1", 6000, 20, "Fell", bench.who("lead"), bench.now, what="damaged")
    made = bench.sample(bench.batch().id, "whole", [56.0, 56.1, 56.0])
    without = measure.meter_uncertainty([], measure.assumed_tolerance(150.0))[0]
    stored = samples.get_sample(db, made.id)
    assert (stored.plate_id, stored.u_meter) == (None, pytest.approx(without))
    assert meter_state.meter_u(db, gear.get_meter(db, bench.meter), bench.now) == pytest.approx(without)
    assert measure.meter_uncertainty([], 0.2)[0] != pytest.approx(without)
