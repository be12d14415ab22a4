"""The run of a product from the store: what belongs to it, what does not, and in which order."""

import uuid
from datetime import timedelta

from webapp.store import gear, grinder_log, happenings, methods, products, trend_states, trends
from webapp.store.products import TargetBand
from webapp.store.times import to_text
from webapp.store.trends import Wanted

VALUES = [56.0, 56.2, 55.8, 56.4]


def values(db, bench, kind="whole", wanted=trends.ALL, **how):
    return [round(point.value, 2) for point in trends.get_trend(db, bench.product, kind, wanted, **how).points]


def test_it_has_every_batch_in_the_order_of_roasting(db, bench, roast):
    made = roast(VALUES)
    found = trends.get_trend(db, bench.product, "whole")
    assert [point.batch_id for point in found.points] == [batch.id for batch in made]
    assert [round(point.value, 2) for point in found.points] == VALUES
    first = found.points[0]
    assert (first.code, first.lot, first.machine_name, first.person_name) == ("R-0-000", "Lot 1", "Machine 1", "Ravi")
    assert (found.scale_id, found.method_version_id) == (bench.scale, bench.versions["whole"].id)
    assert (found.apart, found.more) == (0, False)


def test_it_is_empty_where_nothing_was_read(db, bench):
    bench.batch()
    assert trends.get_trend(db, bench.product, "whole").points == ()
    assert trend_states.list_states(db) == {}
    assert happenings.list_happenings(db, bench.product, trends.get_trend(db, bench.product, "whole")) == []


def test_it_keeps_the_newest_and_says_that_there_are_older_ones(db, bench, roast):
    roast(VALUES)
    found = trends.get_trend(db, bench.product, "whole", most=3)
    assert [round(point.value, 2) for point in found.points] == VALUES[1:]
    assert found.more
    assert not trends.get_trend(db, bench.product, "whole", most=4).more


def test_it_takes_the_difference_for_a_kind_of_its_own(db, bench, roast):
    roast(VALUES, ground=5.0)
    assert values(db, bench, "difference") == [5.0] * 4
    assert values(db, bench, "ground") == [61.0, 61.2, 60.8, 61.4]
    assert tuple(trend_states.states_of(db, bench.product)) == ("whole", "ground", "difference")


def test_it_leaves_out_what_was_kept_apart_and_counts_it(db, bench, roast):
    roast(VALUES, ground=5.0)
    other = gear.add_grinder_setting(db, bench.grinder, "Finer", bench.who("lead"), bench.now)
    batch = bench.batch("R-apart", at=bench.now - timedelta(minutes=20))
    bench.sample(batch.id, "ground", [70.0] * 3, at=bench.now, setting=other)
    found = trends.get_trend(db, bench.product, "ground")
    assert (len(found.points), found.apart) == (4, 1)


def test_it_narrows_to_what_is_wanted(db, bench, roast):
    roast(VALUES)
    roast([57.0, 57.1], ago=10, role="trainee")
    trainee = bench.people["trainee"]
    assert values(db, bench, wanted=Wanted(person_id=trainee)) == [57.0, 57.1]
    assert values(db, bench, wanted=Wanted(lot="Lot 1", machine_id=bench.machine)) == [57.0, 57.1, *VALUES]
    assert values(db, bench, wanted=Wanted(lot="Another")) == []
    edge = to_text(bench.now - timedelta(hours=3))
    assert values(db, bench, wanted=Wanted(until=edge)) == [57.0, 57.1, 56.0]
    assert values(db, bench, wanted=Wanted(since=edge)) == VALUES[1:]


def test_it_offers_what_there_is(db, bench, roast):
    roast(VALUES)
    roast([57.0], ago=10, role="trainee")
    found = trends.get_choices(db, bench.product, "whole")
    assert [name for _id, name in found.persons] == ["Ravi", "Tomas"]
    assert found.machines == ((bench.machine, "Machine 1"),)
    assert found.lots == (("Lot 1", "Lot 1"),)
    assert [(version, no) for version, _name, no in found.versions] == [(bench.versions["whole"].id, 1)]


def test_it_does_not_mix_method_versions(db, bench, roast):
    before = bench.versions["whole"]
    roast(VALUES, ago=10)
    since = bench.now - timedelta(hours=9)
    after = methods.add_version(
        db, before.method_id, "Another dish", 3, 1, None, before.steps, "A new dish", bench.who("lead"), since
    )
    bench.versions = bench.versions | {"whole": methods.get_version(db, after)}
    roast([58.0, 58.2])
    assert values(db, bench) == [58.0, 58.2]
    assert values(db, bench, wanted=Wanted(method_version_id=before.id)) == VALUES


def test_it_tells_what_happened_meanwhile(db, bench, roast):
    roast(VALUES, ground=5.0)
    hours = [bench.now - timedelta(hours=ago) for ago in (9, 2.5, 1.5)]
    lead = bench.who("lead")
    for at, what in zip(hours, ("cleaned", "burrs", "cleaned"), strict=True):
        grinder_log.add_event(db, str(uuid.uuid4()), bench.grinder, what, None, "", lead, at)
    bench.check([60.9, 61.0, 61.0], at=bench.now - timedelta(hours=2.2))
    target = products.target_in_force(db, bench.product)
    products.add_target_version(
        db, bench.product, target.scale.id, "guarded", 0.8, None, None, [TargetBand("whole", 5500, 5600, 5700)],
        "Narrower", lead, bench.now - timedelta(hours=1.2),
    )  # fmt: skip
    ground = trends.get_trend(db, bench.product, "ground")
    found = [(one.what, one.name) for one in happenings.list_happenings(db, bench.product, ground)]
    # What lies before the first batch is none of its business.
    assert found == [("burrs", "Grinder 1"), ("failed", "Meter A"), ("cleaned", "Grinder 1"), ("targets", "2")]
    whole = trends.get_trend(db, bench.product, "whole")
    assert [one.what for one in happenings.list_happenings(db, bench.product, whole)] == ["failed", "targets"]


def test_it_knows_the_bands_that_they_were_judged_by(db, bench, roast):
    roast(VALUES)
    version = trends.get_trend(db, bench.product, "whole").points[0].target_version_id
    band = products.get_target(db, version).bands["whole"].in_units()
    assert trends.bands_of(db, [version], "whole") == {version: (band.lower, band.centre, band.upper)}
    assert trends.bands_of(db, [version, "nothing"], "nothing") == {}


def test_it_reads_along_the_index_and_looks_through_no_table(db, bench, roast):
    roast(VALUES)
    asked = []
    db.conn.set_trace_callback(asked.append)
    trends.get_trend(db, bench.product, "whole", Wanted(person_id=bench.people["roaster"]))
    trends.get_choices(db, bench.product, "whole")
    db.conn.set_trace_callback(None)
    runs = [sql for sql in asked if "FROM batch b" in sql]
    assert len(runs) == 3
    for sql in runs:
        plan = [row["detail"] for row in db.query(f"EXPLAIN QUERY PLAN {sql}")]
        assert any("batch_by_product" in step for step in plan)
        assert not [step for step in plan if step.startswith("SCAN") and "subquery" not in step.lower()], plan
        assert not [step for step in plan if "TEMP B-TREE FOR ORDER" in step], plan

