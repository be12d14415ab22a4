"""Capturing a sample by the plain form, as it works without a script."""

import re
import uuid
from dataclasses import replace

import pytest

from webapp.store import methods, products, results, samples
from webapp.store.products import TargetBand
from webapp.store.times import to_text


def form_of(bench, kind="whole", readings=("56.1", "56.4", "56.1"), **changes):
    version = bench.versions[kind]
    sent = {
        "id": str(uuid.uuid4()), "made_at": to_text(bench.now), "method_version": version.id, "checklist": "page",
        "meter": bench.meter, "note": "",
    }  # fmt: skip
    for index, _step in enumerate(version.steps):
        sent[f"steps-{index}-done"] = "y"
    for index, text in enumerate(readings):
        sent[f"fills-0-readings-{index}-value"] = text
    return sent | changes


def typed(html):
    return re.findall(r'name="fills-0-readings-\d+-value" value="([^"]*)"', html)


def post(client, batch, sent, kind="whole"):
    return client.post(f"/batches/{batch.id}/{kind}", data=sent)


def test_it_stores_readings_exactly_and_goes_on_to_ground(bench, sign_in):
    batch = bench.batch()
    answer = post(sign_in("trainee"), batch, form_of(bench, readings=("56,1", " 56.4 ", "56")))
    assert (answer.status_code, answer.location) == (303, f"/batches/{batch.id}/ground")
    [made] = samples.get_samples(bench.db, batch.id)
    assert [(r.value, r.typed) for r in made.readings] == [(5610, "56,1"), (5640, "56.4"), (5600, "56")]
    assert (made.checklist, made.role, len(made.steps)) == ("page", "trainee", len(bench.versions["whole"].steps))


def test_it_ends_at_the_result_after_both_kinds(bench, sign_in):
    batch, client = bench.batch(), sign_in("roaster")
    post(client, batch, form_of(bench))
    answer = post(client, batch, form_of(bench, "ground", ("61.0", "61.1", "60.9")), "ground")
    assert answer.location == f"/batches/{batch.id}/result"
    assert "In band." in client.get(answer.location).get_data(as_text=True)


def test_it_makes_one_record_of_a_form_posted_twice(bench, sign_in):
    batch, client, sent = bench.batch(), sign_in("roaster"), form_of(bench)
    assert [post(client, batch, sent).status_code for _ in range(2)] == [303, 303]
    assert len(samples.get_samples(bench.db, batch.id)) == 1


def test_it_refuses_other_content_under_the_same_number(bench, sign_in):
    batch, client, sent = bench.batch(), sign_in("roaster"), form_of(bench)
    post(client, batch, sent)
    answer = post(client, batch, sent | {"fills-0-readings-0-value": "56.9"})
    assert answer.status_code == 409
    assert samples.get_samples(bench.db, batch.id)[0].readings[0].value == 5610


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("61,4,2", "Use one point or one comma"),
        ("1.234,5", "Use one point or one comma"),
        ("1e3", "Type a number as the meter shows it"),
        ("six", "Type a number as the meter shows it"),
        ("NaN", "Type a number as the meter shows it"),
        ("٦١", "Use the digits 0 to 9."),
        ("151", "This scale runs from 0.0 to 150.0."),
        ("-3", "This scale runs from 0.0 to 150.0."),
        ("\u22123", "This scale runs from 0.0 to 150.0."),
        ("56.12", "This scale goes in steps of 0.1."),
        ("562", "56.2?"),
    ],
)
def test_it_refuses_beside_the_field_and_keeps_what_was_typed(bench, sign_in, text, words):
    batch = bench.batch()
    answer = post(sign_in("roaster"), batch, form_of(bench, readings=("56.1", text, "56.1")))
    html = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert words in html
    assert "<title>Error: " in html
    assert 'href="#fills-0-readings-1-value">Fill 1, reading 2: ' in html
    assert typed(html)[:3] == ["56.1", text, "56.1"]
    assert not samples.get_samples(bench.db, batch.id)


def test_it_takes_the_suggestion_at_a_tap_without_a_script(bench, sign_in):
    batch, client = bench.batch(), sign_in("roaster")
    sent = form_of(bench, readings=("56.1", "562", "56.1"))
    html = post(client, batch, sent).get_data(as_text=True)
    take = re.search(r'name="take" value="([^"]+)"', html)[1]
    assert post(client, batch, sent | {"take": take}).status_code == 303
    assert samples.get_samples(bench.db, batch.id)[0].readings[1].value == 5620


