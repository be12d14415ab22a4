"""What happened at the bench during a run: what the logs say, and who and what is met for the first time."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass

from sqlite_utils import Database

from . import happenings
from .trends import Trend

# Of all that may stand in the logs, as much as can be read: what matters least goes first.
LEAST_FIRST = (
    "cleaned", "person", "machine", "meter", "adjusted", "lot", "targets", "aligned", "plate_damaged", "plate",
    "plate_value", "setting", "failed", "version", "read_otherwise", "burrs",
)  # fmt: skip
FOR_THE_FIRST_TIME = ("lot", "person", "machine", "meter")


@dataclass(frozen=True)
class Event:
    """Something that happened. before: index of the first point that was roasted after it; what: as in
    happenings.Happening, or 'lot', 'person', 'machine', 'meter' where one comes for the first time, or
    'read_otherwise' where what came before was read by the method version that it names; at: as stored."""

    before: int
    at: str
    what: str
    name: str


def place_of(times: list[str], at: str) -> int:
    """The first of batches in order of time that was roasted after something happened; the last, if none was."""
    return min(bisect_left(times, at), len(times) - 1)


def events_of(db: Database, product_id: str, trend: Trend) -> list[Event]:
    """What the logs say of the time of a run, and who and what is met for the first time in it, in order of time."""
    points, found = trend.points, []
    for what in FOR_THE_FIRST_TIME:
        name = what if what == "lot" else f"{what}_name"
        seen = {getattr(points[0], name)}
        for no, point in enumerate(points):
            value = getattr(point, name)
            if value and value not in seen:
                seen.add(value)
                found.append(Event(no, point.roasted_at, what, value))
    times = [point.roasted_at for point in points]
    for one in trend.beside:
        if one.where == "before":
            found.append(Event(0, points[0].roasted_at, "read_otherwise", f"{one.name} {one.no}"))
    for one in happenings.list_happenings(db, product_id, trend):
        found.append(Event(place_of(times, one.at), one.at, one.what, one.name))
    return sorted(found, key=lambda event: (event.before, event.at, event.what))


def fewer(events: Iterable[Event], most: int) -> tuple[Event, ...]:
    """As many events as can be read: of those that matter most the newest, in order of time."""
    there = tuple(events)
    by_weight = sorted(there, key=lambda event: (LEAST_FIRST.index(event.what), event.before), reverse=True)
    kept = by_weight[:most]
    return tuple(event for event in there if event in kept)


def near(events: Iterable[Event], since: int, until: int) -> tuple[Event, ...]:
    """The events between two points."""
    return tuple(event for event in events if since <= event.before <= until)
