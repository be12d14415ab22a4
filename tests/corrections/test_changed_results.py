"""A result that a correction changed says so, until somebody has decided about what stands now."""

import uuid

import pytest

from tests.support.roastery import later
from webapp.store import corrections, decisions, result_changes, sample_moves, strip_days


@pytest.fixture
def judged(bench):
    """(batch, sample): in band, its ground coffee by a single reading."""
    batch = bench.batch("A-1")
    bench.sample(batch.id, "whole", [56.0, 56.1, 56.0])
    return batch, bench.sample(batch.id, "ground", [61.2])


def correct(bench, sample, value, at=None, reason="digits swapped"):
    """Its reading is put right, in hundredths."""
    id = str(uuid.uuid4())
    corrections.add_correction(bench.db, id, sample.id, 1, 1, value, reason, bench.who(), at or bench.now)


def notice(client, batch, page="result"):
    """The words of the notice, or nothing."""
    html = client.get(f"/batches/{batch.id}/{page}".rstrip("/")).get_data(as_text=True)
    return html.split("data-changed>")[1].split("</div>")[0] if "data-changed>" in html else ""


def test_it_says_what_stood_and_what_stands(bench, sign_in, judged):
    batch, sample = judged
    correct(bench, sample, 6400)
    for page in ("result", ""):
        said = notice(sign_in("trainee"), batch, page)
        assert "Changed by a correction on" in said
        assert "A reading was corrected. Ravi: “digits swapped”" in said
        assert "Ground: was 61.2, in band; now 64.0, out, lighter." in said
        assert "Ground minus whole: was 5.2, in band; now 8.0, out, ground lighter." in said
        assert "Whole bean" not in said
    [kept] = result_changes.list_changes(bench.db, batch.id)
    assert (kept.verdict_before, kept.verdict_after) == ("inside", "outside")


def test_it_tells_several_corrections_as_one(bench, sign_in, judged):
    batch, sample = judged
    correct(bench, sample, 6400)
    correct(bench, sample, 6500, later(bench.now, minutes=1), "Looked again")
    said = notice(sign_in("trainee"), batch)
    assert "Changed by 2 corrections, the last on" in said
    assert "A reading was corrected. Ravi: “Looked again”" in said
    assert "Ground: was 61.2, in band; now 65.0, out, lighter." in said


def test_it_is_silent_once_somebody_has_decided_and_speaks_again_after_the_next_correction(bench, sign_in, judged):
    batch, sample = judged
    correct(bench, sample, 6400)
    decisions.add_decision(
        bench.db, str(uuid.uuid4()), batch.id, "concession", "Sold as dark.", bench.who("lead"), bench.now
    )
    assert notice(sign_in("roaster"), batch) == ""
    page = sign_in("roaster").get(f"/batches/{batch.id}").get_data(as_text=True)
    assert "What corrections changed" in page
    correct(bench, sample, 6450, later(bench.now, minutes=1))
    assert "Ground: was 64.0, out; now 64.5, out, lighter." in notice(sign_in("roaster"), batch)


def test_a_decision_made_before_the_correction_does_not_silence_it(bench, sign_in, judged):
    """It comes out of an outbox afterwards, by somebody who saw the old result."""
    batch, sample = judged
    correct(bench, sample, 6400)
    decisions.add_decision(
        bench.db, str(uuid.uuid4()), batch.id, "hold", "Look again.", bench.who(), later(bench.now, minutes=2),
        made_at=later(bench.now, minutes=-5).strftime("%Y-%m-%dT%H:%M:%S.000Z"),
    )  # fmt: skip
    assert "Ground: was 61.2, in band; now 64.0, out, lighter." in notice(sign_in("roaster"), batch)


def test_a_released_batch_whose_verdict_changes_waits_again(bench, judged):
    batch, sample = judged
    decisions.add_decision(bench.db, str(uuid.uuid4()), batch.id, "release", "", bench.who(), bench.now)
    [before] = strip_days.get_day(bench.db, batch.day).batches
    correct(bench, sample, 6400)
    [after] = strip_days.get_day(bench.db, batch.day).batches
    assert (before.waits, after.waits) == (False, True)


def test_it_says_nothing_where_it_was_corrected_back(bench, sign_in, judged):
    batch, sample = judged
    correct(bench, sample, 6400)
    correct(bench, sample, 6120, later(bench.now, minutes=1), "No, it was right.")
    assert notice(sign_in("roaster"), batch) == ""
    assert len(result_changes.list_changes(bench.db, batch.id)) == 2


def test_it_keeps_no_change_where_nothing_is_otherwise(bench, judged):
    """The same value once more, or another place among the same readings."""
    batch, sample = judged
    corrections.add_correction(bench.db, "c-1", sample.id, 1, 1, 6120, "As it was.", bench.who(), bench.now)
    assert result_changes.list_changes(bench.db, batch.id) == []


def test_it_tells_what_is_not_read_any_more_on_the_batch_that_a_sample_left(bench, sign_in, judged):
    batch, sample = judged
    other = bench.batch("A-2")
    sample_moves.add_move(bench.db, "m-1", sample.id, batch.id, other.id, "Trays swapped.", bench.who(), bench.now)
    said = notice(sign_in("roaster"), batch)
    assert "A sample was moved away. Ravi: “Trays swapped.”" in said
    assert "Ground: was 61.2, in band; now not read." in said
    there = notice(sign_in("roaster"), other)
    assert "A sample was moved here." in there
    assert "Ground: was not read; now 61.2, in band." in there
