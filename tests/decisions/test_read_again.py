"""Having a batch read again: it waits for that, and is judged anew once there is a later sample."""

import uuid

from tests.decisions.test_decide import decide, read
from tests.support.roastery import later
from webapp.store import corrections, decisions, waiting


def ask(bench, batch, role="lead", minutes=1):
    """Somebody asks for another reading; the decision's id."""
    decision_id = str(uuid.uuid4())
    decisions.add_decision(
        bench.db, decision_id, batch.id, "remeasure", "from the other sack", bench.who(role),
        later(bench.now, minutes=minutes),
    )  # fmt: skip
    return decision_id


def why(bench, batch):
    return waiting.all_waiting(bench.db).get(batch.id)


def test_it_waits_until_it_is_read_again(bench, sign_in):
    batch = read(bench, "inside")
    assert decide(sign_in("roaster"), batch, "remeasure", "from the other sack").status_code == 303
    assert why(bench, batch) == "remeasure"
    html = sign_in("roaster").get(f"/batches/{batch.id}/result").get_data(as_text=True)
    assert f'class="button primary" href="/batches/{batch.id}/ground"' in html


def test_it_is_judged_anew_by_a_later_sample(bench, sign_in):
    batch = read(bench, "outside")
    ask(bench, batch)
    bench.sample(batch.id, "ground", [64.5, 64.6, 64.5], at=later(bench.now, minutes=5))
    assert why(bench, batch) == "outside"
    html = sign_in("roaster").get(f"/batches/{batch.id}/result").get_data(as_text=True)
    assert "It has been read again since." in html


def test_it_is_not_read_again_by_what_was_read_before(bench):
    """From a tablet that was without the server: it arrives later, and was read earlier."""
    batch = read(bench, "inside")
    ask(bench, batch, minutes=10)
    bench.sample(batch.id, "ground", [61.0, 61.1, 61.0], at=later(bench.now, minutes=5))
    assert why(bench, batch) == "remeasure"


def test_it_waits_again_when_the_later_readings_are_void(bench):
    batch = read(bench, "inside")
    ask(bench, batch)
    sample = bench.sample(batch.id, "ground", [61.0], at=later(bench.now, minutes=5))
    assert why(bench, batch) is None
    corrections.add_correction(bench.db, str(uuid.uuid4()), sample.id, 1, 1, None, "spilt", bench.who(), bench.now)
    assert why(bench, batch) == "remeasure"


def test_it_leaves_a_roaster_to_release_what_then_reads_in_band(bench, sign_in):
    """What a lead asked for is done; the new result stands or falls by the usual rule, and asks for no reason."""
    batch = read(bench, "inside")
    asked = ask(bench, batch)
    bench.sample(batch.id, "ground", [61.0, 61.1, 61.0], at=later(bench.now, minutes=5))
    assert decide(sign_in("roaster"), batch, "release", "", seen=asked).status_code == 303


def test_it_has_nothing_to_read_again_where_nothing_was_read(bench, sign_in):
    assert decide(sign_in("lead"), bench.batch(), "remeasure").status_code == 403
