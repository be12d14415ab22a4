"""From the rows of a file to what would be stored, or to everything that is wrong with them, by row and column."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from webapp.exchange import import_values as values
from webapp.exchange.import_cells import Row, is_blank
from webapp.exchange.import_values import Bad, Scale
from webapp.store import times
from webapp.store.imports import NewRow, Read

FIRST_YEAR = 2000
SLACK = timedelta(minutes=5)
LEFT_OUT = "-"
MOST_KNOWN = 5000


class Problem(NamedTuple):
    """What is wrong: in which row and column (None: the row as a whole), what stands there, which words to say."""

    row: int
    column: int | None
    cell: str
    code: str
    facts: dict


def folded(name: str) -> str:
    """A name as it is compared: without regard to blanks and capitals."""
    return " ".join(name.split()).casefold()


@dataclass(frozen=True)
class Setup:
    """How a file is read into rows. columns: target -> its columns; styles, units: column -> its own; products,
    machines: folded name -> id, or LEFT_OUT; machine, clock: for rows that say none; scales, averages: by kind; width:
    cells of a row, ragged: whether a row may be shorter; zone: the site's."""

    columns: dict[str, tuple[int, ...]]
    styles: dict[int, str]
    units: dict[int, str]
    products: dict[str, str]
    machines: dict[str, str]
    machine: str | None
    clock: time | None
    scales: dict[str, Scale]
    averages: dict[str, bool]
    width: int
    ragged: bool
    zone: str
    now: datetime
    from_1904: bool = False

    def one(self, target: str) -> int | None:
        """The only column of a target; None where there is none."""
        found = self.columns.get(target)
        return found[0] if found else None


