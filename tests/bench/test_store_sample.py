"""Storing a sample: once, with what it was judged by, and the results that follow."""

from dataclasses import replace
from datetime import timedelta

import pytest

from webapp.store import corrections, ledger, new_samples, products, results, samples
from webapp.store.errors import AlreadyThere, NotFound
from webapp.store.new_samples import NewReading, NewSample
from webapp.store.products import TargetBand
from webapp.store.times import to_text


def test_it_judges_both_kinds_and_their_difference(bench):
    batch = bench.batch()
    bench.sample(batch.id, "whole", [56.1, 56.4, 56.1])
    assert results.get_batch_result(bench.db, batch.id).verdict == "incomplete"
    bench.sample(batch.id, "ground", [61.0, 61.1, 60.9])
    parts = results.get_parts(bench.db, batch.id)
    assert parts["whole"].value == pytest.approx(56.2)
    assert parts["ground"].value == pytest.approx(61.0)
    assert parts["difference"].value == pytest.approx(4.8)
    stands = results.get_batch_result(bench.db, batch.id)
    assert stands.verdict == "inside"
    assert stands.chance == min(part.chance for part in parts.values())


def test_it_stores_the_same_sample_once(bench):
    batch = bench.batch()
    made = bench.sample(batch.id, "whole", [56.1, 56.4, 56.1])
    again = NewSample(
        made.id, batch.id, "whole", made.method_version_id, made.meter_id, "walked", "", to_text(bench.now),
        tuple(NewReading(1, n, v, t) for n, v, t in ((1, 5610, "56.1"), (2, 5640, "56.4"), (3, 5610, "56.1"))),
            made.steps,
    )  # fmt: skip
    assert new_samples.add_sample(bench.db, again, bench.who("lead"), bench.now).person_name == "Ravi"
    assert len(samples.get_samples(bench.db, batch.id)) == 1
    other = replace(again, readings=(NewReading(1, 1, 5620, "56.2"),))
    with pytest.raises(AlreadyThere):
        new_samples.add_sample(bench.db, other, bench.who(), bench.now)


def test_it_keeps_three_equal_readings_as_three(bench):
    batch = bench.batch()
    made = bench.sample(batch.id, "whole", [56.0, 56.0, 56.0])
    assert [r.value for r in samples.get_sample(bench.db, made.id).readings] == [5600, 5600, 5600]
    assert results.get_parts(bench.db, batch.id)["whole"].readings == 3


def test_it_counts_two_samples_of_one_kind_together(bench):
    batch = bench.batch()
    bench.sample(batch.id, "whole", [56.0, 56.0, 56.0])
    bench.sample(batch.id, "whole", [56.4, 56.4, 56.4], at=bench.now + timedelta(minutes=1))
    part = results.get_parts(bench.db, batch.id)["whole"]
    assert (part.samples, part.fills, part.value) == (2, 2, pytest.approx(56.2))


def test_it_judges_by_the_target_in_force_when_it_was_read(bench):
    batch = bench.batch(at=bench.now - timedelta(hours=2))
    bench.sample(batch.id, "whole", [56.0, 56.1, 56.0], at=bench.now - timedelta(hours=1))
    products.add_target_version(
        bench.db, bench.product, bench.scale, "simple", 0.8, bench.methods["whole"], bench.methods["ground"],
        [TargetBand("whole", 5000, 5100, 5200)], "darker from today", bench.who("lead"), bench.now,
    )  # fmt: skip
    assert results.get_parts(bench.db, batch.id)["whole"].verdict == "inside"
    fresh = bench.batch()
    bench.sample(fresh.id, "whole", [56.0, 56.1, 56.0], at=bench.now + timedelta(minutes=1))
    part = results.get_parts(bench.db, fresh.id)["whole"]
    assert (part.verdict, part.side) == ("outside", "lighter")


def test_it_mirrors_the_side_on_a_scale_that_runs_the_other_way(bench):
    product = products.add_product(
        bench.db, "Other way", "OW", bench.flipped, "guarded", 0.8, bench.methods["whole"], None,
        [TargetBand("whole", 4800, 5000, 5200)], bench.who("lead"), bench.now - timedelta(days=1),
    )  # fmt: skip
    batch = bench.batch(product=product)
    bench.sample(batch.id, "whole", [56.0, 56.1, 56.0], meter=bench.flipped_meter)
    part = results.get_parts(bench.db, batch.id)["whole"]
    assert (part.verdict, part.side) == ("outside", "darker")
    assert part.position < -1


def test_it_does_not_judge_a_reading_on_another_scale(bench):
    batch = bench.batch()
    bench.sample(batch.id, "whole", [56.0, 56.1, 56.0], meter=bench.flipped_meter)
    assert results.get_parts(bench.db, batch.id)["whole"].verdict is None
    assert results.get_batch_result(bench.db, batch.id).verdict == "incomplete"


def test_it_uses_the_benchs_own_spread_once_there_is_enough_of_it(bench):
    for n in range(12):
        batch = bench.batch(at=bench.now - timedelta(hours=20 - n))
        fills = [[56.0, 56.1, 56.0], [56.3, 56.2, 56.3]]
        made = bench.sample(batch.id, "whole", *fills, at=bench.now - timedelta(hours=20 - n))
    assert made.sigma_source == "routine"
    assert made.sigma_r == pytest.approx(0.0577, abs=1e-3)
    assert made.sigma_f == pytest.approx(0.1625, abs=5e-3)


def test_it_works_the_result_out_again_after_a_correction(bench):
    batch = bench.batch()
    made = bench.sample(batch.id, "whole", [56.0, 65.0, 56.2])
    before = results.get_parts(bench.db, batch.id)["whole"]
    assert before.readings_disagree
    who = bench.who("roaster")
    corrections.add_correction(bench.db, "c-1", made.id, 1, 2, 5600, "digits swapped", who, bench.now)
    after = results.get_parts(bench.db, batch.id)["whole"]
    assert after.value == pytest.approx((56.0 + 56.0 + 56.2) / 3)
    stored = samples.get_sample(bench.db, made.id).readings[1]
    assert (stored.value, stored.counts, stored.corrections[0].reason) == (6500, 5600, "digits swapped")
    assert results.rebuild(bench.db) == []
    assert list(ledger.faults(bench.db)) == []


def test_it_refuses_a_batch_that_is_not_there(bench):
    with pytest.raises(NotFound):
        bench.sample("00000000-0000-0000-0000-000000000000", "whole", [56.0])


def test_it_never_takes_a_meter_without_a_plate_for_perfect(bench):
    from webapp.store import gear

    bare = gear.add_meter(bench.db, "Meter C", bench.scale, None, None, None, bench.who("lead"), bench.now)
    made = bench.sample(bench.batch().id, "whole", [56.0, 56.1, 56.0], meter=bare)
    assert (made.u_meter, made.u_meter_source) == (pytest.approx(0.45 / 3**0.5), "assumed")
