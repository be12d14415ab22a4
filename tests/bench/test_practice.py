"""Practice: as a sample in everything but one thing. Nothing of it is stored, whatever somebody sends."""

import re
import uuid

import pytest
from sqlite_utils.utils import sqlite3

from tests.support.outbox import Outbox, new_id
from tests.support.practising import everything, path_of
from webapp import measure
from webapp.bench import practice
from webapp.store import gear, methods, samples, times
from webapp.store.connect import read_only, write
from webapp.store.times import to_text

PROBLEMS = r'<div class="problems".*?</div>'
SEED = "practice-00000000000000{:02x}"


def form_of(bench, kind="whole", readings=(("56.1", "56.4", "56.1"),), **changes):
    version = bench.versions[kind]
    sent = {
        "id": SEED.format(1), "made_at": to_text(bench.now), "method_version": version.id, "checklist": "walked",
        "meter": bench.meter, "note": "",
    }  # fmt: skip
    sent |= {f"steps-{index}-done": "y" for index in range(len(version.steps))}
    for fill, row in enumerate(readings):
        sent |= {f"fills-{fill}-readings-{index}-value": text for index, text in enumerate(row)}
    return sent | changes


def text_of(answer):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.get_data(as_text=True)))


def shown(html):
    """What the practice meter shows, fill by fill."""
    boxes = re.findall(r'<div class="practice-meter">(.*?)</div>', html, re.DOTALL)
    return [re.findall(r'<strong class="num">([^<]+)</strong>', box) for box in boxes]


def number_of(html):
    return re.search(r'name="id" type="hidden" value="([^"]+)"', html)[1]


# Nothing is stored

@pytest.mark.parametrize("role", ["trainee", "roaster", "lead"])
def test_it_stores_nothing_from_the_choice_to_the_answer(bench, sign_in, role):
    bench.sample(bench.batch().id, "whole", [56.0, 56.1, 56.0])
    client, before = sign_in(role), everything(bench.db)
    assert client.get("/practice").status_code == 200
    for kind in ("whole", "ground"):
        for dish in ("invented", "own"):
            path = path_of(bench, kind, dish)
            assert client.get(path).status_code == 200
            assert client.post(path, data=form_of(bench, kind, readings=(("56", "x"),))).status_code == 422
            assert client.post(path, data=form_of(bench, kind)).status_code == 200
    assert everything(bench.db) == before


@pytest.mark.parametrize("changes", [
    {"id": "uuid"}, {"id": ""}, {"id": "practice-"}, {"batch_id": "batch"}, {"id": "uuid", "sample_kind": "ground"},
    {"next": "result"}, {"next": "strip"}, {"action": "/records"}, {"practice": ""},
])  # fmt: skip
def test_it_stores_nothing_whatever_field_is_changed(bench, sign_in, changes):
    """Where a form goes is its address; no field of it decides that, and the number of a real sample does neither."""
    batch, client = bench.batch(), sign_in("roaster")
    real = bench.sample(batch.id, "whole", [56.0, 56.1, 56.0])
    before = everything(bench.db)
    ids = {"uuid": (new_id(), real.id), "batch": (batch.id,)}
    for value in ids.get(next(iter(changes.values())), (None,)):
        sent = form_of(bench, **{k: value if v in ids else v for k, v in changes.items()})
        answer = client.post(f"{path_of(bench)}&batch_id={batch.id}&id={real.id}", data=sent)
        assert answer.status_code == 200
        assert "Nothing here is stored." in answer.get_data(as_text=True)
    assert everything(bench.db) == before


def test_it_is_refused_as_a_sample_of_a_batch(bench, sign_in):
    """The form as it stands, sent to a real batch's address: its number is no sample's."""
    batch, client = bench.batch(), sign_in("roaster")
    before = everything(bench.db)
    answer = client.post(f"/batches/{batch.id}/whole", data=form_of(bench))
    assert answer.status_code == 422
    assert "This form makes no sample." in text_of(answer)
    assert everything(bench.db) == before


def test_it_is_refused_as_a_record_of_an_outbox(bench, sign_in):
    """Once with its own number and once in an envelope with a good one: the form's number must be the record's."""
    batch, outbox = bench.batch(), Outbox(sign_in("roaster"))
    before, form = everything(bench.db), form_of(bench)
    around = {
        "kind": "sample", "person_id": bench.people["roaster"], "claim_id": None, "made_at": to_text(bench.now),
        "seq": 1, "batch_id": batch.id, "sample_kind": "whole", "form": form,
    }  # fmt: skip
    for id in (form["id"], new_id()):
        [result] = outbox.post([around | {"id": id}]).get_json()["results"]
        assert (result["status"], result["error"]) == (422, "invalid")
    # And no batch can be meant that does not exist.
    invented = around | {"id": new_id(), "batch_id": practice.NOTHING}
    assert outbox.post([invented]).get_json()["results"][0]["status"] == 422
    assert everything(bench.db) == before


