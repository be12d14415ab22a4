"""What the tests of corrections share."""

from __future__ import annotations

import shutil
import uuid
from datetime import UTC, datetime, timedelta

import pytest

from tests.support.roastery import Roastery
from webapp.store import connect, products
from webapp.store.products import TargetBand


@pytest.fixture
def harbour(bench: Roastery) -> str:
    """A second product on the same scale, ten points darker, read by the same methods."""
    return another_product(bench)


def another_product(bench: Roastery, name: str = "Harbour", at: datetime | None = None) -> str:
    """A product whose bands lie ten points below the first one's; its id."""
    bands = [TargetBand("whole", 4450, 4600, 4750), TargetBand("ground", 4950, 5100, 5250)]
    methods = (bench.methods["whole"], bench.methods["ground"])
    return products.add_product(
        bench.db, name, name[:2].upper(), bench.scale, "guarded", 0.8, *methods, bands, bench.who("lead"),
        at or bench.now - timedelta(days=30),
    )  # fmt: skip


@pytest.fixture
def everything(bench: Roastery):
    """everything() is all that is stored."""
    tables = [row[0] for row in bench.db.conn.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    # Whoever signs in or is seen again leaves a trace of that.
    kept = [table for table in tables if table not in ("session", "pin_guard")]
    return lambda: {t: [tuple(row) for row in bench.db.conn.execute(f"SELECT * FROM {t}")] for t in kept}


@pytest.fixture
def move(sign_in):
    """move(sample, to, ...) posts the form as a roaster."""

    def made(sample, to, role="roaster", **changes):
        sent = {
            "id": str(uuid.uuid4()), "from_batch": sample.batch_id, "batch": to.id, "reason": "Trays swapped.",
            "code": "", "understood": "", "store": "1",
        }  # fmt: skip
        return sign_in(role).post(f"/samples/{sample.id}/move", data=sent | changes)

    return made


@pytest.fixture(scope="module")
def roastery(templates, tmp_path_factory):
    """roastery() gives a fresh one for each example."""
    opened = []

    def made():
        path = tmp_path_factory.mktemp("example") / "bench.db"
        opened.append(connect.connect(shutil.copy(templates["roastery"], path)))
        bench = Roastery(opened[-1], now=datetime.now(UTC))
        bench.__dict__.update({k: v for k, v in templates["made"].__dict__.items() if k not in ("db", "now")})
        return bench

    yield made
    for db in opened:
        db.close()