class Reader:
    """Reads one row after the other."""

    def __init__(self, setup: Setup) -> None:
        self.setup, self.zone = setup, ZoneInfo(setup.zone)
        self.problems: list[Problem] = []
        self.cells: Sequence[str] = ()
        self.no = 0
        self.known: dict[int | None, dict] = {}
        self.twins: dict[tuple[str, date], list[int]] = {}

    def look_for_twins(self, rows: Iterable[Row]) -> None:
        """Go through all rows once for codes that stand there more than once on one day."""
        seen: Counter[tuple[str, date]] = Counter()
        where: dict[tuple[str, date], int] = {}
        for row in rows:
            if (key := self._key(row)) is None:
                continue
            seen[key] += 1
            if seen[key] == 1:
                where[key] = row[0]
            elif seen[key] == 2:
                self.twins[key] = [where[key], row[0]]
            else:
                self.twins[key].append(row[0])

    def _key(self, row: Row) -> tuple[str, date] | None:
        self._begin(row)
        code, day = self._get("code", values.code), self._get("day", self._day)
        self.problems = []
        return (code, self._local(day)) if code and day else None

    def _local(self, day: tuple[date, time | datetime | None]) -> date:
        """The day at the site: a moment that says how far it is from UTC may fall on another one."""
        there, of_day = day
        return of_day.astimezone(self.zone).date() if isinstance(of_day, datetime) else there

    def _begin(self, row: Row) -> None:
        self.no, self.cells, self.problems = row[0], row[1], []

    def _cell(self, column: int | None) -> str:
        return self.cells[column] if column is not None and column < len(self.cells) else ""

    def _say(self, column: int | None, fault: str, **facts: object) -> None:
        cell = self._cell(column)
        self.problems.append(Problem(self.no, column, cell[:200], fault, facts))

    def _get(self, target: str, read: Callable, *more: object, column: int | None = None):
        """The value of a cell; None where it is empty, or after saying what is wrong with it."""
        column = self.setup.one(target) if column is None else column
        cell = self._cell(column)
        if not cell or cell.isspace():
            return None
        # What stands in many rows is read once. A number of a workbook and a text may look the same, and are not.
        known, key = self.known.setdefault(column, {}), (type(cell), cell)
        found = known.get(key)
        if found is None:
            try:
                found = read(cell, *more)
            except Bad as bad:
                found = bad
            if len(known) < MOST_KNOWN:
                known[key] = found
        if isinstance(found, Bad):
            self._say(column, found.code, **found.facts)
            return None
        return found

    def _day(self, cell: str):
        column = self.setup.one("day")
        return values.day(cell, self.setup.styles.get(column, "iso"), self.setup.from_1904)

    def read(self, row: Row) -> NewRow | None:
        """The row as it would be stored; None where something is wrong with it (`problems`)."""
        self._begin(row)
        if not self._even():
            return None
        code, day = self._get("code", values.code), self._get("day", self._day)
        for target, value in (("code", code), ("product", True), ("day", day)):
            column = self.setup.one(target)
            if not value or is_blank([self._cell(column)]):
                self._missing(column)
        moment = self._moment(day)
        facts = self._facts()
        readings = {kind: self._readings(kind) for kind in ("whole", "ground") if kind in self.setup.columns}
        product, machine = self._named("product", self.setup.products), self._machine()
        if code and day and (rows := self.twins.get((code, self._local(day)))):
            others = [no for no in rows if no != self.no]
            self._say(self.setup.one("code"), "twins", code=code, rows=others)
        if self.problems:
            return None
        local = times.local_day(moment, self.setup.zone)
        return NewRow(self.no, code, product, machine, times.to_text(moment), local, **facts, readings=readings)

    def _even(self) -> bool:
        have, want = len(self.cells), self.setup.width
        if have < want and not self.setup.ragged:
            self._say(None, "short_row", cells=have, width=want)
        elif have > want and not is_blank(self.cells[want:]):
            self._say(None, "long_row", cells=have, width=want)
        return not self.problems

    def _missing(self, column: int | None) -> None:
        if not any(problem.column == column for problem in self.problems):
            self._say(column, "empty")

    def _moment(self, day: tuple[date, time | datetime | None] | None) -> datetime | None:
        """When it was roasted. A time of day that is neither in the file nor chosen for it is not made up."""
        given, had = self._get("time", values.clock), len(self.problems)
        if day is None:
            return None
        there, of_day = day
        if isinstance(of_day, datetime):
            return self._in_time(of_day)
        if given and of_day and given != of_day:
            self._say(self.setup.one("time"), "two_times")
        clock = given or of_day or self.setup.clock
        if clock is None:
            if had == len(self.problems) and not any(p.column == self.setup.one("time") for p in self.problems):
                self._say(self.setup.one("time"), "no_time")
            return None
        moment = datetime.combine(there, clock, self.zone)
        try:
            back = times.from_text(moment.isoformat()).astimezone(self.zone)
        except ValueError:
            back = None
        if back is None or back.replace(tzinfo=None) != moment.replace(tzinfo=None):
            self._say(self.setup.one("day"), "skipped_hour" if back else "year", year=FIRST_YEAR)
            return None
        return self._in_time(moment)

    def _in_time(self, moment: datetime) -> datetime | None:
        column = self.setup.one("day")
        if moment.year < FIRST_YEAR:
            self._say(column, "year", year=FIRST_YEAR)
        elif moment.year > 9000 or moment > self.setup.now + SLACK:
            self._say(column, "future")
        else:
            return moment
        return None

    def _facts(self) -> dict:
        facts: dict = {name: self._get(name, values.text, most) or "" for name, most in (("lot", 80), ("note", 2000))}
        measured = (
            ("green", "green_g", values.grams), ("roasted", "roasted_g", values.grams),
            ("drop", "drop_decicelsius", values.decicelsius), ("total", "total_s", values.seconds),
            ("development", "development_s", values.seconds),
        )  # fmt: skip
        for target, name, read in measured:
            column = self.setup.one(target)
            style = self.setup.styles.get(column, "point")
            more = (style,) if read is values.seconds else (style, self.setup.units.get(column, ""))
            facts[name] = self._get(target, read, *more)
        if facts["green_g"] and facts["roasted_g"] and facts["roasted_g"] > facts["green_g"]:
            self._say(self.setup.one("roasted"), "gains")
        if facts["total_s"] and facts["development_s"] and facts["development_s"] > facts["total_s"]:
            self._say(self.setup.one("development"), "longer")
        return facts

    def _readings(self, kind: str) -> tuple[Read, ...]:
        read = values.average if self.setup.averages.get(kind) else values.reading
        found = []
        for column in self.setup.columns[kind]:
            style = self.setup.styles.get(column, "point")
            value = self._get(kind, read, style, self.setup.scales[kind], column=column)
            if value is not None:
                found.append(Read(value, str(self._cell(column)).strip()))
        return tuple(found)

    def _named(self, target: str, known: dict[str, str]) -> str | None:
        name = self._get(target, values.text, 200)
        if not name:
            return None
        there = known.get(folded(name))
        if there is None:
            self._say(self.setup.one(target), f"unknown_{target}")
        elif there == LEFT_OUT:
            self._say(self.setup.one(target), "left_out")
        return there

    def _machine(self) -> str | None:
        column = self.setup.one("machine")
        if column is None or is_blank([self._cell(column)]):
            if self.setup.machine is None:
                self._say(column, "no_machine")
            return self.setup.machine
        return self._named("machine", self.setup.machines)


def read_all(setup: Setup, rows: Callable[[], Iterable[Row]]) -> Iterator[tuple[Row, NewRow | None, list[Problem]]]:
    """Each row with what it would be stored as, or with what is wrong with it. rows: begins the file anew."""
    reader = Reader(setup)
    reader.look_for_twins(rows())
    for row in rows():
        new = reader.read(row)
        yield row, new, reader.problems
