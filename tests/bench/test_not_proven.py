"""A result that rests on a meter which no check proves: it says so, and leaves only by concession."""

import uuid

import pytest

from tests.decisions.test_decide import decide
from tests.support.roastery import later
from webapp.store import decisions, results, samples, strip_days


def read_both(bench, at):
    """A batch in band, read at this moment."""
    batch = bench.batch(at=later(at, minutes=-5))
    bench.sample(batch.id, "whole", [56.0, 56.1, 56.0], at=at)
    bench.sample(batch.id, "ground", [61.0, 61.1, 61.0], at=at)
    return batch


def state(bench, batch):
    return results.get_batch_result(bench.db, batch.id).meter_state


def test_nobody_is_asked_where_there_is_no_rule(bench, sign_in):
    batch = read_both(bench, bench.now)
    assert state(bench, batch) is None
    assert "not proven" not in sign_in("roaster").get(f"/batches/{batch.id}/result").text
    assert decide(sign_in("roaster"), batch, "release").status_code == 303


CASES = {
    "missing": (None, "Meter not proven: it was not checked."),
    "overdue": ({"found": [60.0, 60.1, 60.0], "hours": -9}, "Meter not proven: its check was overdue."),
    "failed": ({"found": [61.0, 61.1, 61.0], "hours": -1}, "Meter not proven: its last check had failed."),
}


@pytest.mark.parametrize("name", CASES)
def test_it_is_shown_with_its_verdict_and_leaves_only_by_concession(bench, sign_in, name):
    check, words = CASES[name]
    bench.ask_for_checks("hours", 8)
    if check:
        bench.check(check["found"], at=later(bench.now, hours=check["hours"]))
    batch = read_both(bench, bench.now)
    assert state(bench, batch) == name
    text = sign_in("roaster").get(f"/batches/{batch.id}/result").text
    assert "In band." in text
    assert words in text
    assert "Release batch" not in text
    assert decide(sign_in("roaster"), batch, "release").status_code == 403
    lead = sign_in("lead")
    assert decide(lead, batch, "release").status_code == 403
    assert "Release by concession" in lead.get(f"/batches/{batch.id}/result").text
    assert decide(lead, batch, "concession", "Checked right after.").status_code == 303
    assert [d.what for d in decisions.get_decisions(bench.db, batch.id)] == ["concession"]


def test_a_passed_check_proves_it(bench, sign_in):
    bench.ask_for_checks("hours", 8)
    bench.check([60.0, 60.1, 60.0], at=later(bench.now, hours=-7))
    batch = read_both(bench, bench.now)
    assert state(bench, batch) == "proven"
    assert decide(sign_in("roaster"), batch, "release").status_code == 303


def test_so_does_an_adjustment_that_left_it_right(bench):
    bench.ask_for_checks("hours", 8)
    bench.check([61.0, 61.1, 61.0], [60.0, 60.0, 60.1], at=later(bench.now, hours=-1))
    assert state(bench, read_both(bench, bench.now)) == "proven"


def test_a_check_that_arrives_late_counts_where_it_belongs(bench):
    bench.ask_for_checks("hours", 8)
    batch = read_both(bench, bench.now)
    assert state(bench, batch) == "missing"
    bench.check([60.0, 60.1, 60.0], at=later(bench.now, hours=-2))
    assert state(bench, batch) == "proven"
    assert results.rebuild(bench.db) == []


def test_one_that_fails_afterwards_throws_doubt_on_what_was_released(bench, sign_in):
    bench.ask_for_checks("hours", 8)
    bench.check([60.0, 60.1, 60.0], at=later(bench.now, hours=-2))
    batch = read_both(bench, later(bench.now, hours=-1))
    assert decide(sign_in("roaster"), batch, "release").status_code == 303
    bench.check([60.6, 60.6, 60.7])
    assert state(bench, batch) == "doubted"
    assert "the check after this reading failed" in sign_in("roaster").get(f"/batches/{batch.id}/result").text
    assert [d.what for d in decisions.get_decisions(bench.db, batch.id)] == ["release"]


