"""What waits is kept in a table, by the strip's own rule, in the transaction of whatever changes it."""

import uuid
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.store.histories import Morning
from webapp.store import connect, decisions, migrations, results, strip_days, waiting
from webapp.store.waiting import Stands, why_waiting

START = datetime(2026, 5, 14, 6, 0, tzinfo=UTC)


class Evening(Morning):
    """The same mornings, with every kind of decision that is asked for by itself, and trainees' samples."""

    def decision(self) -> None:
        what = self.dice.choice(["release", "hold", "reject", "concession", "remeasure", "remeasure"])
        who = self.bench.who(self.dice.choice(["lead", "roaster"]))
        decisions.add_decision(self.db, self.fresh(), self.dice.choice(self.batches), what, "So.", who, self.now)


def on_the_strip(bench):
    """batch id -> why it waits, as the strip of each day says it."""
    days = [day for (day,) in bench.db.conn.execute("SELECT DISTINCT day FROM batch")]
    return {b.id: b.why for day in days for b in strip_days.get_day(bench.db, day).batches if b.waits}


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(seed=st.integers(0, 10**9))
def test_it_is_what_the_strip_says_after_any_history(bench, seed):
    Evening(bench, seed, START + timedelta(days=seed % 9)).work(20)
    assert waiting.all_waiting(bench.db) == on_the_strip(bench)
    assert results.rebuild(bench.db) == []


def test_it_has_been_asked_something_by_such_histories(bench):
    """The comparison above is worth something only if most of it happens."""
    found = set()
    for seed in range(8):
        Evening(bench, seed, START).work(25)
        found |= set(waiting.all_waiting(bench.db).values())
    assert found >= {"undecided", "outside", "hold", "remeasure"}


def test_it_is_rebuilt_from_nothing(bench):
    Evening(bench, 3, START).work(30)
    before = waiting.all_waiting(bench.db)
    assert before
    batch_id = next(iter(before))
    bench.db.conn.execute("DELETE FROM batch_waiting")
    assert f"the wait of batch {batch_id}" in results.rebuild(bench.db)
    assert waiting.all_waiting(bench.db) == {}
    results.rebuild(bench.db, store=True)
    assert waiting.all_waiting(bench.db) == before
    assert results.rebuild(bench.db) == []


def test_it_finds_what_should_not_wait(bench):
    batch = bench.batch()
    bench.db.conn.execute("INSERT INTO batch_waiting VALUES (?, 'hold')", (batch.id,))
    assert results.rebuild(bench.db, store=True) == [f"the wait of batch {batch.id}"]
    assert waiting.all_waiting(bench.db) == {}


def test_it_is_filled_on_an_older_bench(bench, path):
    Evening(bench, 3, START).work(30)
    before = waiting.all_waiting(bench.db)
    bench.db.conn.execute("DELETE FROM batch_waiting")
    migrations.migrate(path)
    assert waiting.all_waiting(connect.connect(path)) == before


def test_it_belongs_to_a_transaction(bench):
    with pytest.raises(RuntimeError, match="transaction"):
        waiting.refresh(bench.db, bench.batch().id)


NOW = {"verdict": "inside", "meter_state": None, "hands_state": None, "what": None, "decided_on": None}


@pytest.mark.parametrize(
    ("stands", "why"),
    [
        ({}, None),
        ({"verdict": "outside"}, "outside"),
        ({"verdict": "undecided"}, "undecided"),
        ({"verdict": "incomplete"}, None),
        ({"meter_state": "overdue"}, "meter"),
        ({"meter_state": "accepted"}, None),
        ({"meter_state": "overdue", "verdict": "incomplete"}, None),
        ({"hands_state": "waiting", "verdict": "outside"}, "hands"),
        ({"what": "hold", "decided_on": "inside"}, "hold"),
        ({"what": "remeasure", "decided_on": "outside", "verdict": "outside"}, "remeasure"),
        ({"what": "remeasure", "decided_on": "outside", "reread": True}, None),
        ({"what": "remeasure", "decided_on": "outside", "verdict": "outside", "reread": True}, "outside"),
        # What left because it read in band, and no longer does; not the other way round.
        ({"what": "release", "decided_on": "inside", "verdict": "undecided"}, "changed"),
        ({"what": "release", "decided_on": "inside", "verdict": "incomplete"}, "changed"),
        ({"what": "release", "decided_on": "unjudged"}, None),
        ({"what": "concession", "decided_on": "undecided", "verdict": "outside"}, "changed"),
        ({"what": "concession", "decided_on": "outside", "verdict": "undecided"}, None),
        ({"what": "concession", "decided_on": "inside", "meter_state": "overdue"}, None),
        ({"what": "release", "decided_on": "inside", "meter_state": "doubted"}, "meter"),
        # What was rejected for what it read, and that was not so.
        ({"what": "reject", "decided_on": "outside", "verdict": "inside"}, "changed"),
        ({"what": "reject", "decided_on": "outside", "verdict": "outside"}, None),
        ({"what": "reject", "decided_on": "inside"}, None),
        ({"what": "blend", "decided_on": "outside", "verdict": "outside"}, None),
        # History does not wait, unless somebody says that it should.
        ({"verdict": "outside", "imported": True}, None),
        ({"what": "hold", "decided_on": "outside", "verdict": "outside", "imported": True}, "hold"),
    ],
)
def test_it_has_one_rule(stands, why):
    assert why_waiting(Stands(**NOW | stands)) == why


def test_it_lists_the_oldest_first_with_a_statement_that_does_not_look_at_every_batch(bench):
    """The plan begins at what waits: of a million batches in the file none is looked at that does not."""
    said = "SELECT b.id FROM batch_waiting w CROSS JOIN batch b ON b.id = w.batch_id"
    plan = " ".join(row[3] for row in bench.db.conn.execute(f"EXPLAIN QUERY PLAN {said}"))
    assert "SCAN w" in plan
    assert "SEARCH b" in plan
    at = [bench.batch(at=START - timedelta(days=days)).id for days in (1, 400, 30)]
    for batch_id in at:
        decisions.add_decision(bench.db, str(uuid.uuid4()), batch_id, "hold", "So.", bench.who(), bench.now)
    assert [e.batch_id for e in waiting.list_waiting(bench.db)] == [at[1], at[2], at[0]]
    assert waiting.by_product(bench.db)[bench.product] == waiting.Waiting(3, at[1])
