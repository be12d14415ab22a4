"""What waits for a countersignature on the strip: a word, a shape of its own, and among what waits."""

import re

from tests.strip.days import DAY, at, decide, measured
from webapp.store import countersigns, strip_days, times


def test_it_says_so_by_word_and_shape_and_counts_it(bench, sign_in, monkeypatch):
    monkeypatch.setattr(times, "now", lambda: at("15:00"))
    waits = measured(bench, "07:00", role="trainee", whole=0, ground=0)
    measured(bench, "08:00", whole=0, ground=0)
    for path in (f"/days/{DAY}", "/wall"):
        page = sign_in("roaster").page(path)
        text = re.sub(r"\s+", " ", page.find("main")[0].text)
        assert "to sign" in text
        assert "Read by Tomas, a trainee: to be countersigned." in text
        assert page.find("path", class_="to-sign")
        assert page.find("svg", class_="to-sign")
    page = sign_in("roaster").page(f"/days/{DAY}")
    assert "1 batch waits for a decision" in page.find("main")[0].text
    assert "waits for a countersignature" in page.find("a", id=f"b{waits.id}")[0].attrs["aria-label"]


def test_it_is_gone_once_it_is_countersigned(bench, sign_in):
    made = measured(bench, "07:00", role="trainee", whole=0, ground=0)
    ids = [sample.id for sample in countersigns.waiting_samples(bench.db, made.id)]
    countersigns.add_countersignature(bench.db, "c-1", made.id, ids, "", bench.who(), bench.now)
    page = sign_in("roaster").page(f"/days/{DAY}")
    assert not page.find("path", class_="to-sign")
    assert "waits for a decision" not in page.find("main")[0].text


def only(bench):
    [found] = strip_days.get_day(bench.db, DAY).batches
    return found


def test_it_waits_held_too_and_no_more_when_rejected(bench):
    made = measured(bench, "07:00", role="trainee", whole=0, ground=0)
    assert (only(bench).to_countersign, only(bench).waits) == (True, True)
    decide(bench, made, "hold")
    assert (only(bench).to_countersign, only(bench).waits) == (True, True)
    decide(bench, made, "reject")
    assert (only(bench).to_countersign, only(bench).waits) == (False, False)


def test_half_a_batch_waits_for_the_other_half_first(bench):
    measured(bench, "07:00", role="trainee", whole=0)
    assert (only(bench).hands_state, only(bench).to_countersign, only(bench).waits) == ("waiting", False, False)
