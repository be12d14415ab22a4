"""Products with their targets, and meters with their last check, as a program is given them."""

from __future__ import annotations

from sqlite_utils import Database

from . import api_sets, gear, products
from .api_lists import Page, Place, cut


def _ids(db: Database, table: str, place: Place, limit: int) -> list[tuple[int, str]]:
    rows = db.conn.execute(
        f"SELECT rowid, id FROM {table} WHERE rowid > ? AND rowid <= ? ORDER BY rowid LIMIT ?",
        (place.after, place.until, limit + 1),
    )
    return [tuple(row) for row in rows.fetchall()]


def list_products(db: Database, place: Place, limit: int) -> Page:
    """Products, each with the target in force."""
    return cut([(no, _product(db, id)) for no, id in _ids(db, "product", place, limit)], place, limit)


def get_product(db: Database, product_id: str) -> dict:
    """A product with every version of its target, newest first. NotFound if there is none."""
    versions = [_target(one) for one in products.list_target_versions(db, product_id)]
    return _product(db, product_id) | {"targets": versions}


def _product(db: Database, product_id: str) -> dict:
    product, target = products.get_product(db, product_id), products.target_in_force(db, product_id)
    return {
        "id": product.id, "name": product.name, "short": product.short, "active": product.active,
        "target": _target(target) if target else None,
    }  # fmt: skip


def _target(target: products.Target) -> dict:
    bands = [
        {"kind": kind, **{name: _units(getattr(band, name)) for name in ("lower", "centre", "upper")}}
        for kind, band in target.bands.items()
    ]
    return {
        "id": target.id, "version": target.no, "scale_id": target.scale.id, "scale": target.scale.name,
        "rule": target.rule, "confidence": target.confidence, "whole_method_id": target.whole_method_id,
        "ground_method_id": target.ground_method_id, "bands": bands, "reason": target.reason,
        "person": target.person_name, "made_at": target.made_at,
    }  # fmt: skip


def list_meters(db: Database, place: Place, limit: int) -> Page:
    """Meters, each with its scale, its plate and its last check."""
    return cut([(no, get_meter(db, id)) for no, id in _ids(db, "meter", place, limit)], place, limit)


def get_meter(db: Database, meter_id: str) -> dict:
    """One meter. NotFound if there is none."""
    meter = gear.get_meter(db, meter_id)
    scale, plate = meter.scale, meter.plate
    newest = "WHERE x.meter_id = ? ORDER BY x.made_at DESC, x.rowid DESC LIMIT 1"
    found = api_sets.fetch(db, api_sets.CHECKS, newest, (meter_id,))
    ends = {name: _units(getattr(scale, name)) for name in ("lower", "upper", "step")}
    return {
        "id": meter.id, "name": meter.name, "active": meter.active,
        "scale": {"id": scale.id, "name": scale.name, **ends, "lighter": scale.lighter},
        "plate": plate and {
            "id": plate.id, "name": plate.name, "assigned": _units(plate.assigned),
            "tolerance": _units(plate.tolerance), "usable": plate.usable, "made_at": plate.made_at,
        },
        "last_check": found[0][1] if found else None,
    }  # fmt: skip


def _units(hundredths: int | None) -> float | None:
    return None if hundredths is None else hundredths / 100
