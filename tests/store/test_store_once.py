"""The same record sent again is the same record; another one under its id is refused, and nothing is overwritten.

Four processes at once: tests/store/test_write_together.py.
"""

import uuid
from dataclasses import replace

import pytest

from tests.support.roastery import later
from webapp.store import (
    batches,
    corrections,
    decisions,
    gear,
    ledger,
    methods,
    new_samples,
    products,
    results,
    samples,
)  # fmt: skip
from webapp.store.batches import NewBatch
from webapp.store.errors import AlreadyThere, NotFound
from webapp.store.methods import Step
from webapp.store.new_samples import NewReading, NewSample
from webapp.store.products import TargetBand
from webapp.store.samples import StepDone
from webapp.store.times import to_text


@pytest.fixture
def new_batch(bench):
    """A batch as the form hands it over."""
    at = to_text(bench.now)
    return NewBatch(
        str(uuid.uuid4()), "0514-01", bench.product, bench.machine, "Lot 1", 12000, 10200, 2050, 690, 105, "", at, at
    )


@pytest.fixture
def new_sample(bench):
    """A sample as the form hands it over."""
    at = to_text(bench.now)
    readings = (
        NewReading(1, 1, 5620, "56.2"), NewReading(1, 2, 5630, "56,3", "", True), NewReading(1, 3, 5610, "56.1"),
    )  # fmt: skip
    return NewSample(
        str(uuid.uuid4()), bench.batch().id, "whole", bench.versions["whole"].id, bench.meter, "walked", "", at,
        readings, (StepDone(1, at, ""), StepDone(2, at, "23.5")),
    )  # fmt: skip


def everything(db):
    """Every row of every table, to see whether anything moved."""
    return {t: db.conn.execute(f"SELECT * FROM {t}").fetchall() for t in sorted(db.table_names())}


def test_it_stores_a_batch_once(bench, new_batch):
    first = batches.add_batch(bench.db, new_batch, bench.who(), bench.now)
    before = everything(bench.db)
    # The same form again, a moment later by the tablet's clock and by the server's, signed by somebody else.
    again = replace(new_batch, made_at=to_text(later(bench.now, seconds=3)))
    assert batches.add_batch(bench.db, again, bench.who("lead"), later(bench.now, seconds=3)) == first
    assert everything(bench.db) == before


@pytest.mark.parametrize(
    "change",
    [
        {"code": "0514-02"}, {"lot": "Lot 2"}, {"green_g": 12001}, {"green_g": None}, {"roasted_g": 10100},
        {"drop_decicelsius": None}, {"total_s": 691}, {"development_s": 0}, {"note": "windy"},
        {"roasted_at": "2026-01-06T09:00:00.000Z"},
    ],
    ids=str,
)  # fmt: skip
def test_it_refuses_another_batch_under_the_same_id(bench, new_batch, change):
    batches.add_batch(bench.db, new_batch, bench.who(), bench.now)
    before = everything(bench.db)
    with pytest.raises(AlreadyThere):
        batches.add_batch(bench.db, replace(new_batch, **change), bench.who(), bench.now)
    assert everything(bench.db) == before


def test_it_stores_a_sample_once(bench, new_sample):
    first = new_samples.add_sample(bench.db, new_sample, bench.who(), bench.now)
    before = everything(bench.db)
    after = later(bench.now, seconds=3)
    again = replace(
        new_sample,
        made_at=to_text(after),
        # Steps without a script have no time of their own: the server's moment stands in.
        steps=tuple(replace(step, done_at=to_text(after)) for step in reversed(new_sample.steps)),
        readings=tuple(reversed(new_sample.readings)),
    )
    assert new_samples.add_sample(bench.db, again, bench.who("lead"), after) == first
    assert everything(bench.db) == before


SAMPLE_CHANGES = {
    "note": lambda new: replace(new, note="spilled some"),
    "checklist": lambda new: replace(new, checklist="short"),
    "kind": lambda new: replace(new, kind="ground"),
    "a reading": lambda new: replace(new, readings=(*new.readings[:2], NewReading(1, 3, 5600, "56.0"))),
    "what was typed": lambda new: replace(new, readings=(*new.readings[:2], NewReading(1, 3, 5610, "56,1"))),
    "a reading less": lambda new: replace(new, readings=new.readings[:2]),
    "a reading more": lambda new: replace(new, readings=(*new.readings, NewReading(1, 4, 5610, "56.1"))),
    "a void reading": lambda new: replace(new, readings=(*new.readings[:2], NewReading(1, 3, 5610, "56.1", "moved"))),
    "a confirmation": lambda new: replace(new, readings=(*new.readings[:2], NewReading(1, 3, 5610, "56.1", "", True))),
    "another fill": lambda new: replace(new, readings=(*new.readings[:2], NewReading(2, 1, 5610, "56.1"))),
    "a step less": lambda new: replace(new, steps=new.steps[:1]),
    "a noted value": lambda new: replace(new, steps=(new.steps[0], replace(new.steps[1], note="31"))),
}


