"""Moving a sample to the batch that it was really read of: both batches follow, and both show it."""

import re
import uuid
from datetime import timedelta

import pytest

from tests.support.roastery import later
from webapp.store import (
    countersigns,
    gear,
    ledger,
    look_backs,
    methods,
    products,
    results,
    sample_moves,
    samples,
    trend_states,
)
from webapp.store.products import TargetBand


def put(bench, sample, to, reason="Trays swapped.", at=None):
    """Move it through the store."""
    now = samples.get_sample(bench.db, sample.id)
    sample_moves.add_move(
        bench.db, str(uuid.uuid4()), sample.id, now.batch_id, to.id, reason, bench.who(), at or bench.now
    )


def sound(bench):
    """Nothing of what is kept differs from what the facts give, and the ledger is as it was written."""
    assert results.rebuild(bench.db) == []
    assert list(ledger.faults(bench.db)) == []


def test_it_works_both_batches_out_again(bench, move):
    wrong, right = bench.batch("A-1"), bench.batch("A-2")
    stays = bench.sample(wrong.id, "whole", [56.0, 56.1, 56.0])
    moves = bench.sample(wrong.id, "whole", [52.0, 52.1, 52.0])
    assert results.get_parts(bench.db, wrong.id)["whole"].value == pytest.approx(54.0333, abs=1e-3)
    assert move(moves, right).status_code == 303
    assert [s.id for s in samples.get_samples(bench.db, wrong.id)] == [stays.id]
    assert results.get_parts(bench.db, wrong.id)["whole"].value == pytest.approx(56.0333, abs=1e-3)
    assert results.get_parts(bench.db, right.id)["whole"].verdict == "outside"
    sound(bench)


def test_it_shows_it_on_both_pages(bench, move, sign_in):
    wrong, right = bench.batch("A-1"), bench.batch("A-2")
    sample = bench.sample(wrong.id, "whole", [56.0, 56.1, 56.0])
    move(sample, right, reason="Read from tray 2")
    pages = {b.code: sign_in("trainee").get(f"/batches/{b.id}").get_data(as_text=True) for b in (wrong, right)}
    assert '<span class="struck">56.1</span>' in pages["A-1"]
    assert "Moved to batch A-2, Lantern House." in pages["A-1"]
    assert re.search(r"By Ravi, [^<]*, because: Read from tray 2", pages["A-1"])
    assert "Whole bean: was 56.0, in band; now not read." in pages["A-1"]
    assert "Moved here from batch A-1, Lantern House." in pages["A-2"]
    assert re.search(r"By Ravi, [^<]*, because: Read from tray 2", pages["A-2"])
    # Whatever was done to the sample stands in both records.
    for page in pages.values():
        for action in ("whole-bean sample stored", "sample moved", "sample follows its move"):
            assert page.count(f"<td>{action}</td>") == 1


def test_it_moves_back_by_a_second_move(bench, sign_in):
    first, second = bench.batch("A-1"), bench.batch("A-2")
    sample = bench.sample(first.id, "whole", [56.0, 56.1, 56.0])
    before = results.get_parts(bench.db, first.id)
    put(bench, sample, second, "Trays swapped.")
    put(bench, sample, first, "They were not.", later(bench.now, minutes=1))
    assert results.get_parts(bench.db, first.id) == before
    assert results.get_parts(bench.db, second.id) == {}
    page = sign_in("trainee").get(f"/batches/{first.id}").get_data(as_text=True)
    assert "Moved to batch A-2" in page
    assert "Moved here from batch A-2" in page
    assert "data-left" not in page
    assert "data-changed" not in page
    sound(bench)


def test_it_is_judged_by_the_target_of_the_product_it_belongs_to_now(bench, harbour):
    """As that stood when it was read, not as it stands today."""
    read = bench.now - timedelta(hours=2)
    wrong, right = bench.batch("A-1", at=read), bench.batch("B-1", harbour, at=read)
    sample = bench.sample(wrong.id, "whole", [46.0, 46.1, 46.0], at=read)
    then = products.target_in_force(bench.db, harbour)
    products.add_target_version(
        bench.db, harbour, bench.scale, "guarded", 0.8, None, None, [TargetBand("whole", 6000, 6100, 6200)], "Other.",
        bench.who("lead"), later(read, hours=1),
    )  # fmt: skip
    assert results.get_parts(bench.db, wrong.id)["whole"].verdict == "outside"
    put(bench, sample, right)
    part = results.get_parts(bench.db, right.id)["whole"]
    assert (part.verdict, part.target_version_id) == ("inside", then.id)
    assert results.get_batch_result(bench.db, right.id).missing == ("ground",)
    sound(bench)
    # Back where it was read for, it is judged by the version that was stored with it.
    put(bench, sample, wrong, "No, it was that one.")
    assert results.get_parts(bench.db, wrong.id)["whole"].target_version_id == sample.target_version_id
    sound(bench)


