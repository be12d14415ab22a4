"""Products and their targets in versions. A batch is judged by the version in force when it was read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlite_utils import Database

from webapp.measure.conformity import Band, Rule

from . import ledger
from .connect import one, write
from .errors import AlreadyThere, NotFound
from .gear import Scale
from .records import insert, is_there, new_id
from .times import to_text
from .who import Who

BandKind = Literal["whole", "ground", "difference"]
BAND_KINDS: tuple[BandKind, ...] = ("whole", "ground", "difference")


@dataclass(frozen=True)
class TargetBand:
    """What one kind should read, in hundredths: at least one limit, and the target (`centre`) inside.

    For 'difference' the numbers are ground minus whole, on the same scale.
    """

    kind: BandKind
    lower: int | None
    centre: int
    upper: int | None

    def in_units(self) -> Band:
        """The same band in scale units, as measure wants it."""
        return Band(*(None if n is None else n / 100 for n in (self.lower, self.centre, self.upper)))


@dataclass(frozen=True)
class Target:
    """One version of a product's targets; `id` is the version's. `bands` by kind, in the order of BAND_KINDS."""

    id: str
    product_id: str
    no: int
    scale: Scale
    rule: Literal["guarded", "simple"]
    confidence: float
    whole_method_id: str | None
    ground_method_id: str | None
    bands: dict[BandKind, TargetBand]
    reason: str
    made_at: str
    person_name: str | None

    def as_rule(self) -> Rule:
        """The rule as measure wants it."""
        return Rule(self.rule, self.confidence)

    def method_id(self, kind: Literal["whole", "ground"]) -> str | None:
        """The method chosen for a kind of sample, or None."""
        return self.whole_method_id if kind == "whole" else self.ground_method_id


@dataclass(frozen=True)
class Product:
    """What is sold under one name. `short`: up to four characters for places where the name does not fit."""

    id: str
    name: str
    short: str
    active: bool


def add_product(
    db: Database, name: str, short: str, scale_id: str, rule: str, confidence: float,
    whole_method_id: str | None, ground_method_id: str | None, bands: Iterable[TargetBand],
    who: Who, now: datetime, reason: str = "", id: str | None = None,
) -> str:  # fmt: skip
    """A new product with version 1 of its targets; returns the product's id.

    AlreadyThere: the id is taken by a product with other names or another first version.
    """
    product_id, bands = id or new_id(), tuple(bands)
    content = {"name": name, "short": short}
    with write(db):
        if is_there(db, "product", product_id, content):
            first = list_target_versions(db, product_id)[-1]
            given = (scale_id, rule, confidence, whole_method_id, ground_method_id, reason)
            if given != _content(first) or not _same_bands(first, bands):
                raise AlreadyThere(product_id)
        else:
            insert(db, "product", {"id": product_id, **content, "created_at": to_text(now)})
            ledger.note(db, "product added", "product", product_id, now, who.person_id, who.tablet_id)
            add_target_version(
                db, product_id, scale_id, rule, confidence, whole_method_id, ground_method_id, bands, reason,
                who, now,
            )  # fmt: skip
    return product_id


def change_product(
    db: Database, product_id: str, name: str, short: str, active: bool, who: Who, now: datetime
) -> None:
    """Change a product's names, or take it out of use or back into it. NotFound if it is not there."""
    with write(db):
        done = db.conn.execute(
            "UPDATE product SET name = ?, short = ?, active = ? WHERE id = ?",
            (name, short, int(active), product_id),
        )
        if done.rowcount != 1:
            raise NotFound(product_id)
        ledger.note(db, "product changed", "product", product_id, now, who.person_id, who.tablet_id)


def add_target_version(
    db: Database, product_id: str, scale_id: str, rule: str, confidence: float,
    whole_method_id: str | None, ground_method_id: str | None, bands: Iterable[TargetBand], reason: str,
    who: Who, now: datetime, id: str | None = None,
) -> str:  # fmt: skip
    """The next version of a product's targets, in force from now on; returns its id.

    NotFound if there is no such product; ValueError for two bands of one kind, or a method of another kind;
    AlreadyThere if the id is taken by a version with other content.
    """
    version_id = id or new_id()
    bands = tuple(bands)
    content = {
        "product_id": product_id, "scale_id": scale_id, "rule": rule, "confidence": confidence,
        "whole_method_id": whole_method_id, "ground_method_id": ground_method_id, "reason": reason,
    }  # fmt: skip
    with write(db):
        if is_there(db, "target_version", version_id, content):
            if not _same_bands(get_target(db, version_id), bands):
                raise AlreadyThere(version_id)
            return version_id
        get_product(db, product_id)
        if len({band.kind for band in bands}) != len(bands):
            raise ValueError("one band a kind")
        for method_id, kind in ((whole_method_id, "whole"), (ground_method_id, "ground")):
            if method_id and not one(db, "SELECT 1 FROM method WHERE id = ? AND kind = ?", (method_id, kind)):
                raise ValueError(f"not a method for {kind}")
        newest = one(db, "SELECT max(no) AS no FROM target_version WHERE product_id = ?", (product_id,))
        made = {"no": (newest["no"] or 0) + 1, "person_id": who.person_id, "made_at": to_text(now)}
        insert(db, "target_version", {"id": version_id, **content, **made})
        for band in bands:
            numbers = {"lower": band.lower, "centre": band.centre, "upper": band.upper}
            insert(db, "target_band", {"target_version_id": version_id, "kind": band.kind, **numbers})
        ledger.note(db, "targets set", "target_version", version_id, now, who.person_id, who.tablet_id)
    return version_id


