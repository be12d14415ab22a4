"""Starting a batch: what is taken, what is refused in plain words, and that it is stored once."""

import uuid
from datetime import timedelta

import pytest

from webapp.store import batches
from webapp.store.times import local_day
from webapp.ui.filters import ZoneInfo


def form_of(bench, **changes):
    local = bench.now.astimezone(ZoneInfo("Europe/Vienna"))
    sent = {
        "id": str(uuid.uuid4()), "product": bench.product, "machine": bench.machine, "code": "K-17", "lot": "Lot 3",
        "day": local.date().isoformat(), "clock": local.strftime("%H:%M"), "green": "12,0", "roasted": "10.2",
        "drop": "", "total": "", "development": "", "note": "",
    }  # fmt: skip
    return sent | changes


def stored(bench):
    return list(bench.db.query("SELECT * FROM batch"))


def test_it_stores_the_batch_and_goes_on_to_the_whole_bean(bench, sign_in):
    sent = form_of(bench, drop="204,5", total="11:30", development="1:45")
    answer = sign_in("trainee").post("/batches/new", data=sent)
    assert (answer.status_code, answer.location) == (303, f"/batches/{sent['id']}/whole")
    [row] = stored(bench)
    facts = ("green_g", "roasted_g", "drop_decicelsius", "total_s", "development_s")
    assert [row[name] for name in facts] == [12000, 10200, 2045, 690, 105]
    assert batches.get_batch(bench.db, sent["id"]).roast_loss == pytest.approx(15.0)


def test_it_stores_a_form_posted_twice_once(bench, sign_in):
    sent, client = form_of(bench), sign_in("roaster")
    for _ in range(2):
        assert client.post("/batches/new", data=sent).status_code == 303
    assert len(stored(bench)) == 1


def test_it_goes_to_ground_first_when_asked(bench, sign_in):
    answer = sign_in("roaster").post("/batches/new", data=form_of(bench, next="ground"))
    assert answer.location.endswith("/ground")


def test_it_proposes_date_and_running_number(bench, sign_in):
    day = local_day(bench.now, "Europe/Vienna")
    stem = day[5:7] + day[8:10]
    bench.batch(f"{stem}-01")
    page = sign_in("roaster").page("/batches/new")
    assert page.find("input", name="code")[0].attrs["value"] == f"{stem}-02"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"product": ""}, "Choose the product."),
        ({"machine": ""}, "Choose the machine."),
        ({"code": ""}, "Give the batch a code."),
        ({"code": "  "}, "Give the batch a code."),
        ({"day": "0001-01-01"}, "Check the year"),
        ({"roasted": "13"}, "cannot weigh more"),
        ({"green": "zwölf"}, ""),
        ({"green": "1.234,5"}, ""),
        ({"drop": "6e2"}, ""),
        ({"total": "11:75"}, ""),
        ({"total": "9:00", "development": "9:30"}, "cannot be longer"),
        ({"day": "2031-01-01"}, "still to come"),
        ({"day": "yesterday"}, ""),
        ({"note": "bell \x07"}, "cannot be shown"),
    ],
)
def test_it_refuses_in_plain_words_and_keeps_what_was_typed(bench, sign_in, changes, words):
    sent = form_of(bench, **changes)
    answer = sign_in("roaster").post("/batches/new", data=sent)
    text = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "Please look at this again" in text
    assert words in text
    assert "<title>Error: " in text
    for name in ("code", "lot", "green", "roasted", "drop", "total", "development"):
        if sent[name].strip():
            assert f'value="{sent[name]}"' in text, name
    assert not stored(bench)


def test_it_says_where_a_code_is_already_used(bench, sign_in):
    bench.batch("K-17")
    answer = sign_in("roaster").post("/batches/new", data=form_of(bench))
    assert "Batch K-17 is there already: Lantern House" in answer.get_data(as_text=True)
    assert len(stored(bench)) == 1


def test_it_says_what_is_missing_on_an_empty_bench(bench, sign_in):
    bench.db.conn.execute("UPDATE machine SET active = 0")
    assert "not set up yet" in sign_in("roaster").get("/batches/new").get_data(as_text=True)


def test_it_puts_a_batch_into_the_sites_own_day(bench):
    midnight = bench.now.replace(hour=22, minute=30) - timedelta(days=1)
    batch = bench.batch(at=midnight)
    assert batch.day == local_day(midnight, "Europe/Vienna")