def test_it_works_where_the_database_itself_refuses_to_write(bench, db):
    """What the views run in: not even a function of the store could write there."""
    with read_only(db), pytest.raises(sqlite3.OperationalError, match="readonly"), write(db):
        db.conn.execute("DELETE FROM session")
    batch = bench.batch()
    bench.sample(batch.id, "whole", [56.0, 56.1, 56.0])
    assert len(samples.get_samples(db, batch.id)) == 1


def test_it_lets_the_next_request_write_after_a_failure(bench, sign_in, monkeypatch):
    client, batch = sign_in("roaster"), bench.batch()

    def broken(*_args):
        raise RuntimeError("broken")

    monkeypatch.setattr(practice, "gather", broken)
    with pytest.raises(RuntimeError):
        client.get("/practice/sample")
    sent = form_of(bench, id=str(uuid.uuid4()))
    assert client.post(f"/batches/{batch.id}/whole", data=sent).status_code == 303


def test_it_reaches_no_kit(bench, sign_in):
    client = sign_in("roaster")
    before = client.get("/kit").get_json()
    client.post(path_of(bench), data=form_of(bench))
    after = client.get("/kit").get_json()
    assert before.keys() == after.keys()
    # A meter's time of reckoning moves on with the clock; everything else is as it was.
    for part in before.keys() - {"made_at"}:
        assert before[part] == after[part], part


def test_it_wants_the_form_token_as_every_form_does(app, bench, sign_in):
    client = sign_in("trainee")
    app.config["WTF_CSRF_ENABLED"] = True
    assert client.post(path_of(bench), data=form_of(bench)).status_code == 400
    assert 'name="csrf_token"' in client.get(path_of(bench)).get_data(as_text=True)


# The same as a sample

def test_it_is_marked_as_practice_and_leads_nowhere_else(bench, sign_in):
    client = sign_in("trainee")
    for path in ("/practice", path_of(bench), path_of(bench, dish="invented")):
        html = client.get(path).get_data(as_text=True)
        assert '<body class="practice"' in html
        assert "<strong>Practice.</strong> Nothing here is stored." in html
        # Nothing for the scripts that keep drafts and fill the outbox, and no way to a batch.
        assert 'data-module="capture"' not in html
        assert not re.search(r"data-(draft|record|about|stored=)|/batches/", html.split("<main")[1].split("</main>")[0])


def test_it_asks_and_refuses_as_the_real_form_and_keeps_what_was_typed(bench, sign_in):
    batch, client = bench.batch(), sign_in("trainee")
    for readings in ((("56.1", "562", "56.1"),), (("56.1", "57.9", "56.2"),), (("56.1",),), ((),)):
        sent = form_of(bench, readings=readings)
        own = client.post(path_of(bench), data=sent)
        real = client.post(f"/batches/{batch.id}/whole", data=sent | {"id": str(uuid.uuid4())})
        said = [re.search(PROBLEMS, answer.get_data(as_text=True), re.DOTALL)[0] for answer in (own, real)]
        assert said[0] == said[1]
        kept = re.findall(r'name="fills-0-readings-\d+-value" value="([^"]+)"', own.get_data(as_text=True))
        assert kept == list(readings[0])
        assert number_of(own.get_data(as_text=True)) == sent["id"]


def test_it_wants_every_step_and_no_short_checklist_of_a_trainee(bench, sign_in):
    sent = form_of(bench, checklist="short")
    del sent["steps-2-done"]
    text = text_of(sign_in("trainee").post(path_of(bench), data=sent))
    assert "Step 3 is not ticked" in text
    assert "The short checklist is for signed-off roasters" in text
    assert "You ticked the short checklist." in text_of(
        sign_in("roaster").post(path_of(bench), data=form_of(bench, checklist="short"))
    )


def test_it_works_out_mean_range_limit_and_give_or_take_as_everywhere(bench, sign_in):
    """Against the pure layer, whose own checks are in tests/outside (ISO 5725-6, JCGM 100)."""
    text = text_of(sign_in("trainee").post(path_of(bench), data=form_of(bench)))
    page = practice.gather(bench.db, {"method": bench.methods["whole"], "meter": bench.meter, "dish": "own"}, "", "",
                           times.now())  # fmt: skip
    fill = measure.fill_value([56.1, 56.4, 56.1], 3, page.sigmas.sigma_r, 0.1)
    result = measure.sample_result([fill], page.sigmas, 0.1, page.u_meter)
    assert f"give or take {measure.show_give_or_take(result.U, 0.1)}" in text
    assert "Fill 1: 56.1, 56.4, 56.1. Mean 56.2, range 0.3, and" in text
    assert "they agree." in text
    assert "practice does not know the coffee" in text
    assert "You walked the steps one by one." in text


