"""What is chosen for a file on the way: kept with its draft, proposed where it is plain, asked for where it is not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time
from typing import NamedTuple

from sqlite_utils import Database

from webapp.exchange import import_file
from webapp.exchange.import_columns import KIND_OF, MOST_READINGS, NEEDED, SEVERAL, TARGETS, propose, said_by
from webapp.exchange.import_file import Table
from webapp.exchange.import_look import EMPTY, Look, look_at
from webapp.exchange.import_rows import LEFT_OUT, Setup, folded
from webapp.exchange.import_values import Scale
from webapp.store import gear, methods, products
from webapp.store.imported import Way

KINDS = SEVERAL
MOST_NAMES = 100
"""Names that can be matched by hand on one page."""


class Names(NamedTuple):
    """What the bench knows: folded name -> id, and id -> name."""

    ids: dict[str, str]
    names: dict[str, str]


def product_names(db: Database) -> Names:
    """Products by name, and by their short name where no product has that as its name."""
    found = products.list_products(db, active_only=False)
    ids = {folded(one.short): one.id for one in reversed(found)} | {folded(one.name): one.id for one in reversed(found)}
    return Names(ids, {one.id: one.name for one in found})


def machine_names(db: Database) -> Names:
    """Machines by name."""
    found = gear.list_machines(db, active_only=False)
    return Names({folded(one.name): one.id for one in reversed(found)}, {one.id: one.name for one in found})


def looked_at(db: Database, content: bytes, reading: dict) -> dict:
    """The choices of a file that was just opened, or is read another way: what it looks like, and what is proposed.

    Refused: it cannot be read this way.
    """
    table = import_file.table_of(content, reading)
    looks, count = look_at(import_file.data_rows(content, reading, table), table.width)
    ids = product_names(db).ids, machine_names(db).ids
    columns = propose(table.names, looks, *(lambda name, known=known: folded(name) in known for known in ids))
    return {
        "reading": reading, "header": table.header, "names": list(table.names), "rows": count,
        "looks": [look.as_json() for look in looks], "columns": {str(no): target for no, target in columns.items()},
        "styles": {}, "units": {}, "averages": {}, "meters": {}, "methods": {}, "machine": "", "time": "",
        "products": {}, "machines": {},
    }  # fmt: skip


@dataclass
class Chosen:
    """The choices of a draft, as they stand."""

    at: dict

    @property
    def table(self) -> Table:
        """The headers."""
        return Table(self.at["header"], tuple(self.at["names"]))

    @property
    def looks(self) -> list[Look]:
        """A Look for each column."""
        return [Look(**look) for look in self.at["looks"]]

    @property
    def columns(self) -> dict[int, str]:
        """Column -> what stands in it."""
        return {int(no): target for no, target in self.at["columns"].items()}

    def of(self, target: str) -> list[int]:
        """The columns of a target."""
        return [no for no, one in sorted(self.columns.items()) if one == target]

    def look(self, target: str) -> Look:
        """The Look of a target's column."""
        found = self.of(target)
        return self.looks[found[0]] if found else EMPTY

    def kinds(self) -> list[str]:
        """The kinds that have a column."""
        return [kind for kind in KINDS if self.of(kind)]

    @property
    def timed(self) -> bool:
        """Whether every row has its time of day."""
        times = self.look("time")
        return self.look("day").timed or (times.filled > 0 and times.filled == self.at["rows"])

    @property
    def machined(self) -> bool:
        """Whether every row has its machine."""
        return self.look("machine").filled == self.at["rows"] > 0

    def style(self, no: int) -> str:
        """A column's style: chosen, else proposed, else ''."""
        if chosen := self.at["styles"].get(str(no)):
            return chosen
        look, target = self.looks[no], self.columns.get(no, "")
        if KIND_OF.get(target) == "day":
            return look.day or ""
        if KIND_OF.get(target) == "duration":
            by_header = {"s": "seconds", "mss": "mss"}.get(said_by(self.at["names"][no]).unit or "", "")
            return look.duration or by_header
        return look.decimal or self._as_elsewhere(look)

    def _as_elsewhere(self, look: Look) -> str:
        """What could be marks between thousands, as in 12.350, is as the file's other columns write decimals, if they
        all do it in one way."""
        own = [one for no, one in enumerate(self.looks) if self.columns.get(no) in KIND_OF and not one.thousands]
        return look.marks[0] if look.thousands and {m for one in own for m in one.marks} == set(look.marks) else ""

    def unit(self, no: int) -> str:
        """A column's unit: chosen, else as its header says, else ''."""
        said = said_by(self.at["names"][no]).unit or ""
        return self.at["units"].get(str(no)) or (said if said in ("kg", "g", "lb", "C", "F") else "")

    def average(self, kind: str) -> bool | None:
        """Whether a kind's numbers are averages; None: nobody has said."""
        own = self.of(kind)
        if len(own) > 1:
            return False
        return self.at["averages"].get(kind)

    def unmatched(self, target: str, names: Names) -> list[str] | None:
        """The names of products or machines in the file that the bench does not know; None: they are too many."""
        values = self.look(target).values
        if values is None:
            return None
        found = [value for value in values if folded(value) not in names.ids]
        return found if len(found) <= MOST_NAMES else None


