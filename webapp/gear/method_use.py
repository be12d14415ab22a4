"""What a method is used for, and what the results of its versions stand on: shared by the pages about it."""

from __future__ import annotations

from sqlite_utils import Database

from webapp.store import gear, precision, products, spreads
from webapp.store.gear import Scale
from webapp.store.methods import MethodVersion
from webapp.ui.spread_words import SpreadLine, spread_line


def used_by(db: Database, method_id: str) -> list[products.Product]:
    """The products in use that are read by a method."""
    found = []
    for product in products.list_products(db):
        target = products.target_in_force(db, product.id)
        if target and method_id in (target.whole_method_id, target.ground_method_id):
            found.append(product)
    return found


def scales_of(db: Database, *versions: MethodVersion) -> list[Scale]:
    """The scales on which any of these versions of a method has been read or studied; before that, those of the
    products that are read by this method."""
    ids = spreads.scales_read_on(db, [version.id for version in versions])
    ids |= {
        scale.id for scale in gear.list_scales(db) for version in versions
        if precision.accepted_for(db, version.id, scale.id)
    }  # fmt: skip
    if not ids:
        targets = (products.target_in_force(db, product.id) for product in used_by(db, versions[0].method_id))
        ids = {target.scale.id for target in targets if target}
    return [scale for scale in gear.list_scales(db) if scale.id in ids]


def spread_lines(db: Database, version: MethodVersion) -> list[SpreadLine]:
    """What is known now of a version, on each of its scales."""
    return [spread_line(db, version, scale) for scale in scales_of(db, version)]
