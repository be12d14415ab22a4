"""Days for the strip's tests: batches at given positions against the small roastery's first product."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from webapp.store import batches, decisions
from webapp.store.products import TargetBand, add_product
from webapp.store.who import SYSTEM

# The first product's targets and half a band, in scale units (tests/support/roastery.py).
TARGET = {"whole": 56.0, "ground": 61.0}
HALF = 1.5
DAY = "2026-05-14"


def at(clock: str, day: str = DAY) -> datetime:
    """`07:42` of that day at the roastery."""
    return datetime.fromisoformat(f"{day}T{clock}:00").replace(tzinfo=ZoneInfo("Europe/Vienna")).astimezone(UTC)


def batch(bench, clock: str, *, product: str | None = None, day: str = DAY, code: str = "") -> batches.Batch:
    """A batch without readings."""
    return bench.batch(code, product, at(clock, day))


def read(bench, made: batches.Batch, role: str = "roaster", **positions: float) -> None:
    """Read it so that it stands at these positions: whole=0.2, ground=-0.1; two fills of three readings."""
    for kind, position in positions.items():
        value = TARGET[kind] + position * HALF
        fill = [round(value + off, 1) for off in (-0.1, 0, 0.1)]
        moment = datetime.fromisoformat(made.roasted_at) + timedelta(minutes=9)
        bench.sample(made.id, kind, fill, fill, at=moment, role=role)


def measured(bench, clock: str, role: str = "roaster", day: str = DAY, code: str = "", **positions) -> batches.Batch:
    """A batch that was read."""
    made = batch(bench, clock, day=day, code=code)
    read(bench, made, role, **positions)
    return made


def decide(bench, made: batches.Batch, what: str) -> None:
    """A lead's decision."""
    decisions.add_decision(bench.db, str(uuid.uuid4()), made.id, what, "a reason", bench.who("lead"), bench.now)


def product(bench, name: str, short: str, **kinds: bool) -> str:
    """Another product, with bands like the first one's for the kinds named, or for none."""
    bands = [TargetBand(kind, round((TARGET[kind] - HALF) * 100), round(TARGET[kind] * 100),
                        round((TARGET[kind] + HALF) * 100)) for kind in kinds]  # fmt: skip
    return add_product(
        bench.db, name, short, bench.scale, "guarded", 0.8, bench.methods["whole"], bench.methods["ground"], bands,
        SYSTEM, at("06:00", "2026-02-01"),
    )  # fmt: skip
