"""Everyday work by month and person: kept with every sample and correction, rebuilt to the same from the facts."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from tests.store.histories import Morning
from webapp.store import corrections, gear, migrations, results, routine, site, spreads
from webapp.store.who import SYSTEM

MAY = datetime(2026, 5, 14, 6, 0, tzinfo=UTC)
VIENNA = ZoneInfo("Europe/Vienna")


def rows(db):
    """Every stored row by its key."""
    return {
        tuple(row[name] for name in routine.KEY): {name: row[name] for name in routine.SUMS}
        for row in db.query("SELECT * FROM routine_spread")
    }


def sample(bench, *fills, at=MAY, role="roaster", kind="whole", setting=None):
    return bench.sample(bench.batch(at=at).id, kind, *fills, at=at, role=role, setting=setting)


def test_it_adds_up_a_month_s_work_by_person(bench, db):
    # By hand: readings 55, 57 about 56 (2), and twice 60 (0); fills 56 and 60 about 58 (8). Another: 1 reading.
    sample(bench, [55.0, 57.0], [60.0, 60.0])
    sample(bench, [58.0])
    sample(bench, [58.0, 58.0], role="trainee")
    by_person = {key[3]: row for key, row in rows(db).items()}
    assert by_person[bench.people["roaster"]] == {
        "ss_r": 2, "df_r": 2, "ss_f": 8, "df_f": 1, "readings": 5, "fills": 3, "samples": 2, "disagreeing": 1,
    }  # fmt: skip
    assert by_person[bench.people["trainee"]]["samples"] == 1
    assert {key[:3] for key in rows(db)} == {(bench.versions["whole"].id, bench.scale, "2026-05")}


def test_it_counts_a_sample_whose_readings_disagree_once(bench, db):
    """Assumed sigma_r 0.45 on this scale: two readings may lie 1.25 apart, three 1.49."""
    sample(bench, [56.0, 57.3], [56.0, 57.4])
    sample(bench, [56.0, 57.2], [56.0, 57.2, 56.1])
    sample(bench, [56.0, 56.1], [56.0, 57.0, 57.6])
    [row] = rows(db).values()
    assert (row["samples"], row["disagreeing"]) == (3, 2)


def test_a_month_is_the_site_s(bench, db):
    # In Vienna the clocks are one hour ahead in winter and two in summer.
    sample(bench, [56.0, 56.1], at=datetime(2026, 1, 31, 22, 59, 59, tzinfo=UTC))
    sample(bench, [56.0, 56.1], at=datetime(2026, 1, 31, 23, 0, tzinfo=UTC))
    sample(bench, [56.0, 56.1], at=datetime(2026, 5, 31, 21, 59, 59, tzinfo=UTC))
    sample(bench, [56.0, 56.1], at=datetime(2026, 5, 31, 22, 0, tzinfo=UTC))
    assert sorted(key[2] for key in rows(db)) == ["2026-01", "2026-02", "2026-05", "2026-06"]


def test_what_was_ground_elsewhere_or_is_void_counts_as_nothing(bench, db):
    nine = gear.add_grinder_setting(db, bench.grinder, "9", bench.who("lead"), bench.now)
    sample(bench, [61.0, 61.2], kind="ground", setting=nine)
    assert rows(db) == {}
    one = sample(bench, [56.0, 56.4], [57.0])
    for fill_no, no in ((1, 1), (1, 2), (2, 1)):
        corrections.add_correction(db, f"c{fill_no}{no}", one.id, fill_no, no, None, "Wrong dish.", bench.who(), MAY)
    assert set(rows(db).popitem()[1].values()) == {0}
    assert routine.list_months(db, "2026-01") == []
    assert results.rebuild(db) == []


def test_a_correction_takes_a_sample_out_and_puts_it_in_again(bench, db):
    one = sample(bench, [56.0, 58.0], [56.0, 56.0])
    [row] = rows(db).values()
    assert (row["ss_r"], row["disagreeing"]) == (2, 1)
    corrections.add_correction(db, "c", one.id, 1, 2, 5600, "Mistyped.", bench.who("lead"), bench.now)
    [(key, row)] = rows(db).items()
    # Whoever corrects it, and whenever: the sample stays its person's, in its month.
    assert key[2:] == ("2026-05", bench.people["roaster"])
    assert (row["ss_r"], row["ss_f"], row["readings"], row["samples"], row["disagreeing"]) == (0, 0, 4, 1, 0)
    assert results.rebuild(db) == []


@pytest.mark.parametrize("seed", range(20, 23))
def test_it_adds_up_to_what_the_method_s_spread_has(bench, seed):
    Morning(bench, seed, datetime(2026, 5, 31, 21, 40, tzinfo=UTC)).work(30)
    names = ", ".join(f"sum({name}) AS {name}" for name in spreads.SUMS)
    added = {
        (row.pop("method_version_id"), row.pop("scale_id")): row
        for row in bench.db.query(
            f"SELECT method_version_id, scale_id, {names} FROM routine_spread GROUP BY method_version_id, scale_id"
        )
    }
    there = {
        (row["method_version_id"], row["scale_id"]): {name: row[name] for name in spreads.SUMS}
        for row in bench.db.query("SELECT * FROM method_spread WHERE fills > 0")
    }
    assert there
    assert {key: pytest.approx(row, abs=1e-9) for key, row in added.items()} == there


@pytest.mark.parametrize("column", routine.SUMS)
def test_it_names_and_mends_what_was_tampered_with(bench, db, column):
    sample(bench, [55.0, 57.0], [60.0, 60.2])
    before = rows(db)
    [(version, _scale, month, person)] = before
    db.conn.execute(f"UPDATE routine_spread SET {column} = {column} + 1")
    said = [f"the routine spread of method version {version} in {month} by person {person}"]
    assert results.rebuild(db) == said
    assert results.rebuild(db, store=True) == said
    assert rows(db) == before
    assert results.rebuild(db) == []


def test_it_names_a_month_that_never_was(bench, db):
    sample(bench, [56.0, 56.1])
    db.conn.execute("UPDATE routine_spread SET month = '2026-04'")
    assert len(results.rebuild(db, store=True)) == 2
    assert [month.month for month in routine.list_months(db, "2026-01")] == ["2026-05"]


def test_an_older_bench_is_filled_once_by_migrate(bench, db, tmp_path):
    Morning(bench, 4, MAY).work(25)
    before = rows(db)
    path = db.conn.execute("PRAGMA database_list").fetchone()[2]
    db.conn.execute("DELETE FROM routine_spread")
    migrations.migrate(path)
    found = rows(db)
    assert found.keys() == {key for key, row in before.items() if row["samples"]}
    assert all(found[key] == pytest.approx(before[key], abs=1e-9) for key in found)
    assert results.rebuild(db) == []
    migrations.migrate(path)
    assert rows(db) == found


def test_another_time_zone_moves_what_was_read_at_the_turn_of_a_month(bench, db):
    for at in (datetime(2026, 5, 31, 23, 30), datetime(2026, 6, 1, 0, 30), datetime(2026, 6, 15, 12, 0)):
        sample(bench, [56.0, 56.4], [57.0, 57.0], at=at.replace(tzinfo=VIENNA))

    def months():
        return {key[2]: row["samples"] for key, row in rows(db).items() if row["samples"]}

    assert months() == {"2026-05": 1, "2026-06": 2}
    for zone, expected in (
        ("Pacific/Kiritimati", {"2026-06": 3}),
        ("Etc/GMT+12", {"2026-05": 2, "2026-06": 1}),
        ("Europe/Vienna", {"2026-05": 1, "2026-06": 2}),
    ):
        site.put_site(db, site.Site("Test roastery", zone, 10, 12), SYSTEM, bench.now)
        assert months() == expected
        assert results.rebuild(db) == []


def test_it_lists_months_of_all_persons_and_persons_of_all_months(bench, db):
    for month in (3, 4, 5):
        at = MAY.replace(month=month)
        sample(bench, [56.0, 57.0], [56.0, 56.0], at=at)
        sample(bench, [56.0, 57.0], at=at, role="trainee")
        sample(bench, [61.0, 61.0], at=at, kind="ground")
    found = [m for m in routine.list_months(db, "2026-04") if m.method_version_id == bench.versions["whole"].id]
    assert [(m.scale_id, m.month) for m in found] == [(bench.scale, "2026-04"), (bench.scale, "2026-05")]
    assert found[0].spread == routine.Spread(1.0, 3, 0.125, 1, 6, 3, 2, 0)
    persons = [p for p in routine.list_persons(db, "2026-04") if p.method_id == bench.methods["whole"]]
    assert [(p.person_name, p.person_id, p.scale_id) for p in persons] == [
        ("Ravi", bench.people["roaster"], bench.scale), ("Tomas", bench.people["trainee"], bench.scale),
    ]  # fmt: skip
    assert persons[1].spread == routine.Spread(1.0, 2, 0.0, 0, 4, 2, 2, 0)
    assert routine.list_months(db, "2026-06") == routine.list_persons(db, "2026-06") == []
