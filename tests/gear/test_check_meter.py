"""Checking a meter: the page, what it refuses in whose words, and what is stored."""

import uuid
from datetime import timedelta

import pytest

from webapp.store import checks, gear, ledger, meter_rules

STEPS = {f"steps-{no}-done": "y" for no in range(4)} | {f"steps-{no}-at": "" for no in range(4)}


def form(bench, found=("60,1", "60.0", "60.1"), left=None, **more):
    """The fields of a filled check form."""
    plate = gear.plate_in_force(bench.db, bench.meter)
    fields = {"id": str(uuid.uuid4()), "meter": bench.meter, "plate": plate.id, "plate_typed": "plate 1", **STEPS}
    fields |= {f"found-{no}-value": text for no, text in enumerate(found)}
    if left is not None:
        fields |= {"adjusted": "y"} | {f"left-{no}-value": text for no, text in enumerate(left)}
    return fields | more


def send(client, bench, fields):
    return client.post(f"/gear/meters/{bench.meter}/check", data=fields)


def test_it_stores_a_check_and_says_how_it_went(bench, sign_in):
    client, fields = sign_in("trainee"), None
    answer = send(client, bench, fields := form(bench))
    made = checks.get_check(bench.db, fields["id"])
    assert answer.status_code == 303
    assert [(r.stage, r.value, r.typed) for r in made.readings] == [
        ("found", 6010, "60,1"), ("found", 6000, "60.0"), ("found", 6010, "60.1"),
    ]  # fmt: skip
    assert (made.passed, made.proven, made.person_name, made.plate_typed) == (True, True, "Tomas", "plate 1")
    assert round(made.found, 4) == 0.0667
    page = client.page(f"/gear/checks/{made.id}")
    assert page.find("h1")[0].text == "The check passed."
    assert "0.07 lighter than the plate" in client.get(f"/gear/checks/{made.id}").text
    assert list(ledger.faults(bench.db)) == []


def test_it_stores_as_found_and_as_left(bench, sign_in):
    client, fields = sign_in("roaster"), form(bench, ("60.5", "60.6", "60.5"), ("60.0", "60.1", "60.0"))
    send(client, bench, fields)
    made = checks.get_check(bench.db, fields["id"])
    assert (made.passed, made.proven, made.adjusted) == (False, True, True)
    assert client.page(f"/gear/checks/{made.id}").find("h1")[0].text == "Failed as found, right again as left."


def test_a_mean_on_the_tolerance_itself_has_passed(bench, sign_in):
    """60.2, 60.1, 60.3 about a plate of 60.0 +/- 0.2: as decimals 0.2, as binary fractions a little more."""
    client, fields = sign_in("roaster"), form(bench, ("60.2", "60.1", "60.3"))
    send(client, bench, fields)
    assert checks.get_check(bench.db, fields["id"]).passed


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"plate_typed": "Plate 2"}, "This meter is checked on Plate 1, and here stands Plate 2."),
        ({"plate_typed": " "}, "Type what stands on the plate."),
        ({"found-1-value": "45.2"}, "The plate should read about 60.0. Is this the plate, and not coffee?"),
        ({"found-1-value": "sixty"}, "As found, 2: This is not a number."),
        ({"found-1-value": "601"}, "As found, 2: 601 is off the scale, which ends at 150.0. Did you mean 60.1?"),
        ({"found-1-value": "60.15"}, "As found, 2: This scale goes in steps of 0.1."),
        ({"found-2-value": ""}, "As found, 3: Type what the meter shows."),
        ({"adjusted": "y"}, "As left, 1: Type what the meter shows."),
        ({"steps-1-done": ""}, "This step is not ticked: Clean the window"),
    ],
)
def test_it_refuses_in_plain_words_and_keeps_what_was_typed(bench, sign_in, change, words):
    client, fields = sign_in("roaster"), form(bench) | change
    answer = send(client, bench, {name: value for name, value in fields.items() if name != "steps-1-done" or value})
    assert answer.status_code == 422
    assert words in answer.text
    assert "<title>Error: " in answer.text
    for name in ("found-0-value", "found-1-value", "plate_typed"):
        assert f'value="{fields[name].strip()}"' in answer.text, name
    assert checks.find_check(bench.db, fields["id"]) is None