@pytest.mark.parametrize("what", SAMPLE_CHANGES)
def test_it_refuses_another_sample_under_the_same_id(bench, new_sample, what):
    new_samples.add_sample(bench.db, new_sample, bench.who(), bench.now)
    before = everything(bench.db)
    with pytest.raises(AlreadyThere):
        new_samples.add_sample(bench.db, SAMPLE_CHANGES[what](new_sample), bench.who(), bench.now)
    assert everything(bench.db) == before


def test_it_refuses_a_sample_of_another_batch_or_meter_under_the_same_id(bench, new_sample):
    new_samples.add_sample(bench.db, new_sample, bench.who(), bench.now)
    for change in ({"batch_id": bench.batch().id}, {"meter_id": bench.flipped_meter}):
        with pytest.raises(AlreadyThere):
            new_samples.add_sample(bench.db, replace(new_sample, **change), bench.who(), bench.now)
    assert len(list(bench.db.query("SELECT id FROM sample"))) == 1


def test_it_knows_a_sample_again_after_one_of_its_readings_was_corrected(bench, new_sample):
    """The tablet sends again what it captured; the correction is a later word and does not make it another sample."""
    db = bench.db
    new_samples.add_sample(db, new_sample, bench.who(), bench.now)
    correct(bench, new_sample.id, at=later(bench.now, minutes=1))
    before = everything(db)
    again = new_samples.add_sample(db, new_sample, bench.who(), later(bench.now, minutes=2))
    assert again.readings[0].counts == 5640
    assert everything(db) == before


@pytest.mark.parametrize("unknown", ["batch_id", "method_version_id", "meter_id"])
def test_it_stores_nothing_of_a_sample_whose_batch_method_or_meter_is_unknown(bench, new_sample, unknown):
    before = everything(bench.db)
    with pytest.raises(NotFound):
        new_samples.add_sample(bench.db, replace(new_sample, **{unknown: "nowhere"}), bench.who(), bench.now)
    assert everything(bench.db) == before


def decide(bench, batch_id, what="hold", reason="Look again.", at=None, record_id="d-1"):
    """Store a decision."""
    decisions.add_decision(bench.db, record_id, batch_id, what, reason, bench.who("lead"), at or bench.now)


def test_it_stores_a_decision_once(bench):
    batch = bench.batch()
    decide(bench, batch.id)
    before = everything(bench.db)
    decide(bench, batch.id, at=later(bench.now, seconds=3))
    assert everything(bench.db) == before


def test_it_refuses_another_decision_under_the_same_id(bench):
    batch, other = bench.batch(), bench.batch()
    decide(bench, batch.id)
    before = everything(bench.db)
    for change in ({"batch_id": other.id}, {"what": "reject"}, {"reason": "Another."}):
        with pytest.raises(AlreadyThere):
            decide(bench, **{"batch_id": batch.id} | change)
    assert everything(bench.db) == before


def correct(bench, sample_id, fill_no=1, reading_no=1, value=5640, reason="Mistyped.", at=None, record_id="c-1"):
    """Store a correction."""
    corrections.add_correction(
        bench.db, record_id, sample_id, fill_no, reading_no, value, reason, bench.who(), at or bench.now
    )


def test_it_stores_a_correction_once(bench, new_sample):
    new_samples.add_sample(bench.db, new_sample, bench.who(), bench.now)
    correct(bench, new_sample.id)
    before = everything(bench.db)
    correct(bench, new_sample.id, at=later(bench.now, seconds=3))
    assert everything(bench.db) == before


def test_it_refuses_another_correction_under_the_same_id(bench, new_sample):
    new_samples.add_sample(bench.db, new_sample, bench.who(), bench.now)
    other = bench.sample(new_sample.batch_id, "ground", [61.0, 61.1, 61.0])
    correct(bench, new_sample.id)
    before = everything(bench.db)
    changes = ({"sample_id": other.id}, {"reading_no": 2}, {"value": 5650}, {"value": None}, {"reason": "Another."})
    for change in changes:
        with pytest.raises(AlreadyThere):
            correct(bench, **{"sample_id": new_sample.id} | change)
    assert everything(bench.db) == before


def test_it_stores_no_correction_of_a_reading_that_is_not_there(bench, new_sample):
    new_samples.add_sample(bench.db, new_sample, bench.who(), bench.now)
    before = everything(bench.db)
    for fill_no, reading_no in ((1, 4), (2, 1), (0, 0)):
        with pytest.raises(NotFound):
            correct(bench, new_sample.id, fill_no, reading_no)
    assert everything(bench.db) == before


BANDS = (TargetBand("whole", 5450, 5600, 5750), TargetBand("ground", 5950, 6100, 6250))
STEPS = (Step(1, "Warm the meter", "One minute."), Step(2, "Fill the dish"))


