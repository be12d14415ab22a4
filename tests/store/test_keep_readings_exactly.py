"""What the meter showed is what is stored and what is shown again: digit by digit, on every scale."""

import uuid
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from webapp import measure
from webapp.store import new_samples, samples
from webapp.store.new_samples import NewReading, NewSample
from webapp.store.times import to_text

# (lower, upper, step) of a scale, as its plate says.
SCALES = [
    ("0", "150", "0.1"),
    ("0", "150", "0.01"),
    ("0", "150", "0.05"),
    ("0", "150", "0.5"),
    ("0", "150", "1"),
    ("-25", "25", "0.05"),
    ("20", "100", "0.1"),
]


def every_value(lower, upper, step):
    """Every number that a meter with this scale can show, as decimals."""
    first, last, by = Decimal(lower), Decimal(upper), Decimal(step)
    return [first + n * by for n in range(int((last - first) / by) + 1)]


@pytest.mark.parametrize(("lower", "upper", "step"), SCALES)
def test_it_keeps_every_value_of_a_scale(db, lower, upper, step):
    """Typed, read, stored, fetched and printed: the same digits, for every step of the scale, with comma and point."""
    values = every_value(lower, upper, step)
    limits = Decimal(lower), Decimal(upper), Decimal(step)
    typed = [measure.show_value(value, limits[2]) for value in values]
    assert [Decimal(t.replace("\N{MINUS SIGN}", "-")) for t in typed] == values
    taken = [measure.parse_reading(t, *limits) for t in typed]
    assert taken == [int(value * 100) for value in values]
    assert [measure.parse_reading(t.replace(".", ","), *limits) for t in typed] == taken
    db.conn.execute("CREATE TEMP TABLE kept (value INTEGER NOT NULL, typed TEXT NOT NULL) STRICT")
    db.conn.executemany("INSERT INTO kept VALUES (?, ?)", list(zip(taken, typed, strict=True)))
    stored = db.conn.execute("SELECT value, typed FROM kept ORDER BY rowid").fetchall()
    assert [value for value, _typed in stored] == taken
    assert [measure.show_value(value / 100, float(step)) for value, _typed in stored] == typed


READING = st.tuples(st.integers(0, 15000), st.sampled_from(["", "mistyped", "moved"]), st.booleans())


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.lists(READING, min_size=1, max_size=6), min_size=1, max_size=4))
def test_it_keeps_every_reading_in_its_place(bench, fills):
    """Equal readings are not merged, a void one is not dropped, and the order is the one in which they were read."""
    db, now = bench.db, to_text(bench.now)
    readings = tuple(
        NewReading(fill_no, no, value, f"{value / 100:.2f}", void, confirmed)
        for fill_no, fill in enumerate(fills, 1)
        for no, (value, void, confirmed) in enumerate(fill, 1)
    )
    new = NewSample(
        str(uuid.uuid4()), bench.batch().id, "whole", bench.versions["whole"].id, bench.meter, "page", "", now,
        readings, (),
    )  # fmt: skip
    new_samples.add_sample(db, new, bench.who(), bench.now)
    stored = samples.get_sample(db, new.id).readings
    assert [(r.fill_no, r.no, r.value, r.typed, r.void_reason, r.confirmed) for r in stored] == [
        (r.fill_no, r.no, r.value, r.typed, r.void_reason, r.confirmed) for r in readings
    ]
    assert [r.counts for r in stored] == [None if r.void_reason else r.value for r in readings]


def test_it_keeps_three_equal_readings_as_three(bench):
    sample = bench.sample(bench.batch().id, "whole", [62.0, 62.0, 62.0])
    assert [r.value for r in sample.readings] == [6200, 6200, 6200]


def test_it_keeps_what_was_typed_beside_what_was_understood(bench):
    """A slip of understanding can be found years later."""
    reading = NewReading(1, 1, 6140, " 61,4 ")
    new = NewSample(
        str(uuid.uuid4()), bench.batch().id, "whole", bench.versions["whole"].id, bench.meter, "page", "",
        to_text(bench.now), (reading,), (),
    )  # fmt: skip
    (stored,) = new_samples.add_sample(bench.db, new, bench.who(), bench.now).readings
    assert (stored.value, stored.typed) == (6140, " 61,4 ")