def test_it_takes_what_looks_like_coffee_once_somebody_has_said_that_it_is_the_plate(bench, sign_in):
    client, fields = sign_in("roaster"), form(bench, ("45.2", "60.1", "60.0")) | {"found-0-sure": "y"}
    assert send(client, bench, fields).status_code == 303
    [asked, *others] = checks.get_check(bench.db, fields["id"]).readings
    assert asked.confirmed
    assert not any(reading.confirmed for reading in others)


def test_the_same_form_sent_twice_is_one_check(bench, sign_in):
    client, fields = sign_in("roaster"), form(bench)
    assert {send(client, bench, fields).status_code for _twice in range(2)} == {303}
    assert len(checks.list_checks(bench.db, bench.meter)) == 1
    assert send(client, bench, fields | {"found-0-value": "60.2"}).status_code == 409


def test_a_time_that_is_still_to_come_counts_as_now(bench, sign_in):
    fields = form(bench) | {"made_at": (bench.now + timedelta(days=3)).isoformat()}
    send(sign_in("roaster"), bench, fields)
    made = checks.get_check(bench.db, fields["id"])
    assert made.made_at <= made.received_at


def test_a_running_check_finishes_on_the_plate_value_it_began_with(bench, sign_in):
    fields = form(bench)
    gear.add_plate(bench.db, bench.meter, "Plate 7", 7000, 20, "New plate.", bench.who("lead"), bench.now)
    assert send(sign_in("roaster"), bench, fields).status_code == 303
    assert checks.get_check(bench.db, fields["id"]).assigned == 6000


def test_it_says_that_a_meter_without_a_plate_cannot_be_checked(bench, sign_in):
    bare = gear.add_meter(bench.db, "Meter C", bench.scale, None, None, None, bench.who("lead"), bench.now)
    answer = sign_in("roaster").get(f"/gear/meters/{bare}/check")
    assert "this one has none that can be used" in answer.text


RULE = {"due": "hours", "every": "8", "warm_up": "10", "planned": "3", "reason": "The manual asks for it."}


def set_rule(client, bench, **change):
    return client.post(f"/gear/meters/{bench.meter}/rule", data={"id": str(uuid.uuid4())} | RULE | change)


def test_a_lead_says_when_it_is_checked(bench, sign_in):
    client = sign_in("lead")
    assert set_rule(client, bench).status_code == 303
    assert set_rule(client, bench, due="shift", shift_starts="14.00, 6:00 22", every="").status_code == 303
    newest, first = meter_rules.list_rules(bench.db, bench.meter)
    assert (first.due, first.every, first.warm_up_s) == ("hours", 8, 600)
    assert (newest.due, newest.every, newest.shift_starts, newest.no) == ("shift", None, "06:00 14:00 22:00", 2)
    assert "06:00, 14:00, 22:00" in client.get(f"/gear/meters/{bench.meter}").text
    assert list(ledger.faults(bench.db)) == []


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"every": ""}, "Say how many."),
        ({"due": "shift", "shift_starts": "early"}, "Type the times at which shifts begin"),
        ({"due": "shift", "shift_starts": "25:00"}, "Type the times at which shifts begin"),
        ({"due": "shift"}, "Type the times at which shifts begin"),
        ({"due": ""}, "Choose when."),
        ({"reason": ""}, "Say in a few words why."),
        ({"planned": "0"}, "Type a number from 1 to 10."),
    ],
)
def test_it_refuses_a_rule_that_says_nothing(bench, sign_in, change, words):
    answer = set_rule(sign_in("lead"), bench, **change)
    assert answer.status_code == 422
    assert words in answer.text
    assert meter_rules.list_rules(bench.db, bench.meter) == []