def test_it_says_which_reading_disagreed_and_that_fills_differ(bench, sign_in):
    rows = (("56.1", "58.0", "56.2", "56.1"), ("60.1", "60.2", "60.1"))
    text = text_of(sign_in("trainee").post(path_of(bench), data=form_of(bench, readings=rows)))
    assert "they disagree. Reading 2 lies farthest from the others" in text
    assert "Middle value 56.2, range 1.9" in text
    assert "they differ by more than usual." in text
    one = text_of(sign_in("trainee").post(path_of(bench), data=form_of(bench)))
    assert "One fill says nothing about the next dish." in one


def test_it_keeps_apart_what_was_ground_at_another_setting(bench, sign_in):
    other = gear.add_grinder_setting(bench.db, bench.grinder, "9", bench.who("lead"), bench.now)
    path = path_of(bench, "ground", "invented")
    text = text_of(sign_in("trainee").post(path, data=form_of(bench, "ground", setting=other)))
    assert "Ground at 9" in text
    assert "Not judged" in text


def test_it_finishes_on_the_version_that_it_was_opened_with(bench, sign_in):
    old, lead = bench.versions["whole"], bench.who("lead")
    methods.add_version(bench.db, old.method_id, old.dish, 2, 1, None, old.steps[:2], "shorter", lead, bench.now)
    assert sign_in("trainee").post(path_of(bench), data=form_of(bench)).status_code == 200


# The practice meter

def test_it_shows_the_same_invented_numbers_until_the_answer(bench, sign_in):
    client, path = sign_in("trainee"), path_of(bench, dish="invented")
    html = client.get(path).get_data(as_text=True)
    numbers = shown(html)
    # Three readings planned and one more if they disagree (ISO 5725-6, 5.2), for each of four fills.
    assert [len(row) for row in numbers] == [4, 4, 4, 4]
    wrong = form_of(bench, readings=((*numbers[0][:2], "x"),), id=number_of(html))
    assert shown(client.post(path, data=wrong).get_data(as_text=True)) == numbers
    text = text_of(client.post(path, data=form_of(bench, readings=(numbers[0],), id=number_of(html))))
    assert "you typed" not in text
    assert "The dish and its band are invented." in text
    assert re.search(r"In band|Out,|Too close to call", text)
    assert shown(client.get(path).get_data(as_text=True)) != numbers


def test_it_says_where_another_number_was_typed_than_was_shown(bench, sign_in):
    client, path = sign_in("trainee"), path_of(bench, dish="invented")
    html = client.get(path).get_data(as_text=True)
    row = shown(html)[0]
    other = measure.show_value(float(row[1]) + 0.1, 0.1)
    text = text_of(client.post(path, data=form_of(bench, readings=((row[0], other, *row[2:]),), id=number_of(html))))
    assert f"Fill 1, reading 2: you typed {other}, the practice meter showed {row[1]}." in text


@pytest.mark.parametrize("kind", ["whole", "ground"])
def test_it_invents_dishes_as_a_bench_knows_them(bench, kind):
    """Over sixty dishes: on the scale and its step, in band and out on both sides, and now and then readings that
    disagree. Our own convention, no source."""
    found, odd = set(), 0
    for no in range(60):
        page = practice.gather(bench.db, {"method": bench.methods[kind]}, SEED.format(no), "", times.now())
        rows = [[float(text) for text in row] for row in page.practice.shows]
        scale = page.meter.scale
        for value in (value for row in rows for value in row):
            assert scale.lower <= 100 * value <= scale.upper
            assert round(100 * value) % scale.step == 0
        band = page.band.in_units()
        assert band.lower < band.centre < band.upper
        mean = measure.mean(rows[1][:3])
        found.add((mean < band.lower) - (mean > band.upper))
        odd += measure.fill_value(rows[0][:3], 3, page.sigmas.sigma_r, page.step).state != "agree"
        assert page.kit()
    assert found == {-1, 0, 1}
    assert 5 < odd < 40


# Where it is found

def test_it_is_linked_from_ones_own_page_and_for_a_trainee_from_a_new_batch(sign_in):
    for role, offered in (("trainee", True), ("roaster", False)):
        client = sign_in(role)
        assert 'href="/practice"' in client.get("/me").get_data(as_text=True)
        assert ('href="/practice"' in client.get("/batches/new").get_data(as_text=True)) is offered


def test_it_says_what_is_missing_on_an_empty_bench(bench, sign_in):
    for kind in ("whole", "ground"):
        methods_of = bench.methods[kind]
        gear.retire(bench.db, "method", methods_of, bench.who("lead"), bench.now)
    for path in ("/practice", "/practice/sample"):
        assert "The bench is not set up yet" in text_of(sign_in("trainee").get(path))
