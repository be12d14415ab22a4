"""A line that a meter or a scale types by itself: taken, asked about, and kept as a whole. Pages without a script."""

import re
import uuid

from tests.bench.test_capture import form_of, post
from tests.support import comparing
from tests.support.roastery import later
from webapp.store import batches, checks, comparisons, samples


def asked(html):
    """The messages beside fields."""
    return re.findall(r'class="error"[^>]*>([^<]+)<', html)


def test_it_keeps_the_whole_line_beside_the_number(bench, sign_in):
    batch = bench.batch()
    answer = post(sign_in("roaster"), batch, form_of(bench, readings=("#012 56,1 OK", "12:30 56.4", "-- 56.1%")))
    assert answer.status_code == 303, asked(answer.text)
    [made] = samples.get_samples(bench.db, batch.id)
    assert [(r.value, r.typed, r.confirmed) for r in made.readings] == [
        (5610, "#012 56,1 OK", False), (5640, "12:30 56.4", False), (5610, "-- 56.1%", False),
    ]  # fmt: skip


def test_it_asks_which_number_it_is_and_takes_the_first_when_somebody_says_so(bench, sign_in):
    batch, client = bench.batch(), sign_in("roaster")
    sent = form_of(bench, readings=("L 56.1 a 3.4", "56.4", "56.1"))
    answer = post(client, batch, sent)
    assert answer.status_code == 422
    assert "There is more than one number in this. Is it 56.1? If not, type the one that is." in answer.text
    assert 'value="L 56.1 a 3.4"' in answer.text
    box = re.search(r'<label class="option" data-sure( hidden)?><input[^>]*name="fills-0-readings-0-sure"', answer.text)
    assert box
    assert not box[1]
    assert samples.get_samples(bench.db, batch.id) == []
    assert post(client, batch, sent | {"fills-0-readings-0-sure": "y"}).status_code == 303
    [made] = samples.get_samples(bench.db, batch.id)
    assert (made.readings[0].value, made.readings[0].typed, made.readings[0].confirmed) == (5610, "L 56.1 a 3.4", True)


def test_a_check_of_the_meter_takes_a_line_and_asks_for_one_number(bench, sign_in):
    from tests.gear.test_check_meter import form, send

    client = sign_in("roaster")
    wrong = send(client, bench, form(bench, found=("L 60.1 a 3.4", "60.0", "60.1")))
    assert "There is more than one number in this. Type the one that is meant." in wrong.text
    assert send(client, bench, form(bench, found=("L 60.1 OK", "60.0", "60.1"))).status_code == 303
    [check] = checks.list_checks(bench.db, bench.meter)
    assert [r.typed for r in check.readings][0] == "L 60.1 OK"


def test_a_compared_coffee_takes_a_line_and_asks_once(bench, sign_in):
    there, client = comparing.plan(bench), sign_in("roaster")
    sent = comparing.form([["L 56.1 a 3.4", "56.2"]])
    answer = client.post(f"/comparisons/{there.id}/1/a", data=sent)
    assert "Is it 56.1?" in answer.text
    assert 'name="fills-0-readings-0-sure"' in answer.text
    said = client.post(f"/comparisons/{there.id}/1/a", data=sent | {"fills-0-readings-0-sure": "y"})
    assert said.status_code == 303
    [sample] = comparisons.list_samples(bench.db, there.id)
    assert [(r.value, r.typed) for r in sample.readings] == [(5610, "L 56.1 a 3.4"), (5620, "56.2")]


def new_batch(bench, **masses):
    moment = later(bench.now, minutes=-20)
    return {
        "id": str(uuid.uuid4()), "product": bench.product, "machine": bench.machine, "code": "L-1",
        "day": moment.date().isoformat(), "clock": moment.strftime("%H:%M"), **masses,
    }  # fmt: skip


def test_a_mass_comes_in_the_unit_of_the_scale(bench, sign_in):
    sent = new_batch(bench, green="ST,GS,  12.350 kg", roasted="+  10500 g")
    assert sign_in("roaster").post("/batches/new", data=sent).status_code == 303
    made = batches.get_batch(bench.db, sent["id"])
    assert (made.green_g, made.roasted_g) == (12350, 10500)


def test_a_mass_that_is_not_sure_is_asked_for_again(bench, sign_in):
    sent = new_batch(bench, green="N 12.5 kg T 0.3 kg", roasted="10500.5 g")
    said = sign_in("roaster").post("/batches/new", data=sent)
    assert said.status_code == 422
    assert "There is more than one number in this. Type the one that is meant." in said.text
    assert "A mass is kept to the gram: use at most three decimals." in said.text
    assert 'value="N 12.5 kg T 0.3 kg"' in said.text
