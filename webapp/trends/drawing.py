"""What is drawn of a run, as plain data: one mark for each batch, or for each day, week or month where the batches are
more than the eye can part. chart.py makes a picture of it.

A picture has one panel, or one for each kind below each other: a batch stands at the same place in all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from webapp.store.trends import TrendPoint
from webapp.trends.run import Event, Looked

# Rooms in a picture: units wide, and as many marks as can be told apart.
ROOMS = {"wide": (830, 240), "slim": (300, 80)}
DAYS = {"wide": 6, "slim": 3}
MOST_RINGS = 16
# Units that a letter takes.
LETTER = 11


@dataclass(frozen=True)
class Mark:
    """One mark. low, high: the range that it stands for, where it is more than one batch. state: as a verdict, or ''
    for none and for many; side: 'lighter', 'darker' or ''; label: in words; url: where it leads. average_ends: the
    limits of the running mean there, in the scale's numbers; u: of the one batch, None of many."""

    x: int
    value: float
    low: float
    high: float
    moving: float | None
    average: float | None
    state: str
    side: str
    proven: bool
    label: str
    url: str
    average_ends: tuple[float, float] | None = None
    u: float | None = None


@dataclass(frozen=True)
class Panel:
    """One kind's part of a picture. name: its heading, '' where it stands alone; rails: (from, to, lower, upper) with a
    missing end at the edge of the picture, and whether each end is a rail; signals: (x, value, text); ends: from where
    to where the values go; judged: from where on the limits judge; closed: (x, value) where nothing is left to do about
    what fired."""

    kind: str
    name: str
    marks: tuple[Mark, ...]
    rails: tuple[tuple[float, float, float, float, bool, bool], ...]
    limits: tuple[float, float, float, float] | None
    signals: tuple[tuple[int, float, str], ...]
    ends: tuple[float, float]
    lighter_up: bool
    step: float
    judged: float = -0.5
    closed: tuple[tuple[int, float], ...] = ()

    @property
    def spots(self) -> bool:
        """Whether there are too many signals for a ring and a number each."""
        return len(self.signals) > MOST_RINGS


@dataclass(frozen=True)
class Drawing:
    """A picture as data. each: what a mark stands for; places: how many stand side by side; events: (x, letters);
    days: (x, text)."""

    size: str
    each: str
    places: int
    panels: tuple[Panel, ...]
    events: tuple[tuple[float, str], ...]
    days: tuple[tuple[int, str], ...]

    @property
    def marks(self) -> tuple[Mark, ...]:
        """Those of all panels, from the top, in order."""
        return tuple(mark for panel in self.panels for mark in panel.marks)

    @property
    def spots(self) -> bool:
        """Whether a panel has too many signals for a ring and a number each."""
        return any(panel.spots for panel in self.panels)


@dataclass(frozen=True)
class Axis:
    """The places side by side in a size of picture. each: 'batch' | 'day' | 'week' | 'month'; groups: the points of
    each place; place: batch id -> where it stands."""

    size: str
    each: str
    groups: tuple[tuple[TrendPoint, ...], ...]
    place: dict[str, int]


class Words:
    """What draw needs said: webapp.trends.words and the addresses, handed in so that this file has neither."""

    def __init__(self, one: Callable, many: Callable, day: Callable, url: Callable, day_url: Callable) -> None:
        self.one, self.many, self.day, self.url, self.day_url = one, many, day, url, day_url


def axis(points: Sequence[TrendPoint], size: str) -> Axis:
    """The places of points in order of time, as many as a size of picture has room for."""
    each, parted = groups([point.day for point in points], ROOMS[size][1])
    place = {points[no].batch_id: x for x, group in enumerate(parted) for no in group}
    return Axis(size, each, tuple(tuple(points[no] for no in group) for group in parted), place)


def groups(days: Sequence[str], most: int) -> tuple[str, list[list[int]]]:
    """('batch' | 'day' | 'week' | 'month', indices together): the finest parting of at most ``most`` groups; by month
    even if these are more. days: the calendar day of each, in order."""
    if len(days) <= most:
        return "batch", [[no] for no in range(len(days))]
    there = dict.fromkeys(days)
    for each, key in PARTINGS.items():
        keys = {day: key(day) for day in there}
        if len(set(keys.values())) <= most or each == "month":
            break
    found: dict[object, list[int]] = {keys[day]: [] for day in there}
    for no, day in enumerate(days):
        found[keys[day]].append(no)
    return each, list(found.values())


PARTINGS: dict[str, Callable[[str], object]] = {
    "day": lambda day: day, "week": lambda day: date.fromisoformat(day).isocalendar()[:2], "month": lambda day: day[:7]
}  # fmt: skip


def draw(it: Looked, kind: str, along: Axis, words: Words, name: str = "") -> Drawing:
    """The picture of a run that has a point."""
    return stack([panel(it, kind, name, along, words)], along, it.trend.points, it.events, words)


def in_sizes(points: Sequence[TrendPoint], make: Callable[[Axis], list[Panel]]) -> list[tuple[Axis, list[Panel]]]:
    """The panels for a wide and a slim place; made only once where both have room for the same marks."""
    wide, slim = (axis(points, size) for size in ROOMS)
    panels = make(wide)
    return [(wide, panels), (slim, panels if slim.each == wide.each else make(slim))]