def test_it_asks_for_one_more_when_readings_disagree(bench, sign_in):
    batch, client = bench.batch(), sign_in("roaster")
    sent = form_of(bench, readings=("56.1", "57.9", "56.2"))
    html = post(client, batch, sent).get_data(as_text=True)
    assert "The readings of fill 1 disagree. Take 1 more" in html
    assert post(client, batch, sent | {"fills-0-readings-3-value": "56.3"}).status_code == 303
    part = results.get_parts(bench.db, batch.id)["whole"]
    assert (part.value, part.readings, part.readings_disagree) == (pytest.approx(56.25), 4, 1)


def test_it_uses_the_middle_value_when_no_further_reading_can_be_taken(bench, sign_in):
    batch, client = bench.batch(), sign_in("roaster")
    sent = form_of(bench, readings=("56.1", "57.9", "56.2"), no_more="y")
    assert post(client, batch, sent).status_code == 303
    assert results.get_parts(bench.db, batch.id)["whole"].value == pytest.approx(56.2)


def test_it_stores_fewer_readings_only_when_told(bench, sign_in):
    batch, client = bench.batch(), sign_in("roaster")
    sent = form_of(bench, readings=("56.1",))
    assert "Fill 1 has 1 reading, the method asks for 3" in post(client, batch, sent).get_data(as_text=True)
    assert post(client, batch, sent | {"fewer": "y"}).status_code == 303


def test_it_asks_about_a_reading_far_from_its_fellows_and_never_drops_it(bench, sign_in):
    batch, client = bench.batch(), sign_in("roaster")
    sent = form_of(bench, readings=("56.1", "65.1", "56.2", "56.1"))
    html = post(client, batch, sent).get_data(as_text=True)
    assert "Far from the other readings" in html
    assert post(client, batch, sent | {"fills-0-readings-1-sure": "y"}).status_code == 303
    reading = samples.get_samples(bench.db, batch.id)[0].readings[1]
    assert (reading.value, reading.confirmed, reading.counts) == (6510, True, 6510)


def test_it_asks_about_readings_far_from_all_that_the_product_has_shown(bench, sign_in):
    for _ in range(6):
        bench.sample(bench.batch().id, "whole", [56.0, 56.1, 56.0])
    batch, client = bench.batch(), sign_in("roaster")
    sent = form_of(bench, readings=("96.8", "96.8", "96.7"))
    assert "This product has read about 56.0 so far" in post(client, batch, sent).get_data(as_text=True)
    sure = {f"fills-0-readings-{n}-sure": "y" for n in range(3)}
    assert post(client, batch, sent | sure).status_code == 303


def test_it_keeps_a_struck_reading_on_the_record(bench, sign_in):
    batch, client = bench.batch(), sign_in("roaster")
    sent = form_of(bench, readings=("56.1", "65.1", "56.2", "56.1"))
    sent["fills-0-readings-1-void"] = "mistyped"
    assert post(client, batch, sent).status_code == 303
    struck = samples.get_samples(bench.db, batch.id)[0].readings[1]
    assert (struck.value, struck.void_reason, struck.counts) == (6510, "mistyped", None)
    assert results.get_parts(bench.db, batch.id)["whole"].readings == 3


def test_it_refuses_an_empty_form(bench, sign_in):
    batch = bench.batch()
    answer = post(sign_in("roaster"), batch, form_of(bench, readings=()))
    assert "Type at least one reading that counts." in answer.get_data(as_text=True)


def test_it_wants_every_step_ticked(bench, sign_in):
    batch, sent = bench.batch(), form_of(bench)
    del sent["steps-3-done"]
    html = post(sign_in("roaster"), batch, sent).get_data(as_text=True)
    assert "Step 4 is not ticked" in html
    assert "Step 5 is not ticked" not in html


def test_it_refuses_the_short_checklist_to_a_trainee(bench, sign_in):
    batch = bench.batch()
    answer = post(sign_in("trainee"), batch, form_of(bench, checklist="short"))
    assert "The short checklist is for signed-off roasters" in answer.get_data(as_text=True)
    assert "data-switch" not in sign_in("trainee").get(f"/batches/{batch.id}/whole").get_data(as_text=True)
    assert post(sign_in("roaster"), batch, form_of(bench, checklist="short")).status_code == 303
    assert samples.get_samples(bench.db, batch.id)[0].checklist == "short"


def test_it_keeps_the_times_and_notes_of_the_steps(bench, sign_in):
    batch, sent = bench.batch(), form_of(bench)
    sent["steps-2-at"] = "2026-02-03T08:15:00.000Z"
    sent["steps-2-note"] = "22,5"
    post(sign_in("roaster"), batch, sent)
    step = samples.get_samples(bench.db, batch.id)[0].steps[2]
    assert (step.done_at, step.note) == ("2026-02-03T08:15:00.000Z", "22,5")


