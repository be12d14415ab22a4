"""What would really happen: how a batch turns out, and what the meter shows. Deviations in units of lightness."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from demo.scenario import Machine, Meter, Person, Product, Scale, Scenario


@dataclass(frozen=True)
class Roast:
    """A batch as it turned out: how much lighter than its target it really is, and what the roaster noted."""

    whole: float
    ground: float
    green_g: int
    roasted_g: int
    drop_decicelsius: int
    total_s: int
    development_s: int


def roast(
    rng: Random, scenario: Scenario, product: Product, machine: Machine, day: int, nth_today: int
) -> Roast:
    """One batch of `product` on `day` (0 is today, -1 yesterday); `nth_today` counts this product's from 0."""
    spread = scenario.spread
    whole = machine.bias + walked(product, day, nth_today) + rng.gauss(0, spread["batch"])
    if day == 0 and product.on_the_limit_today is not None:
        whole = product.on_the_limit_today
    ground = 0.85 * whole + rng.gauss(0, spread["evenness"])
    green = round(machine.green * rng.uniform(0.94, 1.0), -1)
    # Darker means hotter, longer and lighter in mass.
    loss = product.loss - 0.28 * whole + rng.gauss(0, 0.12)
    total = round(machine.total - 9 * whole + rng.gauss(0, 8))
    return Roast(
        whole,
        ground,
        int(green),
        round(green * (1 - loss / 100)),
        round(product.drop - 7 * whole + rng.gauss(0, 6)),
        total,
        round(total * rng.uniform(0.16, 0.2)),
    )


def walked(product: Product, day: int, nth_today: int) -> float:
    """How far the product has walked off by then: it walks more each day, and with each batch today."""
    if product.walk is None or day < product.walk["from"]:
        return 0.0
    days = product.walk["per_day"] * (day - product.walk["from"])
    return days + (product.walk["today"] * nth_today if day == 0 else 0.0)


class Errors:
    """How far each meter is off, for coffee and plate alike, through its adjustments."""

    def __init__(self, scenario: Scenario) -> None:
        self.adjusted: dict[str, int] = {}
        self.knocked: dict[str, float] = {}
        self.first = {meter.key: meter.bias for meter in scenario.meters}

    def of(self, meter: Meter, day: int) -> float:
        """The meter's error on a day."""
        there = self.first[meter.key] + self.knocked.get(meter.key, 0.0)
        if meter.drift is None:
            return there
        since = self.adjusted.get(meter.key)
        if since is None:
            return there + meter.drift["per_day"] * max(0, day - meter.drift["from"])
        return there + meter.drift["adjusted"] * (day - since)

    def knock(self, meter: Meter) -> None:
        """Something happens to the meter."""
        self.knocked[meter.key] = meter.knock["by"]

    def adjust(self, meter: Meter, day: int) -> None:
        """It is set to its plate: the error starts again from zero."""
        self.adjusted[meter.key] = day
        self.knocked[meter.key] = self.first[meter.key] = 0.0


def finer(scenario: Scenario, kind: str, day: int) -> float:
    """How much lighter ground coffee reads since the burrs are new."""
    return scenario.burrs["shift"] if kind == "ground" and day >= scenario.burrs["day"] else 0.0


def hurried(scenario: Scenario, kind: str, date: date, day: int) -> float:
    """How many times more the fills scatter than usual: in the whole calendar month before today's, of one kind."""
    today = date - timedelta(days=day)
    before = today.replace(day=1) - timedelta(days=1)
    there = kind == scenario.hurry["kind"] and (date.year, date.month) == (before.year, before.month)
    return scenario.hurry["fills"] if there else 1.0


def shown(exact: float, scale: Scale) -> int:
    """What a meter shows, in hundredths: on its step and its scale."""
    return min(scale.upper, max(scale.lower, round(exact / scale.step) * scale.step))


def plate_readings(rng: Random, scenario: Scenario, meter: Meter, error: float, count: int) -> list[int]:
    """Readings of the meter's plate, in hundredths, with its error as coffee has it."""
    scale = scenario.get("scales", meter.scale)
    seated = error + rng.gauss(0, scenario.plate["seat"])
    unit = scale.lighter * scale.unit * 100
    each = [seated + rng.gauss(0, scenario.plate["reading"]) for _reading in range(count)]
    return [shown(meter.plate["assigned"] + unit * seen, scale) for seen in each]


class Dish:
    """One sample in the hands of one person on one meter: gives fills, and readings of a fill.

    truth: how much lighter than its target it is, as it was ground; error: the meter's own; hurry: how many times more
    than usual its fills scatter.
    """

    def __init__(
        self, rng: Random, scenario: Scenario, product: Product, kind: str, truth: float, person: Person,
        meter: Meter, error: float, day: int, hurry: float = 1.0,
    ) -> None:  # fmt: skip
        self.rng, self.kind, self.odd = rng, kind, scenario.odd
        self.scale = scenario.get("scales", meter.scale)
        self.centre = getattr(product, kind)[1]
        newness = max(0.0, 1 - (day - person.starts) / 25) if person.role == "trainee" else 1.0
        care = 1 + (person.care - 1) * newness
        self.reading_sd = scenario.spread["reading"][kind]
        self.fill_sd = scenario.spread["fill"][kind] * care * hurry
        self.level = truth + person.bias * newness + error
        self.fill()

    def fill(self) -> None:
        """Empty the dish and fill it again."""
        self.rough = self.rng.random() < self.odd["rough_fill"]
        self.here = self.level + self.rng.gauss(0, self.fill_sd)

    def read(self) -> int:
        """What the meter shows, in hundredths, on its step and its scale."""
        seen = self.here + self.rng.gauss(0, self.reading_sd * (3.5 if self.rough else 1))
        return shown(self.centre + self.scale.lighter * self.scale.unit * 100 * seen, self.scale)
