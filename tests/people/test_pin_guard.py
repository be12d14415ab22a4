"""Wrong PINs slow down: per person, per tablet, whatever process or tablet they come from."""

from datetime import timedelta

import pytest

from tests.support.roastery import PINS
from webapp.store import connect, pin_guard, sessions
from webapp.store.pin_guard import CODE, PERSON, TABLET, check_pin, wait_for
from webapp.store.who import SYSTEM

WRONG = "808172"


def guess(bench, role="roaster", pin=WRONG, now=None, tablet=None, db=None):
    return check_pin(db or bench.db, bench.people[role], tablet or bench.tablet, pin, now or bench.now)


def test_it_waits_30_seconds_after_the_fifth_and_doubles_up_to_15_minutes():
    waits = [wait_for(n, PERSON) for n in range(1, 13)]
    assert waits == [0, 0, 0, 0, 30, 60, 120, 240, 480, 900, 900, 900]
    assert wait_for(19, TABLET) == 0
    assert wait_for(20, TABLET) == 30
    assert wait_for(10**6, CODE) == 900


def test_it_counts_down_in_words_for_the_page(bench):
    assert [guess(bench).tries_left for _ in range(4)] == [4, 3, 2, 1]
    assert guess(bench).wait_seconds == 30


def test_it_refuses_even_the_right_pin_while_there_is_a_wait(bench):
    for _ in range(5):
        guess(bench)
    soon = bench.now + timedelta(seconds=29)
    outcome = guess(bench, pin=PINS["roaster"], now=soon)
    assert (outcome.ok, outcome.wait_seconds) == (False, 1)
    assert guess(bench, pin=PINS["roaster"], now=bench.now + timedelta(seconds=30)).ok


def test_it_does_not_verify_while_there_is_a_wait(bench, monkeypatch):
    for _ in range(5):
        guess(bench)
    monkeypatch.setattr(pin_guard, "pin_matches", lambda *_: pytest.fail("looked at the PIN"))
    guess(bench)


def test_it_does_not_lengthen_the_wait_by_trying_during_it(bench):
    for _ in range(5):
        guess(bench)
    for second in range(1, 30):
        guess(bench, now=bench.now + timedelta(seconds=second))
    assert guess(bench, pin=PINS["roaster"], now=bench.now + timedelta(seconds=30)).ok


def test_it_doubles_the_wait_with_each_further_wrong_pin(bench):
    moment, waits = bench.now, []
    for _ in range(12):
        outcome = guess(bench, now=moment)
        waits.append(outcome.wait_seconds)
        moment += timedelta(seconds=outcome.wait_seconds)
    assert waits == [0, 0, 0, 0, 30, 60, 120, 240, 480, 900, 900, 900]


def test_it_starts_again_after_the_right_pin(bench):
    for _ in range(4):
        guess(bench)
    assert guess(bench, pin=PINS["roaster"]).ok
    assert [guess(bench).tries_left for _ in range(4)] == [4, 3, 2, 1]


def test_it_still_waits_after_a_restart(bench, path):
    for _ in range(5):
        guess(bench)
    again = connect.connect(path)
    assert guess(bench, pin=PINS["roaster"], db=again).wait_seconds == 30
    again.close()


def test_it_waits_on_another_tablet_as_well(bench):
    other, _secret = sessions.enrol_tablet(bench.db, "Other", SYSTEM, bench.now)
    for _ in range(5):
        guess(bench)
    assert guess(bench, pin=PINS["roaster"], tablet=other).wait_seconds == 30


def test_it_leaves_the_others_alone(bench):
    for _ in range(5):
        guess(bench)
    assert guess(bench, "lead", PINS["lead"]).ok


def test_it_makes_a_tablet_wait_after_twenty_over_several_people(bench):
    moment = bench.now
    for n in range(20):
        role = ("lead", "roaster", "trainee")[n % 3]
        outcome = guess(bench, role, now=moment)
        moment += timedelta(seconds=0 if outcome.whole_tablet else outcome.wait_seconds)
    assert outcome.whole_tablet
    assert outcome.wait_seconds == 30
    assert not guess(bench, "lead", PINS["lead"], now=moment).ok
    other, _secret = sessions.enrol_tablet(bench.db, "Other", SYSTEM, bench.now)
    later = moment + timedelta(minutes=5)
    assert guess(bench, "lead", PINS["lead"], now=later, tablet=other).ok


def test_it_does_not_forget_a_tablets_wrong_pins_because_one_was_right(bench):
    """Else somebody with a PIN of their own could go on guessing another's."""
    for _ in range(4):
        guess(bench)
    guess(bench, "lead", PINS["lead"])
    row = next(bench.db.query("SELECT * FROM pin_guard WHERE subject = ?", (f"tablet:{bench.tablet}",)))
    assert (row["failures"], row["locked_until"]) == (4, None)


def test_it_lets_in_with_a_right_pin_as_the_twentieth_on_a_tablet(bench):
    moment = bench.now
    for n in range(19):
        moment += timedelta(seconds=guess(bench, ("lead", "roaster")[n % 2], now=moment).wait_seconds)
    assert guess(bench, "trainee", PINS["trainee"], now=moment).ok
    assert guess(bench, "trainee", PINS["trainee"], now=moment).ok


def test_it_forgets_a_tablets_wrong_pins_after_a_quiet_hour(bench):
    moment = bench.now
    for n in range(19):
        moment += timedelta(seconds=guess(bench, ("lead", "roaster")[n % 2], now=moment).wait_seconds)
    moment += timedelta(hours=1)
    assert not guess(bench, "trainee", now=moment).whole_tablet


def test_it_lets_a_lead_end_the_wait(bench):
    for _ in range(5):
        guess(bench)
    assert pin_guard.waiting(bench.db, bench.now) == {f"person:{bench.people['roaster']}": 30}
    pin_guard.unlock_person(bench.db, bench.people["roaster"], bench.who("lead"), bench.now)
    assert pin_guard.waiting(bench.db, bench.now) == {}
    assert guess(bench, pin=PINS["roaster"]).ok


def test_it_notes_who_ended_a_wait(bench):
    pin_guard.unlock_person(bench.db, bench.people["roaster"], bench.who("lead"), bench.now)
    line = next(bench.db.query("SELECT * FROM ledger ORDER BY seq DESC LIMIT 1"))
    assert (line["action"], line["person_id"]) == ("PIN unlocked", bench.people["lead"])


def test_it_says_on_the_page_how_long_to_wait(client, enter):
    for _ in range(5):
        answer = enter(client, "roaster", WRONG)
    assert (answer.status_code, answer.headers["Retry-After"]) == (429, "30")
    assert "Too many wrong PINs for Ravi. Wait 30 seconds, or ask a lead." in answer.text
    assert enter(client, "roaster").status_code == 429
    assert enter(client, "trainee").status_code == 303


def test_it_says_longer_waits_in_minutes(client, enter, clock):
    for wait in (0, 0, 0, 0, 30, 60, 120, 240):
        answer = enter(client, "roaster", WRONG)
        clock(seconds=wait)
    assert "Wait 4 minutes, or ask a lead." in answer.text
