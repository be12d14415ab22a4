"""What the command line of the server can do, with and without anybody who can sign in."""

import re

import pytest

from tests.conftest import application
from tests.support.roastery import PINS
from webapp.store import connect, ledger, pin_guard
from webapp.store.people import find_by_name, list_people
from webapp.store.site import get_site


@pytest.fixture
def fresh(tmp_path):
    """An app whose database does not exist yet."""
    return application(tmp_path / "new" / "bench.db")


def run(app, *words: str, typed: str = ""):
    return app.test_cli_runner().invoke(args=list(words), input=typed)


def code_in(output: str) -> str:
    return re.search(r"\b[A-Z3-9]{4}(-[A-Z3-9]{4})+\b", output).group()


def test_it_makes_the_database_and_prints_a_setup_code_that_works(fresh):
    made = run(fresh, "migrate")
    assert made.exit_code == 0
    assert "Applied: 0001_bench" in made.output
    assert "/setup" in made.output
    answers = {
        "code": code_in(made.output), "site_name": "Kiln Street", "time_zone": "UTC", "name": "Ada",
        "pin": "271828", "pin_again": "271828", "tablet_name": "Bench",
    }  # fmt: skip
    assert fresh.test_client().post("/setup", data=answers).location == "/settings"


def test_it_prints_no_code_once_there_is_a_person(app):
    again = run(app, "migrate")
    assert again.output == "The database is up to date.\n"


def test_it_makes_a_new_code_each_time_until_there_is_a_person(fresh):
    first, second = code_in(run(fresh, "migrate").output), code_in(run(fresh, "migrate").output)
    assert first != second


@pytest.mark.parametrize("command", ["check", "enrol-code", "rebuild-results"])
def test_it_says_what_to_do_without_a_database(fresh, command):
    result = run(fresh, command)
    assert result.exit_code == 1
    assert "run `flask migrate` first" in result.output


def test_it_makes_the_first_lead(fresh):
    run(fresh, "migrate")
    options = ("--site", "Kiln Street", "--zone", "europe/vienna")
    result = run(fresh, "first-lead", "Ada", *options, typed="271828\n271828\n")
    assert result.exit_code == 0, result.output
    assert "271828" not in result.output
    db = connect.connect(fresh.config["DATABASE"])
    assert [(p.name, p.role) for p in list_people(db)] == [("Ada", "lead")]
    assert get_site(db).time_zone == "Europe/Vienna"
    assert list(ledger.faults(db)) == []
    db.close()
    assert fresh.test_client().get("/setup").status_code == 404


def test_it_asks_for_site_zone_and_a_fit_pin(fresh):
    run(fresh, "migrate")
    typed = "Kiln Street\nUTC\n123456\n123456\n271828\n271828\n"
    result = run(fresh, "first-lead", "Ada", typed=typed)
    assert result.exit_code == 0
    assert "easy guess" in result.output


def test_it_makes_no_second_first_lead(app):
    result = run(app, "first-lead", "Mallory", "--site", "X", "--zone", "UTC", typed="271828\n271828\n")
    assert result.exit_code == 1
    assert "there are people already" in result.output


def test_it_enrols_a_tablet_from_the_command_line(app):
    code = code_in(run(app, "enrol-code").output)
    tablet = app.test_client()
    assert tablet.post("/enrol", data={"code": code, "tablet_name": "Bench"}).status_code == 303


def test_it_lets_a_lead_in_again_whom_somebody_locked_out(app, bench, client, enter):
    """Whoever has a tablet in hand can make a lead wait; the command line ends that."""
    for _ in range(5):
        enter(client, "lead", "808172")
    assert enter(client, "lead").status_code == 429
    assert "Ada can try again now." in run(app, "unlock-pin", "ada").output
    assert enter(client, "lead").status_code == 303


def test_it_lifts_every_wait(app, bench, client, enter):
    for role in ("lead", "roaster"):
        for _ in range(5):
            enter(client, role, "808172")
    assert run(app, "unlock-pin", "--all").exit_code == 0
    assert pin_guard.waiting(bench.db, bench.now) == {}
    assert enter(client, "roaster").status_code == 303


def test_it_asks_whose_pin(app):
    assert run(app, "unlock-pin").exit_code == 2
    assert "nobody who works here is called Nobody" in run(app, "unlock-pin", "Nobody").output


def test_it_sets_a_pin_for_a_lead_who_forgot_it(app, client, enter):
    assert run(app, "new-pin", "Ada", typed="835170\n835170\n").exit_code == 0
    assert enter(client, "lead", PINS["lead"]).status_code == 200
    assert enter(client, "lead", "835170").status_code == 303


def test_it_finds_nothing_wrong_with_a_sound_database(app, bench):
    result = run(app, "check")
    assert result.exit_code == 0
    lines, newest = ledger.head(bench.db)
    assert f"Ledger: {lines} lines, newest hash {newest}" in result.output
    assert "Everything is as it was written." in result.output


def test_it_names_what_was_changed_behind_its_back(app, bench):
    ravi = find_by_name(bench.db, "Ravi").id
    bench.db.conn.execute("UPDATE person SET role = 'lead' WHERE id = ?", (ravi,))
    result = run(app, "check")
    assert result.exit_code == 1
    assert f"person {ravi} was changed after ledger line" in result.output


def test_it_rebuilds_results_without_a_change(app, bench):
    batch = bench.batch()
    bench.sample(batch.id, "whole", [56.1, 56.0, 56.2])
    result = run(app, "rebuild-results")
    assert (result.exit_code, result.output) == (0, "Results that differ: 0\n")


def test_it_reports_a_changed_result_and_mends_it_only_when_told_to(app, bench):
    batch = bench.batch()
    bench.sample(batch.id, "whole", [56.1, 56.0, 56.2])
    bench.db.conn.execute("UPDATE part_result SET value = value + 1")
    for _ in range(2):
        result = run(app, "rebuild-results")
        assert result.exit_code == 1
        assert result.output == f"the result of batch {batch.id} differs\nResults that differ: 1\n"
    result = run(app, "rebuild-results", "--write")
    assert result.exit_code == 0
    assert result.output.endswith("Results that differ: 1 (now stored)\n")
    assert run(app, "rebuild-results").exit_code == 0
