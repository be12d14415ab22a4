"""What is drawn of a run, as plain data: one mark for each batch, or for each day, week or month where the batches are
more than the eye can part. chart.py makes a picture of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import date

from webapp.trends.run import Looked

# Rooms in a picture: (units wide, units high of the values, as many marks as can be told apart).
WIDE, SLIM = (830, 300, 240), (300, 240, 80)
DAYS = {"wide": 6, "slim": 3}
MOST_RINGS = 16
# Units that a letter takes.
LETTER = 11


@dataclass(frozen=True)
class Mark:
    """One mark. low, high: the range that it stands for, where it is more than one batch. state: as a verdict, or ''
    for none and for many; side: 'lighter', 'darker' or ''; label: in words; url: where it leads. average_ends: the
    limits of the running mean there, in the scale's numbers."""

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


@dataclass(frozen=True)
class Drawing:
    """A picture as data. each: what a mark stands for; rails: (from, to, lower, upper) with a missing end at the edge
    of the picture, and whether each end is a rail; signals: (x, value, text); events: (x, letters); days: (x, text);
    judged: from where on the limits judge; closed: (x, value) where nothing is left to do about what fired."""

    size: str
    kind: str
    each: str
    marks: tuple[Mark, ...]
    rails: tuple[tuple[float, float, float, float, bool, bool], ...]
    limits: tuple[float, float, float, float] | None
    signals: tuple[tuple[int, float, str], ...]
    events: tuple[tuple[float, str], ...]
    days: tuple[tuple[int, str], ...]
    ends: tuple[float, float]
    lighter_up: bool
    step: float
    judged: float = -0.5
    closed: tuple[tuple[int, float], ...] = ()

    @property
    def spots(self) -> bool:
        """Whether there are too many signals for a ring and a number each."""
        return len(self.signals) > MOST_RINGS

    def as_data(self) -> dict:
        """Everything, for a key of the cache."""
        return asdict(self)


def groups(days: Sequence[str], most: int) -> tuple[str, list[list[int]]]:
    """('batch' | 'day' | 'week' | 'month', indices together): the finest parting of at most ``most`` groups; by month
    even if these are more. days: the calendar day of each, in order."""
    if len(days) <= most:
        return "batch", [[no] for no in range(len(days))]
    made: tuple[str, list[list[int]]] = ("batch", [])
    for each, key in PARTINGS.items():
        found: dict[object, list[int]] = {}
        for no, day in enumerate(days):
            found.setdefault(key(day), []).append(no)
        made = each, list(found.values())
        if len(found) <= most:
            break
    return made


PARTINGS: dict[str, Callable[[str], object]] = {
    "day": lambda day: day, "week": lambda day: date.fromisoformat(day).isocalendar()[:2], "month": lambda day: day[:7]
}  # fmt: skip


class Words:
    """What draw needs said: webapp.trends.words and the addresses, handed in so that this file has neither."""

    def __init__(self, one: Callable, many: Callable, day: Callable, url: Callable, day_url: Callable) -> None:
        self.one, self.many, self.day, self.url, self.day_url = one, many, day, url, day_url


def draw(it: Looked, kind: str, size: str, words: Words) -> Drawing:
    """The picture of a run that has a point."""
    points = it.trend.points
    room = WIDE if size == "wide" else SLIM
    each, parted = groups([point.day for point in points], room[2])
    place = {no: x for x, group in enumerate(parted) for no in group}
    marks = tuple(mark(it, x, group, words) for x, group in enumerate(parted))
    ends = reach(it, marks)
    limits = None
    if it.limits and it.limits.frozen:
        sides = sorted(it.way * value for value in (it.limits.lower, it.limits.upper))
        limits = (it.limits.centre * it.way, *sides, it.limits.range_upper)
    return Drawing(
        size, kind, each, marks, rails(it, place, ends), limits,
        tuple((place[s.point], points[s.point].value, str(s.rule or "~")) for s in reversed(it.signals)),
        lettered(it, place, room[0]), days(it, parted, words, DAYS[size]), ends, it.way > 0, it.scale.step / 100,
        place[it.start] - 0.5, closed(it, place),
    )  # fmt: skip


def closed(it: Looked, place: dict[int, int]) -> tuple[tuple[int, float], ...]:
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
    )  # fmt: skip


def reach(it: Looked, marks: tuple[Mark, ...]) -> tuple[float, float]:
    """From where to where the picture goes, in the scale's numbers: every value, the limits and the band."""
    wanted = [end for one in marks for end in (one.low, one.high)]
    if it.limits and it.limits.frozen:
        wanted += [it.limits.lower * it.way, it.limits.upper * it.way]
    wanted += [end for band in it.bands.values() for end in band if end is not None]
    low, high = min(wanted), max(wanted)
    room = max((high - low) * 0.1, it.scale.step / 100)
    return low - room, high + room


def rails(it: Looked, place: dict[int, int], ends: tuple[float, float]) -> tuple:
    """The bands that the batches were judged by, each as far as it was in force."""
    found: list[list] = []
    for no, point in enumerate(it.trend.points):
        version, x = point.target_version_id or "", place[no]
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


def letters(it: Looked) -> tuple[str, ...]:
    """A letter for each event, in order: those at one place share it."""
    found: list[str] = []
    for no, event in enumerate(it.events):
        same = no and it.events[no - 1].before == event.before
        found.append(found[-1] if same else chr(ord("a") + len(set(found))))
    return tuple(found)


def lettered(it: Looked, place: dict[int, int], width: int) -> tuple[tuple[float, str], ...]:
    """Where the events' letters stand: before the first batch that came after. Those too near to each other stand
    together, at the first one's place."""
    gap = (max(place.values()) + 1) * LETTER / width
    found: dict[float, str] = {}
    for event, letter in zip(it.events, letters(it), strict=True):
        x = place[event.before] - 0.5
        if found and x - max(found) < gap * len(found[max(found)]):
            x = max(found)
        if letter not in found.setdefault(x, ""):
            found[x] += letter
    return tuple(found.items())


def days(it: Looked, parted: list[list[int]], words: Words, most: int) -> tuple[tuple[int, str], ...]:
    """Some days below the axis, evenly spread, each only once."""
    last = len(parted) - 1
    places = sorted({round(last * no / (most - 1)) for no in range(most)}) if last else [0]
    found: dict[str, int] = {}
    for x in places:
        found.setdefault(words.day(it.trend.points[parted[x][0]].day), x)
    return tuple((x, text) for text, x in found.items())
