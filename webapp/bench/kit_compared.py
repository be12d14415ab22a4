"""The comparisons of the kit: what a tablet needs to read the coffees of an open one. No reading, and what is blind
stays blind.
"""

from __future__ import annotations

from sqlite_utils import Database

from webapp.store import comparisons
from webapp.store.comparisons import SIDES, Coffee, Comparison, ComparisonSample, Side
from webapp.store.methods import MethodVersion
from webapp.ui.filters import method_text


def content(db: Database, there: Comparison) -> dict:
    """An open comparison; `rows`: readings a fill has room for."""
    samples = comparisons.list_samples(db, there.id)
    return {
        "id": there.id, "name": there.name, "what": there.what, "kind": there.kind, "scale_id": there.scale.id,
        "blind": there.blind, "fills": there.fills, "readings": there.readings, "rows": there.rows,
        "sides": {name: side_content(there.side(name)) for name in SIDES},
        "coffees": [coffee_content(there, coffee, samples) for coffee in there.coffees],
    }  # fmt: skip


def side_content(side: Side) -> dict:
    """What one side is read with, by its names; `person`: the only one who reads it, or null for anybody."""
    return {
        "meter": side.meter.name, "grinder": side.grinder_name, "setting": side.setting.name if side.setting else None,
        "method": method_content(side.method),
        "person": {"id": side.person_id, "name": side.person_name} if side.person_id else None,
    }  # fmt: skip


def method_content(version: MethodVersion) -> dict:
    """How the coffee is prepared, in the words of the page's language: the version may be one that no page offers."""
    steps = [
        {"title": method_text(s.title), "body": method_text(s.body), "caution": method_text(s.caution),
         "setting": "setting" in s.picture}
        for s in version.steps
    ]  # fmt: skip
    return {"name": method_text(version.name), "no": version.no, "dish": method_text(version.dish), "steps": steps}


def coffee_content(there: Comparison, coffee: Coffee, samples: list[ComparisonSample]) -> dict:
    """A coffee as whoever reads may know it, and which of its samples are there already: no number of them."""
    return {
        "no": coffee.no, "code": coffee.code, "name": None if there.blind else coffee.name, "first": coffee.first,
        "read": [read_content(sample) for sample in samples if sample.coffee_no == coffee.no],
    }  # fmt: skip


def read_content(sample: ComparisonSample) -> dict:
    """That it was read: on which side, how many fills count, when and by whom."""
    fills = {reading.fill_no for reading in sample.readings if not reading.void_reason}
    return {
        "id": sample.id, "side": sample.side, "fills": len(fills), "at": sample.received_at,
        "name": sample.person_name,
    }  # fmt: skip
