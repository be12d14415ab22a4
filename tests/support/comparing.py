"""A comparison in a few lines: planned as a lead plans it, read as somebody reads it."""

from __future__ import annotations

import uuid
from collections.abc import Sequence

from tests.support.roastery import BEGINNING, Roastery
from webapp.store import comparisons, gear, signoffs
from webapp.store.comparisons import Coffee, Comparison, NewComparison, NewComparisonSample, NewSide
from webapp.store.new_samples import NewReading
from webapp.store.times import to_text
from webapp.store.who import SYSTEM

# Twelve coffees over the range in which a roastery works, invented.
COFFEES = (
    "Harbour", "Lantern House", "Quay 4", "Night train", "Breakfast", "Winter blend", "Orchard", "Kettle", "Northside",
    "Low tide", "Garden wall", "First light",
)  # fmt: skip


def second_meter(bench: Roastery, scale: str | None = None, name: str = "Meter N") -> str:
    """Another meter on the same scale."""
    return gear.add_meter(bench.db, name, scale or bench.scale, None, None, None, SYSTEM, BEGINNING)


def plan(
    bench: Roastery, coffees: int | tuple[Coffee, ...] = 12, kind: str = "whole", bound: int = 75, **changes: object
) -> Comparison:
    """A stored plan for two meters: coffee number n has the code 100 + n, and odd ones are read on side a first."""
    if isinstance(coffees, int):
        coffees = tuple(Coffee(no, name, str(100 + no), "ab"[no % 2 - 1]) for no, name in
                        enumerate(COFFEES[:coffees], 1))  # fmt: skip
    version = bench.versions[kind]
    setting = version.grinder_setting_id
    sides = {
        "a": NewSide(bench.meter, version.id, setting),
        "b": NewSide(second_meter(bench), version.id, setting) if "b" not in changes else None,
    }
    fields = {
        "id": str(uuid.uuid4()), "name": "New meter", "what": "meters", "kind": kind, "scale_id": bench.scale,
        "fills": 1, "readings": 2, "bound": bound, "blind": True,
        "coffees": coffees,
    }  # fmt: skip
    new = NewComparison(**fields | sides | changes)
    comparisons.add_comparison(bench.db, new, bench.who("lead"), bench.now)
    return comparisons.get_comparison(bench.db, new.id)


def plan_people(bench: Roastery, coffees: int = 10, kind: str = "whole", bound: int = 75, **changes: object):
    """A sign-off of the trainee against the roaster: two fills of each coffee with two readings each."""
    version = bench.versions[kind]
    sides = {
        side: NewSide(bench.meter, version.id, version.grinder_setting_id, bench.people[role])
        for side, role in (("a", "roaster"), ("b", "trainee"))
    }
    fields = {"what": "people", "name": "Tomas, whole bean", "fills": 2}
    return plan(bench, coffees, kind, bound, **fields | sides | changes)


def read(bench: Roastery, comparison: Comparison, no: int, side: str, *fills: Sequence[float], role: str = "roaster"):
    """One coffee read on one side, each fill with these readings in scale units."""
    readings = tuple(
        NewReading(fill_no, reading_no, round(value * 100), f"{value}")
        for fill_no, fill in enumerate(fills, 1)
        for reading_no, value in enumerate(fill, 1)
    )
    new = NewComparisonSample(str(uuid.uuid4()), comparison.id, no, side, "", to_text(bench.now), readings)
    comparisons.add_sample(bench.db, new, bench.who(role), bench.now)
    return new


def read_for_sign_off(bench: Roastery, there: Comparison, no: int, reference: float, trainee: float) -> None:
    """One coffee of a sign-off, read by both, with a little between two fills."""
    for side, role, value in (("a", "roaster", reference), ("b", "trainee", trainee)):
        low, high = round(value - 0.1, 1), round(value + 0.1, 1)
        read(bench, there, no, side, [low, low], [high, high], role=role)


def sign_off(bench: Roastery, there: Comparison, what: str = "signed_off", until: str | None = None) -> str:
    """What a lead makes of it; returns its id."""
    evidence = signoffs.Evidence(10, 0.05, -0.1, 0.2, 0.75, 0.3, 0.6, 10)
    new = signoffs.NewSignOff(
        str(uuid.uuid4()), there.b.person_id, there.kind, what, there.id, evidence, until, "X-3"
    )
    signoffs.add_signoff(bench.db, new, bench.who("lead"), bench.now)
    return new.id


def read_all(bench: Roastery, comparison: Comparison, a: Sequence[float], b: Sequence[float]) -> None:
    """Every coffee on both sides, with one reading each of these values."""
    for no, (one, other) in enumerate(zip(a, b, strict=True), 1):
        read(bench, comparison, no, "a", [one])
        read(bench, comparison, no, "b", [other])


def form(fills: Sequence[Sequence[str]] = (("56.1", "56.2"),), **fields: str) -> dict[str, str]:
    """The form of one coffee on one side, as a browser posts it."""
    rows = {
        f"fills-{fill}-readings-{no}-value": text
        for fill, readings in enumerate(fills)
        for no, text in enumerate(readings)
    }
    return {"id": str(uuid.uuid4()), "note": ""} | rows | fields