def test_samples_are_counted_where_the_rule_counts_them(bench):
    bench.ask_for_checks("samples", 3)
    bench.check([60.0, 60.1, 60.0], at=later(bench.now, hours=-2))
    batches = [bench.batch(at=later(bench.now, minutes=-60)) for _four in range(4)]
    for no, batch in enumerate(batches):
        bench.sample(batch.id, "whole", [56.0, 56.1, 56.0], at=later(bench.now, minutes=no - 50))
    assert [state(bench, batch) for batch in batches] == ["proven", "proven", "proven", "overdue"]


def test_a_sample_that_arrives_late_counts_among_them(bench):
    bench.ask_for_checks("samples", 1)
    bench.check([60.0, 60.1, 60.0], at=later(bench.now, hours=-2))
    second, first = (bench.batch(at=later(bench.now, minutes=-60)) for _two in range(2))
    bench.sample(second.id, "whole", [56.0, 56.1, 56.0], at=later(bench.now, minutes=-10))
    assert state(bench, second) == "proven"
    bench.sample(first.id, "whole", [56.0, 56.1, 56.0], at=later(bench.now, minutes=-20))
    assert (state(bench, first), state(bench, second)) == ("proven", "overdue")
    assert results.rebuild(bench.db) == []


def test_the_deviations_of_its_checks_enter_the_uncertainty(bench):
    """u_m: root mean square of the last as-found deviations (JCGM 100, 4.2 and 4.3, by way of the meter's checks)."""
    off = [0.1, -0.1, 0.2, 0.0, 0.1]
    for no, deviation in enumerate(off):
        bench.check([60.0 + deviation] * 3, at=later(bench.now, days=no - 10))
    batch = read_both(bench, bench.now)
    [sample, _ground] = samples.get_samples(bench.db, batch.id)
    assert sample.u_meter_source == "checks"
    assert sample.u_meter == pytest.approx((sum(d * d for d in off) / 5) ** 0.5, abs=1e-9)
    assert results.get_parts(bench.db, batch.id)["whole"].meter_term == pytest.approx(sample.u_meter**2)


def test_the_capture_page_says_how_the_meter_stands_before_a_reading(bench, sign_in):
    batch, client = bench.batch(), sign_in("roaster")
    address = f"/batches/{batch.id}/whole"
    assert not client.page(address).find("p", data_meter_line="")
    bench.ask_for_checks("shift", None, "06:00 14:00 22:00")
    assert "Not checked yet." in client.page(address).find("p", class_="meter-line")[0].text
    assert "Check it now" in client.get(address).text
    bench.check([60.0, 60.1, 60.0])
    [line] = client.page(address).find("p", class_="meter-line")
    assert "by Ravi." in line.text
    assert "Next check:" in line.text


def test_a_decision_is_refused_with_words_when_the_meter_lost_its_proof_meanwhile(bench, sign_in):
    bench.ask_for_checks("hours", 8)
    bench.check([60.0, 60.1, 60.0], at=later(bench.now, hours=-2))
    batch = read_both(bench, later(bench.now, hours=-1))
    bench.check([61.0, 61.1, 61.0])
    answer = sign_in("roaster").post(
        f"/batches/{batch.id}/decision", data={"id": str(uuid.uuid4()), "what": "release", "reason": ""}
    )
    assert answer.status_code == 403


def test_the_strip_says_what_waits_because_of_its_meter(bench, sign_in):
    bench.ask_for_checks("hours", 8)
    batch = read_both(bench, bench.now)
    day = strip_days.get_day(bench.db, batch.day)
    [shown] = [one for one in day.batches if one.id == batch.id]
    assert (shown.verdict, shown.waits) == ("inside", True)
    page = sign_in("lead").get(f"/days/{batch.day}").text
    assert "Meter not proven: it was not checked." in page
    assert decide(sign_in("lead"), batch, "concession", "Checked right after.").status_code == 303
    assert not strip_days.get_day(bench.db, batch.day).batches[-1].waits