def test_it_keeps_both_products_trends_true(bench, harbour):
    wrong, right = bench.batch("A-1"), bench.batch("B-1", harbour)
    sample = bench.sample(wrong.id, "whole", [46.0, 46.1, 46.0])
    assert trend_states.find_state(bench.db, harbour, "whole") is None
    put(bench, sample, right)
    assert trend_states.find_state(bench.db, bench.product, "whole") is None
    assert trend_states.find_state(bench.db, harbour, "whole").last_batch_id == right.id
    sound(bench)


def test_it_says_first_what_will_not_be_judged_there(bench, move):
    """Another method than that product's target asks for: nothing is stored until somebody has read it."""
    own = methods.get_version(bench.db, bench.versions["whole"].id)
    method = methods.add_method(bench.db, "Harbour's own", "whole", own.dish, 3, 1, None, own.steps, bench.who("lead"),
                                bench.now - timedelta(days=31))  # fmt: skip
    other = products.add_product(
        bench.db, "Harbour", "HA", bench.scale, "guarded", 0.8, method, None, [TargetBand("whole", 4450, 4600, 4750)],
        bench.who("lead"), bench.now - timedelta(days=30),
    )  # fmt: skip
    wrong, right = bench.batch("A-1"), bench.batch("B-1", other)
    sample = bench.sample(wrong.id, "whole", [46.0, 46.1, 46.0])
    asked = move(sample, right)
    html = asked.get_data(as_text=True)
    assert asked.status_code == 422
    assert "the target there asks for another method: it will be shown, not judged." in html
    assert "Trays swapped." in html
    assert "Move it all the same" in html
    assert samples.get_sample(bench.db, sample.id).batch_id == wrong.id
    assert move(sample, right, understood=right.id).status_code == 303
    part = results.get_parts(bench.db, right.id)["whole"]
    assert (part.value, part.verdict) == (pytest.approx(46.0333, abs=1e-3), None)
    assert results.get_batch_result(bench.db, right.id).verdict == "incomplete"
    sound(bench)


def test_it_says_first_what_else_is_odd_there(bench, move):
    """Another scale than the target's, a batch roasted after the reading, one that was read another way."""
    sooner, after = bench.batch("A-1"), bench.batch("A-2", at=later(bench.now, minutes=10))
    sample = bench.sample(sooner.id, "whole", [56.0, 56.1], meter=bench.flipped_meter)
    bench.sample(after.id, "whole", [56.0, 56.1], at=later(bench.now, minutes=11))
    html = move(sample, after).get_data(as_text=True)
    assert "The target there is on “Scale A”, and it was read on Meter B" in html
    assert "after this sample was read." in html
    assert "has been read another way already" in html


def test_it_keeps_apart_what_was_ground_at_another_setting(bench, move):
    other = gear.add_grinder_setting(bench.db, bench.grinder, "9", bench.who("lead"), bench.now)
    wrong, right = bench.batch("A-1"), bench.batch("A-2")
    sample = bench.sample(wrong.id, "ground", [61.0, 61.1], setting=other)
    assert "Ground at 9, the method asks for 7: shown, not judged." in move(sample, right).get_data(as_text=True)
    assert move(sample, right, understood=right.id).status_code == 303
    assert results.get_parts(bench.db, right.id)["ground"].apart_why == "setting"
    sound(bench)


def test_it_offers_the_days_batches_newest_first_and_finds_others_by_code(bench, sign_in):
    noon = (bench.now - timedelta(days=1)).replace(hour=10)
    batches = [bench.batch(f"D-{no}", at=later(noon, seconds=no)) for no in range(3)]
    bench.batch("OLD-7", at=later(bench.now, days=-40))
    sample = bench.sample(batches[0].id, "whole", [56.0, 56.1, 56.0])
    client = sign_in("roaster")
    html = client.get(f"/samples/{sample.id}/move").get_data(as_text=True)
    assert html.index(">D-2<") < html.index(">D-1<") < html.index(">OLD-7<")
    assert ">D-0<" not in html
    sent = {"id": "x", "from_batch": batches[0].id, "code": "OLD", "reason": "Half a reason", "find": "1"}
    found = client.post(f"/samples/{sample.id}/move", data=sent)
    html = found.get_data(as_text=True)
    assert found.status_code == 200
    assert html.index(">OLD-7<") < html.index(">D-2<")
    assert 'value="Half a reason"' in html
    assert samples.get_sample(bench.db, sample.id).batch_id == batches[0].id
    sent["code"] = "NOWHERE"
    assert "No other batch code begins with “NOWHERE”." in client.post(
        f"/samples/{sample.id}/move", data=sent
    ).get_data(as_text=True)


