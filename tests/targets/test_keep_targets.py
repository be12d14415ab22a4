"""Keeping products and their targets: versions, the one in force at a moment, one-sided bands."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlite_utils.utils import sqlite3

from webapp.measure import Band, Rule
from webapp.store import connect, gear, ledger, methods, migrations, products
from webapp.store.errors import AlreadyThere, NotFound
from webapp.store.products import TargetBand
from webapp.store.who import SYSTEM

NOW = datetime(2026, 5, 14, 8, tzinfo=UTC)
WHOLE = TargetBand("whole", 5450, 5600, 5750)
GROUND = TargetBand("ground", None, 6300, 6400)
DIFFERENCE = TargetBand("difference", -100, 700, None)


@pytest.fixture
def store(tmp_path):
    """A connection to an empty database of the present schema."""
    path = tmp_path / "bench.db"
    migrations.migrate(path)
    db = connect.connect(path)
    yield db
    db.close()


@pytest.fixture
def scale(store):
    return gear.add_scale(store, "Numbers", 0, 15000, 10, 1, SYSTEM, NOW)


def product(db, scale_id, bands=(WHOLE,), name="Lantern House", rule="guarded", confidence=0.8, **more):
    return products.add_product(db, name, "LH", scale_id, rule, confidence, None, None, bands, SYSTEM, NOW, **more)


def change(db, product_id, scale_id, bands, reason, at, **more):
    return products.add_target_version(
        db, product_id, scale_id, "simple", 0.8, None, None, bands, reason, SYSTEM, at, **more
    )


def test_it_keeps_bands_that_are_open_on_one_side(store, scale):
    target = products.target_in_force(store, product(store, scale, (DIFFERENCE, GROUND, WHOLE)))
    assert target.bands == {"whole": WHOLE, "ground": GROUND, "difference": DIFFERENCE}
    assert list(target.bands) == ["whole", "ground", "difference"]
    assert target.bands["ground"].in_units() == Band(None, 63.0, 64.0)
    assert target.bands["difference"].in_units() == Band(-1.0, 7.0, None)
    assert target.as_rule() == Rule("guarded", 0.8)


def test_it_keeps_a_product_without_any_band(store, scale):
    assert products.target_in_force(store, product(store, scale, ())).bands == {}


@pytest.mark.parametrize(
    "band",
    [
        TargetBand("whole", None, 5600, None),
        TargetBand("whole", 5600, 5600, 5700),
        TargetBand("whole", 5500, 5800, 5700),
        TargetBand("neither", 5500, 5600, 5700),
    ],
)
def test_it_refuses_what_is_no_band(store, scale, band):
    with pytest.raises(sqlite3.IntegrityError):
        product(store, scale, (band,))
    assert products.list_products(store, active_only=False) == []


def test_it_refuses_two_bands_of_one_kind(store, scale):
    with pytest.raises(ValueError):
        product(store, scale, (WHOLE, WHOLE))


@pytest.mark.parametrize("confidence", [0.5, 1.0, 80])
def test_it_refuses_a_confidence_that_is_none(store, scale, confidence):
    with pytest.raises(sqlite3.IntegrityError):
        product(store, scale, confidence=confidence)


def test_it_makes_a_change_the_next_version(store, scale):
    kept = product(store, scale)
    narrow = TargetBand("whole", 5500, 5600, 5700)
    second = change(store, kept, scale, (narrow,), "The customer asks for less spread", NOW + timedelta(days=3))
    assert products.target_in_force(store, kept).id == second
    assert [(t.no, t.rule, t.bands["whole"], t.reason) for t in products.list_target_versions(store, kept)] == [
        (2, "simple", narrow, "The customer asks for less spread"),
        (1, "guarded", WHOLE, ""),
    ]


def test_it_tells_the_version_in_force_when_a_batch_was_read(store, scale):
    kept = product(store, scale)
    later = NOW + timedelta(days=3)
    change(store, kept, scale, (GROUND,), "Change", later)
    moments = [NOW - timedelta(milliseconds=1), NOW, later - timedelta(milliseconds=1), later, None]
    found = [products.target_in_force(store, kept, at) for at in moments]
    assert [target and target.no for target in found] == [None, 1, 1, 2, 2]


def test_it_never_changes_a_version(store, scale):
    target = products.target_in_force(store, product(store, scale))
    for statement in (
        "UPDATE target_band SET upper = 9900 WHERE target_version_id = ?",
        "DELETE FROM target_band WHERE target_version_id = ?",
        "UPDATE target_version SET rule = 'simple' WHERE id = ?",
    ):
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            store.conn.execute(statement, (target.id,))
    assert products.get_target(store, target.id) == target


def test_it_takes_another_scale_from_a_version_on(store, scale):
    kept = product(store, scale)
    other = gear.add_scale(store, "Flipped", 0, 10000, 100, -1, SYSTEM, NOW)
    change(store, kept, other, (TargetBand("whole", 4000, 4200, 4400),), "New meter", NOW + timedelta(days=1))
    assert products.target_in_force(store, kept, NOW).scale.lighter == 1
    assert products.target_in_force(store, kept).scale.lighter == -1


def test_it_refuses_a_method_of_the_other_kind(store, scale):
    ground = methods.add_method(store, "Shallow", "ground", "", 3, 1, None, [methods.Step(1, "Fill")], SYSTEM, NOW)
    args = (store, "Lantern House", "LH", scale, "guarded", 0.8)
    with pytest.raises(ValueError):
        products.add_product(*args, ground, None, (), SYSTEM, NOW)
    kept = products.add_product(*args, None, ground, (), SYSTEM, NOW)
    assert products.target_in_force(store, kept).method_id("ground") == ground
    assert products.target_in_force(store, kept).method_id("whole") is None


def test_it_changes_names_and_retires(store, scale):
    kept = product(store, scale)
    products.change_product(store, kept, "Lantern House Blend", "LHB", False, SYSTEM, NOW)
    assert products.get_product(store, kept) == products.Product(kept, "Lantern House Blend", "LHB", False)
    assert products.list_products(store) == []
    assert [found.id for found in products.list_products(store, active_only=False)] == [kept]


def test_it_keeps_a_product_sent_twice_once(store, scale):
    taken = "11111111-0000-4000-8000-000000000001"
    for _ in range(2):
        product(store, scale, id=taken)
    assert len(products.list_target_versions(store, taken)) == 1
    for _ in range(2):
        change(store, taken, scale, (WHOLE,), "Change", NOW, id="11111111-0000-4000-8000-000000000002")
    assert len(products.list_target_versions(store, taken)) == 2
    with pytest.raises(AlreadyThere):
        product(store, scale, id=taken, name="Another")


def test_it_says_when_there_is_no_such_product(store, scale):
    with pytest.raises(NotFound):
        products.target_in_force(store, "none")
    with pytest.raises(NotFound):
        change(store, "none", scale, (WHOLE,), "Change", NOW)
    with pytest.raises(NotFound):
        products.get_target(store, "none")


def test_it_leaves_a_sound_ledger(store, scale):
    kept = product(store, scale)
    change(store, kept, scale, (WHOLE, GROUND), "Change", NOW)
    products.change_product(store, kept, "Lantern House", "LH", False, SYSTEM, NOW)
    assert list(ledger.faults(store)) == []
