"""Which batches are roasted on which day, when, on what and by whom: the run of a working week."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from random import Random
from zoneinfo import ZoneInfo

from demo.scenario import Machine, Person, Product, Scenario

# Before this many batches have cooled today, the day is taken to have begun earlier: an empty strip shows nothing.
ENOUGH_TODAY = 7
SHOWN_EARLY = 9
LEAST_TODAY = 14
EARLY_START = timedelta(hours=4, minutes=30)
YESTERDAY_BEGINS_WITH = ("thunder", "thunder", "lantern", "lantern")
TODAY_BEGINS_WITH = ("lantern", "lantern", "boat", "boat", "boat", "boat", "decaf", "thunder", "thunder")


@dataclass(frozen=True)
class Planned:
    """One batch to come. `day`: 0 is today; `nth`: how many of this product came before it that day; `pace`: 1, or
    less where the day is squeezed into less time."""

    number: int
    day: int
    date: date
    drop: datetime
    product: Product
    machine: Machine
    lot: str
    roaster: Person
    nth: int
    pace: float


def working_days(scenario: Scenario, today: date) -> list[tuple[int, date]]:
    """(day, date) of every day on which the roastery works, oldest first: no Sundays, but always today."""
    first = 1 - scenario.days["history"]
    days = [(day, today + timedelta(days=day)) for day in range(first, 1)]
    return [(day, when) for day, when in days if day == 0 or when.weekday() != 6]


def day_plan(
    rng: Random, scenario: Scenario, day: int, when: date, now: datetime, yesterday: bool = False
) -> list[Planned]:
    """The batches of one day in order, times in UTC. Today's are planned to the evening, whenever `now` is.

    `yesterday`: it is the working day before today.
    """
    zone = ZoneInfo(scenario.site["time_zone"])
    least, most = scenario.days["saturday" if when.weekday() >= 5 else "weekday"]
    count = max(rng.randint(least, most), LEAST_TODAY if day == 0 else 0)
    drop = datetime.combine(when, time.fromisoformat(scenario.days["first_drop"]), zone).astimezone(UTC)
    drops = []
    for _number in range(count):
        drops.append(drop)
        drop += timedelta(minutes=rng.uniform(*scenario.days["between"]))
    pace = 1.0
    if day == 0 and sum(d < now - timedelta(minutes=20) for d in drops) < ENOUGH_TODAY:
        drops, pace = early(when, now, zone)
    people = [p for p in scenario.people if p.role == "roaster"]
    on_shift = rng.sample(people, 2)
    planned: list[Planned] = []
    begins_with = TODAY_BEGINS_WITH if day == 0 else YESTERDAY_BEGINS_WITH if yesterday else ()
    for number, (product, at) in enumerate(zip(products(rng, scenario, begins_with, len(drops)), drops, strict=True)):
        planned.append(
            Planned(
                number, day, when, at, product, scenario.get("machines", product.machine), rng.choice(product.lot),
                on_shift[(number // 4) % 2], sum(p.product is product for p in planned), pace,
            )
        )  # fmt: skip
    return planned


def early(when: date, now: datetime, zone: ZoneInfo) -> tuple[list[datetime], float]:
    """Drops spread from the small hours until now, and how much faster everything goes than usual."""
    start = max(datetime.combine(when, time(), zone).astimezone(UTC), now - EARLY_START)
    gap = (now - start) / SHOWN_EARLY
    return [start + gap * (n + 0.4) for n in range(SHOWN_EARLY)], min(1.0, gap / timedelta(minutes=28))


def products(rng: Random, scenario: Scenario, begins_with: tuple[str, ...], count: int) -> list[Product]:
    """What is roasted: one product two or three times, then the next, as a roastery does."""
    chosen = [scenario.get("products", key) for key in begins_with]
    while len(chosen) < count:
        product = rng.choices(scenario.products, [p.weight for p in scenario.products])[0]
        chosen += [product] * rng.choice((1, 2, 2, 3) if product.weight > 1 else (1, 1, 2))
    return chosen[:count]