Problems = list[tuple[str, str]]
"""(id of a field, code of what is missing)."""


def take_columns(chosen: Chosen, form: Mapping[str, str]) -> Problems:
    """Which column holds what, from the form."""
    found = {}
    for no in range(len(chosen.at["names"])):
        target = form.get(f"column-{no}", "")
        if target in TARGETS:
            found[str(no)] = target
    if found != chosen.at["columns"]:
        chosen.at["columns"] = found
        # A style was chosen for what stood there before.
        chosen.at["styles"], chosen.at["units"] = {}, {}
    return column_problems(chosen)


def column_problems(chosen: Chosen) -> Problems:
    """What is wrong with the matching."""
    problems: Problems = []
    for target in TARGETS:
        own = chosen.of(target)
        if target in NEEDED and not own:
            problems.append(("column-0", f"no_{target}"))
        if target not in SEVERAL and len(own) > 1:
            problems.append((f"column-{own[1]}", f"twice_{target}"))
        if target in SEVERAL and len(own) > MOST_READINGS:
            problems.append((f"column-{own[MOST_READINGS]}", "too_many_readings"))
    return problems


def take_numbers(chosen: Chosen, form: Mapping[str, str]) -> None:
    """How the columns are written and what stands for what, from the form."""
    at = chosen.at
    at["styles"] = {str(no): form[f"style-{no}"] for no in chosen.columns if form.get(f"style-{no}")}
    at["units"] = {str(no): form[f"unit-{no}"] for no in chosen.columns if form.get(f"unit-{no}")}
    at["averages"] = {
        kind: form[f"average-{kind}"] == "average" for kind in chosen.kinds() if form.get(f"average-{kind}")
    }
    at["meters"] = {kind: form.get(f"meter-{kind}", "") for kind in chosen.kinds()}
    at["methods"] = {kind: form.get(f"method-{kind}", "") for kind in chosen.kinds()}
    at["machine"], at["time"] = form.get("machine", ""), form.get("time", "").strip()
    for target, key in (("product", "products"), ("machine", "machines")):
        values = chosen.look(target).values or []
        given = {value: form.get(f"{target}-{no}", "") for no, value in enumerate(values)}
        at[key] = {folded(value): one for value, one in given.items() if one}


def number_problems(chosen: Chosen, db: Database) -> Problems:
    """What has not been chosen yet, or is no choice."""
    at, problems = chosen.at, []
    for no, target in sorted(chosen.columns.items()):
        problems += _style_problems(chosen, no, target)
    for kind in chosen.kinds():
        if chosen.average(kind) is None:
            problems.append((f"average-{kind}", "no_average"))
        if at["meters"].get(kind) not in {one.id for one in gear.list_meters(db, active_only=False)}:
            problems.append((f"meter-{kind}", "no_meter"))
        if at["methods"].get(kind) not in {one.id for one in versions(db, kind)}:
            problems.append((f"method-{kind}", "no_method"))
    if clock(at["time"]) is None and (at["time"] or not chosen.timed):
        problems.append(("time", "no_time"))
    machines = machine_names(db)
    if at["machine"] not in machines.names and (at["machine"] or not chosen.machined):
        problems.append(("machine", "no_machine"))
    problems += _name_problems(chosen, "product", product_names(db), at["products"])
    return problems + _name_problems(chosen, "machine", machines, at["machines"])