def new_targets(bench, bands=BANDS, rule="simple", reason="Tasted."):
    """The next version of the product's targets, under one id."""
    products.add_target_version(
        bench.db, bench.product, bench.scale, rule, 0.8, None, None, bands, reason, bench.who("lead"), bench.now,
        id="version",
    )  # fmt: skip


def new_product(bench, bands=BANDS, rule="simple", name="Night Shift"):
    """A product under one id."""
    products.add_product(
        bench.db, name, "NS", bench.scale, rule, 0.8, None, None, bands, bench.who("lead"), bench.now, id="product"
    )


def new_version(bench, steps=STEPS, planned=3):
    """The next version of a method, under one id."""
    methods.add_version(
        bench.db, bench.methods["whole"], "Deep dish", planned, 1, None, steps, "Tried.", bench.who("lead"), bench.now,
        id="version",
    )  # fmt: skip


def new_method(bench, steps=STEPS, planned=3):
    """A method under one id."""
    methods.add_method(
        bench.db, "Whole, quick", "whole", "Deep dish", planned, 1, None, steps, bench.who("lead"), bench.now,
        id="method",
    )  # fmt: skip


def new_meter(bench, plate=("Plate 9", 6000, 20), name="Meter 9"):
    """A meter with its plate, under one id."""
    gear.add_meter(bench.db, name, bench.scale, *plate, bench.who("lead"), bench.now, id="meter")


ONE_BAND = {"bands": BANDS[:1]}
OTHER_BAND = {"bands": (BANDS[0], TargetBand("ground", 5950, 6100, 6300))}
OTHER_STEPS = {"steps": (STEPS[0], Step(2, "Fill the dish", caution="Hot."))}
OTHER_ORDER = {"steps": (STEPS[1], STEPS[0])}


@pytest.mark.parametrize(
    ("store", "change"),
    [
        (new_targets, ONE_BAND), (new_targets, OTHER_BAND), (new_targets, {"rule": "guarded"}),
        (new_targets, {"reason": "Other."}), (new_product, ONE_BAND), (new_product, OTHER_BAND),
        (new_product, {"rule": "guarded"}), (new_product, {"name": "Day Shift"}), (new_version, OTHER_STEPS),
        (new_version, OTHER_ORDER), (new_version, {"planned": 4}), (new_method, OTHER_STEPS),
        (new_method, OTHER_ORDER), (new_method, {"planned": 4}), (new_meter, {"plate": ("Plate 9", 6010, 20)}),
        (new_meter, {"plate": (None, None, None)}), (new_meter, {"name": "Meter 8"}),
    ],
    ids=lambda v: v.__name__ if callable(v) else "+".join(v),
)  # fmt: skip
def test_it_says_so_when_a_lead_goes_back_and_sends_the_form_again_with_a_change(bench, store, change):
    """The same again is the same record. A change that is not taken must not look as if it were."""
    store(bench)
    before = everything(bench.db)
    store(bench)
    assert everything(bench.db) == before
    with pytest.raises(AlreadyThere):
        store(bench, **change)
    assert everything(bench.db) == before


def test_it_keeps_the_reading_and_every_correction_visible(bench, new_sample):
    """Both by the same clock: the order of storing decides, not the time or the id."""
    db = bench.db
    new_samples.add_sample(db, new_sample, bench.who(), bench.now)
    for record_id, value in (("z", 5650), ("a", 5660), ("m", None), ("b", 5670)):
        correct(bench, new_sample.id, value=value, record_id=record_id)
    reading = samples.get_sample(db, new_sample.id).readings[0]
    assert (reading.value, reading.typed) == (5620, "56.2")
    assert [c.value for c in reading.corrections] == [5650, 5660, None, 5670]
    assert reading.counts == 5670
    assert list(ledger.faults(db)) == []


def test_it_lets_the_last_word_stand_when_the_servers_clock_was_set_back(bench, new_sample):
    db = bench.db
    new_samples.add_sample(db, new_sample, bench.who(), bench.now)
    correct(bench, new_sample.id, value=5650, record_id="c-1")
    correct(bench, new_sample.id, value=5660, record_id="c-2", at=later(bench.now, hours=-1))
    decide(bench, new_sample.batch_id, "hold", record_id="d-1")
    decide(bench, new_sample.batch_id, "release", record_id="d-2", at=later(bench.now, hours=-1))
    assert samples.get_sample(db, new_sample.id).readings[0].counts == 5660
    assert [d.what for d in decisions.get_decisions(db, new_sample.batch_id)] == ["hold", "release"]


def test_it_keeps_both_samples_when_two_tablets_read_the_same_coffee(bench, new_sample):
    db = bench.db
    new_samples.add_sample(db, new_sample, bench.who(), bench.now)
    other = replace(new_sample, id=str(uuid.uuid4()))
    new_samples.add_sample(db, other, bench.who("trainee"), bench.now)
    assert [s.id for s in samples.get_samples(db, new_sample.batch_id)] == [new_sample.id, other.id]
    part = results.get_parts(db, new_sample.batch_id)["whole"]
    assert (part.samples, part.fills, part.readings) == (2, 2, 6)
