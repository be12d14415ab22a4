"""A precision study in a few lines: planned as a lead plans it, read as its people read it, accepted."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from datetime import datetime

from tests.support.roastery import Roastery
from webapp.store import precision
from webapp.store.precision import NewFill, NewOutcome, NewPlace, NewStudy, Study
from webapp.store.readings import NewReading
from webapp.store.times import to_text
from webapp.store.who import Who


def plan(
    bench: Roastery, roles: Sequence[str] = ("lead", "roaster"), fills: int = 3, readings: int = 2,
    kind: str = "ground", **changes: object,
) -> Study:  # fmt: skip
    """A stored plan in which everybody has one fill a round, in the order of `roles`."""
    order = [(role, fill_no) for fill_no in range(1, fills + 1) for role in roles]
    places = tuple(NewPlace(no, bench.people[role], fill_no) for no, (role, fill_no) in enumerate(order, 1))
    fields = {
        "id": str(uuid.uuid4()), "name": "Bench, spring", "coffee": "Lantern House, one batch", "fills": fills,
        "method_version_id": bench.versions[kind].id, "meter_id": bench.meter, "readings": readings, "places": places,
    }  # fmt: skip
    new = NewStudy(**fields | changes)
    precision.add_study(bench.db, new, bench.who("lead"), bench.now)
    return precision.get_study(bench.db, new.id)


def read(bench: Roastery, study: Study, no: int, values: Sequence[float], at: datetime | None = None) -> NewFill:
    """The fill at this place, read by its own person: readings in scale units, None for one that does not count."""
    at = at or bench.now
    readings = tuple(
        NewReading(1, reading_no, round((value or 0) * 100), f"{value}", "" if value is not None else "moved")
        for reading_no, value in enumerate(values, 1)
    )
    new = NewFill(str(uuid.uuid4()), study.id, no, "", to_text(at), readings)
    person = study.place(no).preparer_id
    role = next((role for role, id in bench.people.items() if id == person), "roaster")
    precision.add_fill(bench.db, new, Who(person, role, bench.tablet), at)
    return new


def read_all(bench: Roastery, study: Study, values: Mapping[str, Sequence[Sequence[float]]]) -> None:
    """Every fill of `values`: person's id -> fills -> readings in scale units."""
    for place in study.places:
        fills = values[place.preparer_id]
        if place.fill_no <= len(fills):
            read(bench, study, place.no, fills[place.fill_no - 1])


def with_everything(bench: Roastery, **changes: object) -> Study:
    """A study with something to say of everything: an odd fill, one that is short, one that is left out for balance."""
    study = plan(bench, ("lead", "roaster", "trainee"), **{"fills": 4, "name": "With everything"} | changes)
    steady = [[60.0, 60.2], [60.3, 60.1], [60.2, 60.2], [60.0, 60.1]]
    values = {bench.people[role]: list(steady) for role in ("lead", "roaster", "trainee")}
    values[bench.people["roaster"]] = [steady[0], [60.3, 63.3], *steady[2:]]
    values[bench.people["trainee"]] = [*steady[:3], [60.0, None]]
    read_all(bench, study, values)
    return study


def accept(bench: Roastery, study: Study, sigma_r: float = 0.12, sigma_f: float = 0.25, **changes: object):
    """The study accepted by the lead with these sigmas."""
    fields = {
        "id": str(uuid.uuid4()), "study_id": study.id, "outcome": "accepted", "persons": len(study.persons),
        "fills": study.fills, "readings": study.readings, "sigma_r": sigma_r, "df_r": 6.0, "sigma_f": sigma_f,
        "df_f": 3.5, "sigma_p": None, "reason": "Well mixed, nothing odd.",
    }  # fmt: skip
    new = NewOutcome(**fields | changes)
    precision.add_outcome(bench.db, new, bench.who("lead"), bench.now)
    return precision.find_outcome(bench.db, study.id)


def form(values: Sequence[str] = ("61.1", "61.2"), **fields: str) -> dict[str, str]:
    """The form of one fill, as a browser posts it."""
    rows = {f"readings-{no}-value": text for no, text in enumerate(values)}
    return {"id": str(uuid.uuid4()), "note": ""} | rows | fields