def test_it_asks_for_the_batch_and_the_reason(bench, move):
    wrong, right = bench.batch("A-1"), bench.batch("A-2")
    sample = bench.sample(wrong.id, "whole", [56.0, 56.1, 56.0])
    html = move(sample, right, reason=" ").get_data(as_text=True)
    assert "Give the reason." in html
    assert f'value="{right.id}" checked' in html
    assert "Choose the batch." in move(sample, right, batch="").get_data(as_text=True)
    assert move(sample, right, batch=str(uuid.uuid4())).status_code == 422
    assert samples.get_sample(bench.db, sample.id).batch_id == wrong.id


def test_it_stores_one_move_however_often_it_is_sent(bench, move):
    wrong, right = bench.batch("A-1"), bench.batch("A-2")
    sample = bench.sample(wrong.id, "whole", [56.0, 56.1, 56.0])
    for _twice in range(2):
        assert move(sample, right, id="m-1").status_code == 303
    assert len(sample_moves.list_moves(bench.db, wrong.id)[sample.id]) == 1
    assert move(sample, right, id="m-1", reason="Another.").status_code == 409


def test_it_says_so_when_somebody_else_was_quicker(bench, move):
    wrong, right, third = (bench.batch(f"A-{no}") for no in range(3))
    sample = bench.sample(wrong.id, "whole", [56.0, 56.1, 56.0])
    put(bench, sample, third)
    said = move(sample, right)
    assert said.status_code == 422
    assert "It was moved meanwhile: it is in batch A-2, Lantern House." in said.get_data(as_text=True)
    assert samples.get_sample(bench.db, sample.id).batch_id == third.id


def test_it_is_not_for_a_trainee(bench, move):
    wrong, right = bench.batch("A-1"), bench.batch("A-2")
    sample = bench.sample(wrong.id, "whole", [56.0, 56.1, 56.0])
    assert move(sample, right, role="trainee").status_code == 403
    assert move(sample, right, role="lead").status_code == 303


def test_it_takes_the_countersignature_along(bench, sign_in):
    wrong, right = bench.batch("A-1"), bench.batch("A-2")
    sample = bench.sample(wrong.id, "whole", [56.0, 56.1, 56.0], role="trainee")
    bench.sample(wrong.id, "ground", [61.0, 61.1, 61.0])
    assert results.get_batch_result(bench.db, wrong.id).hands_state == "waiting"
    countersigns.add_countersignature(bench.db, "s-1", wrong.id, [sample.id], "", bench.who(), bench.now)
    put(bench, sample, right)
    assert results.get_batch_result(bench.db, right.id).hands_state is None
    page = sign_in("roaster").get(f"/batches/{right.id}").get_data(as_text=True)
    assert "Countersigned by Ravi" in page
    sound(bench)


def test_it_lets_what_waits_for_a_countersignature_wait_in_its_new_batch(bench):
    wrong, right = bench.batch("A-1"), bench.batch("A-2")
    sample = bench.sample(wrong.id, "whole", [56.0, 56.1, 56.0], role="trainee")
    bench.sample(wrong.id, "ground", [61.0, 61.1, 61.0])
    put(bench, sample, right)
    assert results.get_batch_result(bench.db, wrong.id).hands_state is None
    assert results.get_batch_result(bench.db, right.id).hands_state == "waiting"
    # It was on the page of its first batch when somebody signed for it on a tablet.
    countersigns.add_countersignature(bench.db, "s-1", wrong.id, [sample.id], "", bench.who(), bench.now)
    assert results.get_batch_result(bench.db, right.id).hands_state is None
    sound(bench)


def test_it_asks_again_about_a_sample_in_doubt_when_what_replaced_it_was_another_batchs(bench):
    """Read again, so it seemed; then the second sample turns out to be of another batch."""
    wrong, right = bench.batch("A-1"), bench.batch("A-2")
    doubted = bench.sample(wrong.id, "whole", [56.0, 56.1, 56.0])
    failed = bench.check([61.0, 61.1, 61.0], [60.0, 60.0, 60.1], at=later(bench.now, minutes=1))
    again = bench.sample(wrong.id, "whole", [52.0, 52.1, 52.0], at=later(bench.now, minutes=2))
    assert look_backs.open_count(bench.db, failed) == 0
    assert results.get_parts(bench.db, wrong.id)["whole"].samples == 1
    put(bench, again, right)
    assert results.get_parts(bench.db, wrong.id)["whole"].value == pytest.approx(56.0333, abs=1e-3)
    assert results.get_batch_result(bench.db, wrong.id).meter_state == "doubted"
    assert look_backs.open_count(bench.db, failed) == 1
    assert look_backs.open_checks(bench.db) == [failed.id]
    assert look_backs.entry_of(bench.db, doubted.id) is None
    sound(bench)
    look_backs.settle(bench.db, failed, doubted.id, "accepted", "Far inside.", bench.who("lead"), bench.now, "e-1")
    assert look_backs.open_count(bench.db, failed) == 0
    assert results.get_batch_result(bench.db, wrong.id).meter_state == "accepted"
    sound(bench)