def test_it_never_believes_a_clock_that_is_ahead(bench, sign_in):
    batch = bench.batch()
    post(sign_in("roaster"), batch, form_of(bench, made_at="2099-01-01T00:00:00.000Z"))
    made = samples.get_samples(bench.db, batch.id)[0]
    assert made.made_at <= made.received_at


def test_it_keeps_both_samples_of_two_tablets_and_shows_it(bench, sign_in):
    batch, client = bench.batch(), sign_in("roaster")
    post(client, batch, form_of(bench))
    post(client, batch, form_of(bench, readings=("56.3", "56.3", "56.2")))
    assert len(samples.get_samples(bench.db, batch.id)) == 2
    shown = client.get(f"/batches/{batch.id}/result").get_data(as_text=True)
    assert "Read 2 times: all readings count together." in shown
    assert "was read already" in client.get(f"/batches/{batch.id}/whole").get_data(as_text=True)


def test_it_takes_a_second_fill(bench, sign_in):
    batch, sent = bench.batch(), form_of(bench)
    sent |= {f"fills-1-readings-{n}-value": text for n, text in enumerate(("56.5", "56.4", "56.5"))}
    assert post(sign_in("roaster"), batch, sent).status_code == 303
    assert results.get_parts(bench.db, batch.id)["whole"].fills == 2


def test_it_lets_a_running_capture_finish_on_its_own_method_version(bench, sign_in):
    batch, sent = bench.batch(), form_of(bench)
    old = bench.versions["whole"]
    methods.add_version(
        bench.db, old.method_id, old.dish, 2, 1, None, old.steps[:3], "shorter", bench.who("lead"), bench.now
    )
    assert post(sign_in("roaster"), batch, sent).status_code == 303
    assert samples.get_samples(bench.db, batch.id)[0].method_version_id == old.id


def test_it_stores_by_the_method_of_the_form_when_the_target_names_another_one_since(bench, sign_in):
    from webapp.store import methods, products
    from webapp.store.products import TargetBand

    batch, sent, lead = bench.batch(), form_of(bench), bench.who("lead")
    old = bench.versions["whole"]
    other = methods.add_method(bench.db, "New way", "whole", "", 2, 1, None, old.steps[:2], lead, bench.now)
    products.add_target_version(
        bench.db, bench.product, bench.scale, "guarded", 0.8, other, None, [TargetBand("whole", 5450, 5600, 5750)],
        "new way", lead, bench.now,
    )  # fmt: skip
    assert post(sign_in("roaster"), batch, sent).status_code == 303
    [made] = samples.get_samples(bench.db, batch.id)
    assert (made.method_version_id, len(made.steps)) == (old.id, len(old.steps))


def test_it_keeps_readings_typed_when_the_session_has_ended(bench, sign_in, client):
    batch = bench.batch()
    answer = post(client, batch, form_of(bench, readings=("56.1", "56,4", "56.1")))
    html = answer.get_data(as_text=True)
    assert "56,4" in html
    assert not samples.get_samples(bench.db, batch.id)


def test_it_shows_a_method_with_a_percent_sign_as_it_is(bench, sign_in):
    old = bench.versions["whole"]
    step = replace(old.steps[0], title="Fill 80 % full", body="Not 100 %s.", caution="%(x)s", note_label="%", why="5 %")
    who = bench.who("lead")
    methods.add_version(bench.db, old.method_id, "90 %", 3, 1, None, [step], "percent", who, bench.now)
    batch, client = bench.batch(), sign_in("roaster")
    html = client.get(f"/batches/{batch.id}/whole").get_data(as_text=True)
    assert "Fill 80 % full" in html
    assert "Not 100 %s." in html


def test_it_refuses_a_batch_code_of_blanks(bench, sign_in):
    sent = {"id": str(uuid.uuid4()), "product": bench.product, "machine": bench.machine, "code": "   "}
    answer = sign_in("roaster").post("/batches/new", data=sent)
    assert answer.status_code == 422
    assert "Give the batch a code." in answer.get_data(as_text=True)


def test_it_takes_the_first_method_of_the_kind_where_the_target_names_none(bench, sign_in):
    product = products.add_product(
        bench.db, "Night Train", "NT", bench.scale, "guarded", 0.8, None, None,
        [TargetBand("ground", None, 6100, 6250)], bench.who("lead"), bench.now,
    )  # fmt: skip
    batch = bench.batch(product=product)
    for kind in ("whole", "ground"):
        page = sign_in("roaster").page(f"/batches/{batch.id}/{kind}")
        [version] = page.find("input", name="method_version")
        assert version.attrs["value"] == bench.versions[kind].id