def _style_problems(chosen: Chosen, no: int, target: str) -> Problems:
    kind, problems = KIND_OF.get(target), []
    offered = {"day": DAYS, "duration": DURATION, None: ()}.get(kind, DECIMAL)
    if kind and chosen.style(no) not in offered:
        problems.append((f"style-{no}", f"no_style_{kind if kind in ('day', 'duration') else 'decimal'}"))
    if kind in UNIT and chosen.unit(no) not in UNIT[kind]:
        problems.append((f"unit-{no}", "no_unit"))
    return problems


DAYS = ("iso", "dmy.", "dmy/", "mdy/", "dmy-", "mdy-", "serial")
DURATION, DECIMAL = ("mss", "seconds", "hmm"), ("point", "comma")
UNIT = {"mass": ("kg", "g", "lb"), "temperature": ("C", "F")}


def _name_problems(chosen: Chosen, target: str, known: Names, given: dict[str, str]) -> Problems:
    if not chosen.of(target):
        return []
    values, unmatched = chosen.look(target).values or [], chosen.unmatched(target, known)
    if unmatched is None:
        return [("names", f"many_{target}")]
    return [
        (f"{target}-{values.index(name)}", f"no_match_{target}")
        for name in unmatched if given.get(folded(name)) not in (*known.names, LEFT_OUT)
    ]  # fmt: skip


def clock(text: str) -> time | None:
    """A chosen time of day; None if it is none."""
    try:
        return time.fromisoformat(text) if len(text) in (5, 8) else None
    except ValueError:
        return None


def versions(db: Database, kind: str) -> list[methods.MethodVersion]:
    """Every version of every method of a kind, the newest of each first."""
    found = methods.list_methods(db, kind, active_only=False)
    return [version for method in found for version in methods.list_versions(db, method.method_id)]


def ways(chosen: Chosen) -> dict[str, Way]:
    """How each kind was read."""
    at = chosen.at
    return {
        kind: Way(at["methods"][kind], at["meters"][kind], bool(chosen.average(kind))) for kind in chosen.kinds()
    }  # fmt: skip


def setup(chosen: Chosen, db: Database, zone: str, now: datetime) -> Setup:
    """How the rows are read. Nothing may be missing any more."""
    at, scales = chosen.at, {}
    for kind, way in ways(chosen).items():
        scale = gear.get_meter(db, way.meter_id).scale
        scales[kind] = Scale(scale.lower, scale.upper, scale.step)
    by_target: dict[str, tuple[int, ...]] = {target: tuple(chosen.of(target)) for target in TARGETS}
    products_, machines = product_names(db), machine_names(db)
    return Setup(
        {target: own for target, own in by_target.items() if own},
        {no: chosen.style(no) for no in chosen.columns}, {no: chosen.unit(no) for no in chosen.columns},
        at["products"] | products_.ids, at["machines"] | machines.ids, at["machine"] or None, clock(at["time"]),
        scales, {kind: bool(chosen.average(kind)) for kind in chosen.kinds()}, chosen.table.width,
        at["reading"]["what"] == "workbook", zone, now, at["reading"].get("from_1904", False),
    )  # fmt: skip


def steps_of(chosen: Chosen, db: Database) -> dict[str, int]:
    """Kind -> the step in which its numbers are shown, in hundredths: of averages every decimal that is kept."""
    found = ways(chosen).items()
    return {kind: 1 if way.average else gear.get_meter(db, way.meter_id).scale.step for kind, way in found}


def kept(chosen: Chosen) -> dict:
    """What is kept of the choices with a file that was taken in: all that says how its cells were read."""
    at = chosen.at
    columns = [
        {"name": at["names"][no], "what": target, "style": chosen.style(no) if target in KIND_OF else "",
         "unit": chosen.unit(no) if KIND_OF.get(target) in UNIT else ""}
        for no, target in sorted(chosen.columns.items())
    ]  # fmt: skip
    reading = {name: at["reading"][name] for name in ("what", "encoding", "delimiter") if name in at["reading"]}
    return {
        "columns": columns, "reading": reading | {"header": at["header"]},
        "averages": {kind: bool(chosen.average(kind)) for kind in chosen.kinds()}, "meters": at["meters"],
        "methods": at["methods"], "machine": at["machine"], "time": at["time"], "products": at["products"],
        "machines": at["machines"],
    }  # fmt: skip