def _content(target: Target) -> tuple:
    return (
        target.scale.id, target.rule, target.confidence, target.whole_method_id, target.ground_method_id, target.reason
    )  # fmt: skip


def _same_bands(target: Target, bands: tuple[TargetBand, ...]) -> bool:
    return target.bands == {band.kind: band for band in bands}


def get_product(db: Database, product_id: str) -> Product:
    """The product. NotFound if there is none."""
    row = one(db, "SELECT id, name, short, active FROM product WHERE id = ?", (product_id,))
    if row is None:
        raise NotFound(product_id)
    return Product(row["id"], row["name"], row["short"], bool(row["active"]))


def list_products(db: Database, active_only: bool = True) -> list[Product]:
    """Products by name, those in use first."""
    rows = db.query(
        "SELECT id, name, short, active FROM product WHERE active >= ?"
        " ORDER BY active DESC, name COLLATE NOCASE, id",
        (int(active_only),),
    )
    return [Product(row["id"], row["name"], row["short"], bool(row["active"])) for row in rows]


_TARGET = (
    "SELECT v.id, v.product_id, v.no, v.rule, v.confidence, v.whole_method_id, v.ground_method_id, v.reason, v.made_at,"
    " p.name AS person_name, c.id AS scale_id, c.name AS scale_name, c.lower, c.upper, c.step, c.lighter"
    " FROM target_version v JOIN scale c ON c.id = v.scale_id LEFT JOIN person p ON p.id = v.person_id"
)
_SCALE = ("scale_id", "scale_name", "lower", "upper", "step", "lighter")


def _target(db: Database, row: dict) -> Target:
    rows = db.query(
        "SELECT kind, lower, centre, upper FROM target_band WHERE target_version_id = ?", (row["id"],)
    )
    there = {band["kind"]: TargetBand(**band) for band in rows}
    bands = {kind: there[kind] for kind in BAND_KINDS if kind in there}
    scale = Scale(*(row.pop(name) for name in _SCALE))
    return Target(**row, scale=scale, bands=bands)


def get_target(db: Database, version_id: str) -> Target:
    """One version of a product's targets. NotFound if there is none."""
    row = one(db, f"{_TARGET} WHERE v.id = ?", (version_id,))
    if row is None:
        raise NotFound(version_id)
    return _target(db, row)


def target_in_force(db: Database, product_id: str, at: datetime | None = None) -> Target | None:
    """The targets in force at a moment (None: now): the last version made by then. None if there was none yet.

    NotFound if there is no such product.
    """
    row = one(
        db,
        f"{_TARGET} WHERE v.product_id = ? AND v.made_at <= ? ORDER BY v.no DESC LIMIT 1",
        (product_id, "9999" if at is None else to_text(at)),
    )
    if row is None:
        get_product(db, product_id)
    return _target(db, row) if row else None


def target_when_read(
    db: Database, product_id: str, made_at: datetime, roasted_at: datetime, now: datetime
) -> Target | None:
    """What a sample is judged by: the version in force when it was read, as far as a tablet's clock can be believed.

    Nothing was read after `now`, before it was roasted, or before the product had its first version (then: that one).
    """
    version_id = version_when_read(db, product_id, made_at, roasted_at, now)
    return get_target(db, version_id) if version_id else None


def version_when_read(
    db: Database, product_id: str, made_at: datetime, roasted_at: datetime, now: datetime
) -> str | None:
    """The id of the same. None: the product has no targets."""
    at = to_text(min(max(made_at, roasted_at), now))
    ours = "SELECT id FROM target_version WHERE product_id = ?"
    row = one(db, f"{ours} AND made_at <= ? ORDER BY no DESC LIMIT 1", (product_id, at))
    row = row or one(db, f"{ours} ORDER BY no LIMIT 1", (product_id,))
    return row["id"] if row else None


def list_target_versions(db: Database, product_id: str) -> list[Target]:
    """Every version of a product's targets, newest first. NotFound if there is no such product."""
    get_product(db, product_id)
    rows = db.query(f"{_TARGET} WHERE v.product_id = ? ORDER BY v.no DESC", (product_id,))
    return [_target(db, row) for row in list(rows)]
