"""The precision studies of the kit: what a tablet needs to read the fills of an open one. No reading."""

from __future__ import annotations

from sqlite_utils import Database

from webapp.bench.kit_compared import method_content
from webapp.store import precision
from webapp.store.precision import Study


def content(db: Database, there: Study) -> dict:
    """An open study; `rows`: readings a fill has room for; of each place whose it is and which fills are there."""
    read: dict[int, list[str]] = {}
    for fill in precision.list_fills(db, there.id):
        read.setdefault(fill.place_no, []).append(fill.id)
    method = there.method
    return {
        "id": there.id, "name": there.name, "coffee": there.coffee, "kind": there.kind, "scale_id": there.scale.id,
        "meter": there.meter.name, "grinder": method.grinder_name, "setting": method.setting_name,
        "method": method_content(method), "fills": there.fills, "readings": there.readings, "rows": there.rows,
        "places": [
            {"no": place.no, "person_id": place.preparer_id, "name": place.preparer_name, "fill_no": place.fill_no,
             "read": read.get(place.no, [])}
            for place in there.places
        ],
    }  # fmt: skip
