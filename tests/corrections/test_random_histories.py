"""Whatever is read, corrected and moved in whatever order: what is kept is what the facts give, and nothing is lost."""

from __future__ import annotations

import uuid
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.corrections.conftest import another_product
from webapp.store import (
    batch_corrections,
    batches,
    corrections,
    decisions,
    ledger,
    new_samples,
    results,
    sample_moves,
    samples,
)
from webapp.store.new_samples import NewSample
from webapp.store.readings import NewReading
from webapp.store.samples import StepDone
from webapp.store.times import to_text


class History:
    """Random work and its corrections; `sent`: what a tablet would send again."""

    def __init__(self, bench, data) -> None:
        self.bench, self.db, self.data, self.now = bench, bench.db, data, bench.now - timedelta(days=2)
        self.products = [bench.product, another_product(bench, at=bench.now - timedelta(days=30))]
        self.batches: list[tuple] = []
        self.samples: list[NewSample] = []
        for _two in range(2):
            self.batch()

    def one(self, choices):
        return self.data.draw(st.sampled_from(choices))

    def batch(self) -> None:
        new = batches.NewBatch(
            str(uuid.uuid4()), f"H-{len(self.batches)}", self.one(self.products), self.bench.machine, "Lot 1", 12000,
            10200, None, None, None, "", to_text(self.now), to_text(self.now),
        )  # fmt: skip
        batches.add_batch(self.db, new, self.bench.who(), self.now)
        self.batches.append(new)

    def sample(self) -> None:
        kind, role = self.one(["whole", "ground"]), self.one(["roaster", "trainee"])
        version = self.bench.versions[kind]
        meter = self.one([self.bench.meter] * 4 + [self.bench.flipped_meter])
        value = self.one([4600, 5100, 5600, 6100, 6350])
        readings = tuple(NewReading(1, no, value + 10 * no, str(value)) for no in (1, 2, 3))
        new = NewSample(
            str(uuid.uuid4()), self.one(self.batches).id, kind, version.id, meter, "walked", "", to_text(self.now),
            readings, (StepDone(1, to_text(self.now)),),
        )  # fmt: skip
        self.samples.append(new)
        new_samples.add_sample(self.db, new, self.bench.who(role), self.now)

    def reading(self) -> None:
        sample = self.one(self.samples)
        value = self.one([None, 5600, 6400])
        corrections.add_correction(
            self.db, str(uuid.uuid4()), sample.id, 1, self.one([1, 2, 3]), value, "So.", self.bench.who(), self.now
        )

    def move(self) -> None:
        sample = samples.get_sample(self.db, self.one(self.samples).id)
        to = self.one([batch.id for batch in self.batches if batch.id != sample.batch_id])
        sample_moves.add_move(
            self.db, str(uuid.uuid4()), sample.id, sample.batch_id, to, "So.", self.bench.who(), self.now
        )

    def facts(self) -> None:
        batch = self.one(self.batches)
        moment = to_text(self.now - timedelta(hours=self.data.draw(st.integers(0, 60))))
        wanted = self.one(
            [{"product_id": self.products[0]}, {"product_id": self.products[1]}, {"roasted_at": moment},
             {"lot": f"Lot {self.now.minute}", "roasted_g": None}, {"code": f"N-{self.now.minute}"}]
        )  # fmt: skip
        seen = batch_corrections.newest_id(self.db, batch.id)
        try:
            batch_corrections.add_batch_correction(
                self.db, str(uuid.uuid4()), batch.id, wanted, "So.", self.bench.who("lead"), self.now, seen
            )
        except batch_corrections.NothingChanged:
            there = batches.get_batch(self.db, batch.id)
            assert all(getattr(there, fact) == value for fact, value in wanted.items())

    def check(self) -> None:
        self.bench.check(self.one([[61.0, 61.1, 61.0], [60.0, 60.1, 60.0]]), at=self.now)

    def decide(self) -> None:
        batch = self.one(self.batches)
        decisions.add_decision(self.db, str(uuid.uuid4()), batch.id, "hold", "So.", self.bench.who(), self.now)

    def work(self, steps: int) -> None:
        for _step in range(steps):
            self.now += timedelta(minutes=self.data.draw(st.integers(0, 90)))
            doings = [self.batch, self.sample, self.sample, self.facts]
            if self.samples:
                doings += [self.reading, self.move, self.move, self.check, self.decide]
            self.one(doings)()

    def send_again(self) -> None:
        """Everything, as it was at first: known, and changing nothing."""
        for new in self.batches:
            batches.add_batch(self.db, new, self.bench.who(), self.now)
        for new in self.samples:
            new_samples.add_sample(self.db, new, self.bench.who(), self.now)


SUM = "SELECT count(*), sum(value), count(DISTINCT sample_id || '/' || fill_no || '/' || no) FROM reading"
BY_BATCH = (
    "SELECT sum(n), sum(total) FROM (SELECT b.id, count(r.value) AS n, sum(r.value) AS total FROM batch b"
    " JOIN sample s ON s.batch_id = b.id JOIN reading r ON r.sample_id = s.id GROUP BY b.id)"
)
DERIVED = ("part_result", "batch_result", "trend_state", "method_spread", "routine_spread")


@settings(max_examples=15, deadline=None)
@given(data=st.data(), steps=st.integers(4, 22))
def test_it_keeps_what_the_facts_give_and_loses_no_reading(roastery, data, steps):
    history = History(roastery(), data)
    history.work(steps)
    db = history.db
    assert results.rebuild(db) == []
    assert list(ledger.faults(db)) == []
    rows = 3 * len(history.samples)
    total = sum(reading.value for sample in history.samples for reading in sample.readings)
    assert tuple(db.conn.execute(SUM).fetchone()) == (rows, total or None, rows)
    # Each reading is in one batch, whichever that is now.
    assert tuple(db.conn.execute(BY_BATCH).fetchone()) == ((rows, total) if rows else (None, None))
    before = {table: db.conn.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall() for table in DERIVED}
    head = ledger.head(db)
    history.send_again()
    assert ledger.head(db) == head
    after = {table: db.conn.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall() for table in DERIVED}
    assert {t: [tuple(r) for r in rows] for t, rows in after.items()} == {
        t: [tuple(r) for r in rows] for t, rows in before.items()
    }


@settings(max_examples=8, deadline=None)
@given(data=st.data())
def test_it_judges_a_moved_sample_as_if_it_had_been_stored_there(roastery, data):
    """Read of batch B by mistake and moved, or read of batch A at once: the same parts and verdict."""
    bench, other = roastery(), roastery()
    found = []
    for there, moved in ((bench, False), (other, True)):
        at = there.now = bench.now
        products = [there.product, another_product(there)]
        right, wrong = (there.batch(code, product, at=at) for code, product in zip("AB", products, strict=True))
        kind = "whole"
        sample = there.sample((wrong if moved else right).id, kind, [46.0, 46.2, 46.1], at=at)
        if moved:
            sample_moves.add_move(there.db, "m-1", sample.id, wrong.id, right.id, "So.", there.who(), at)
        part = results.get_parts(there.db, right.id)[kind]
        found.append([getattr(part, n) for n in ("value", "u", "verdict", "side", "chance", "position", "meter_state")])
        assert results.rebuild(there.db) == []
    assert found[0] == found[1]
