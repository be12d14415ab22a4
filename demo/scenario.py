"""The invented roastery of scenario.toml, as objects."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from pathlib import Path

FILE = Path(__file__).with_name("scenario.toml")
KINDS = ("whole", "ground", "difference")


@dataclass(frozen=True)
class Person:
    """Somebody at the bench. `bias`: what their hands add; `care`: how much their fills vary, 1 is usual;
    `starts`: the day on which they came."""

    key: str
    name: str
    role: str
    pin: str
    bias: float
    care: float
    short: bool
    auto_point: bool = False
    starts: int = -1000


@dataclass(frozen=True)
class Tablet:
    """A tablet; `enrolled` and `revoked`: the days on which it came into use and was taken out of it."""

    key: str
    name: str
    enrolled: int = -1000
    revoked: int | None = None


@dataclass(frozen=True)
class Machine:
    """A roasting machine: usual green mass in grams, usual total time in seconds, how much lighter it roasts."""

    key: str
    name: str
    green: int
    bias: float
    total: int


@dataclass(frozen=True)
class Scale:
    """A number scale in hundredths; `unit`: scale units for one unit of lightness."""

    key: str
    name: str
    lower: int
    upper: int
    step: int
    lighter: int
    unit: float


@dataclass(frozen=True)
class Meter:
    """A meter, its plate and what is wrong with it; `share`: how often it is the one at hand.

    check: the rule by which its plate is read. drift: from which day it walks, how far per day, and per day after it
    was adjusted. knock: on which day something happens to it after its first check (-1: the working day before today),
    and by how much that puts it off, until it is adjusted.
    """

    key: str
    name: str
    scale: str
    plate: dict
    check: dict
    bias: float = 0.0
    drift: dict | None = None
    knock: dict | None = None
    share: float = 1.0


@dataclass(frozen=True)
class Grinder:
    """A grinder and the names of its settings, the first one first in use."""

    key: str
    name: str
    settings: list[str]


@dataclass(frozen=True)
class Product:
    """A product with its bands ([lower, target, upper] in hundredths, 0 for no limit) and its usual roast.

    `walk`: since when and how fast it walks off; `on_the_limit_today`: how far off today's batches are.
    """

    key: str
    name: str
    short: str
    scale: str
    machine: str
    lot: list[str]
    weight: int
    loss: float
    drop: int
    whole: list[int] | None = None
    ground: list[int] | None = None
    difference: list[int] | None = None
    rule: str = "guarded"
    confidence: float = 0.8
    walk: dict | None = None
    on_the_limit_today: float | None = None

    def kinds(self) -> list[str]:
        """Which kinds of sample it is read by."""
        return [kind for kind in ("whole", "ground") if getattr(self, kind)]


@dataclass(frozen=True)
class Scenario:
    """All of it. The plain tables are as in the file."""

    site: dict
    days: dict
    spread: dict
    odd: dict
    plate: dict
    burrs: dict
    grind: dict
    hurry: dict
    mix_up: dict
    retarget: dict
    people: tuple[Person, ...]
    tablets: tuple[Tablet, ...]
    machines: tuple[Machine, ...]
    scales: tuple[Scale, ...]
    meters: tuple[Meter, ...]
    grinders: tuple[Grinder, ...]
    products: tuple[Product, ...]

    def get(self, table: str, key: str):
        """One entry of a table by its key."""
        return next(entry for entry in getattr(self, table) if entry.key == key)


LISTS = {
    "people": Person,
    "tablets": Tablet,
    "machines": Machine,
    "scales": Scale,
    "meters": Meter,
    "grinders": Grinder,
    "products": Product,
}


def load(path: Path = FILE) -> Scenario:
    """Read the scenario; TypeError for a word that nothing here knows."""
    told = tomllib.loads(path.read_text(encoding="utf-8"))
    made = {
        name: tuple(LISTS[name](**row) for row in content) if name in LISTS else content
        for name, content in told.items()
    }
    return Scenario(**{field.name: made.pop(field.name) for field in fields(Scenario)}, **made)