def stack(
    panels: Sequence[Panel], along: Axis, points: Sequence[TrendPoint], events: Sequence[Event], words: Words
) -> Drawing:
    """The picture of panels along the same axis, which has all of ``points``."""
    many = len(along.groups)
    starts = [along.place[points[event.before].batch_id] - 0.5 for event in events]
    told = lettered(starts, letters(events), many * LETTER / ROOMS[along.size][0])
    return Drawing(along.size, along.each, many, tuple(panels), told, days(along, words, DAYS[along.size]))


def panel(it: Looked, kind: str, name: str, along: Axis, words: Words) -> Panel:
    """One run along an axis that has all its batches."""
    points = it.trend.points
    place = [along.place[point.batch_id] for point in points]
    there: dict[int, list[int]] = {}
    for no, x in enumerate(place):
        there.setdefault(x, []).append(no)
    marks = tuple(mark(it, x, group, words) for x, group in there.items())
    ends = reach(it, marks, 0.16 if name else 0.1)
    limits = None
    if it.limits and it.limits.frozen:
        sides = sorted(it.way * value for value in (it.limits.lower, it.limits.upper))
        limits = (it.limits.centre * it.way, *sides, it.limits.range_upper)
    signals = tuple((place[s.point], points[s.point].value, str(s.rule or "~")) for s in reversed(it.signals))
    return Panel(
        kind, name, marks, rails(it, place, ends), limits, signals, ends, it.way > 0, it.scale.step / 100,
        place[it.start] - 0.5, closed(it, place),
    )  # fmt: skip


def closed(it: Looked, place: Sequence[int]) -> tuple[tuple[int, float], ...]:
    """Where all that fired is closed."""
    where = {one: (place[one.point], it.trend.points[one.point].value) for one in it.signals}
    still = {where[one] for one in it.signals if not one.closed}
    return tuple(sorted(set(where.values()) - still))


def mark(it: Looked, x: int, group: list[int], words: Words) -> Mark:
    """One batch, or all of a day, week or month: their mean, and from where to where they reach."""
    points = [it.trend.points[no] for no in group]
    values = [point.value for point in points]
    moving = [it.ranges[no - 1] for no in group if no]
    mean = it.average_at(group[-1])
    ends = tuple(sorted((mean.lower * it.way, mean.upper * it.way))) if mean else None
    single = len(group) == 1
    return Mark(
        x, sum(values) / len(values), min(values), max(values), max(moving, default=None),
        mean.value * it.way if mean else None,
        (points[0].verdict or "") if single else "", (points[0].side or "") if single else "",
        all(point.proven for point in points), words.one(points[0]) if single else words.many(points),
        words.url(points[0]) if single else words.day_url(points[0]), ends,
        points[0].u if single else None,
    )  # fmt: skip


def reach(it: Looked, marks: tuple[Mark, ...], share: float) -> tuple[float, float]:
    """From where to where the picture goes, in the scale's numbers: every value, the limits and the band, and room for
    a rule's number above or below."""
    wanted = [end for one in marks for end in (one.low, one.high)]
    if it.limits and it.limits.frozen:
        wanted += [it.limits.lower * it.way, it.limits.upper * it.way]
    wanted += [end for band in it.bands.values() for end in band if end is not None]
    low, high = min(wanted), max(wanted)
    room = max((high - low) * share, it.scale.step / 100)
    return low - room, high + room


def rails(it: Looked, place: Sequence[int], ends: tuple[float, float]) -> tuple:
    """The bands that the batches were judged by, each as far as it was in force. place: of each point."""
    found: list[list] = []
    for point, x in zip(it.trend.points, place, strict=True):
        version = point.target_version_id or ""
        if found and found[-1][2] == version:
            found[-1][1] = x + 0.5
        else:
            found.append([x - 0.5 if not found else max(x - 0.5, found[-1][1]), x + 0.5, version])
    made = []
    for start, stop, version in found:
        if (band := it.bands.get(version)) and start < stop:
            lower, _centre, upper = band
            whole = lower is not None, upper is not None
            made.append((start, stop, lower if whole[0] else ends[0], upper if whole[1] else ends[1], *whole))
    return tuple(made)


def letters(events: Sequence[Event]) -> tuple[str, ...]:
    """A letter for each event, in order: those at one place share it."""
    found: list[str] = []
    for no, event in enumerate(events):
        same = no and events[no - 1].before == event.before
        found.append(found[-1] if same else chr(ord("a") + len(set(found))))
    return tuple(found)


def lettered(starts: Sequence[float], names: Sequence[str], gap: float) -> tuple[tuple[float, str], ...]:
    """Where the events' letters stand: before the first batch that came after. Those nearer to each other than the
    ``gap`` that a letter takes stand together, at the first one's place."""
    found: dict[float, str] = {}
    for x, letter in zip(starts, names, strict=True):
        if found and x - max(found) < gap * len(found[max(found)]):
            x = max(found)
        if letter not in found.setdefault(x, ""):
            found[x] += letter
    return tuple(found.items())


def days(along: Axis, words: Words, most: int) -> tuple[tuple[int, str], ...]:
    """Some days below the axis, evenly spread, each only once."""
    last = len(along.groups) - 1
    places = sorted({round(last * no / (most - 1)) for no in range(most)}) if last else [0]
    found: dict[str, int] = {}
    years = along.groups[0][0].day[:4] != along.groups[-1][0].day[:4]
    for x in places:
        found.setdefault(words.day(along.groups[x][0].day, years), x)
    return tuple((x, text) for text, x in found.items())
