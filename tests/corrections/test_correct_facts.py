"""Correcting what was written down of a batch: only what is otherwise, the old in sight, the result follows."""

import re
import uuid
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from tests.corrections.conftest import another_product
from tests.support.roastery import later
from webapp.store import baselines, batch_corrections, batches, ledger, results, trend_states
from webapp.store.times import from_text, to_text


def form_of(client, batch):
    """What the form holds when it is opened: field -> value."""
    html = client.get(f"/batches/{batch.id}/facts").get_data(as_text=True)
    fields = {}
    for tag in re.findall(r"<input[^>]*>", html):
        attributes = dict(re.findall(r'(\w+)="([^"]*)"', tag))
        if attributes.get("type") != "radio" or "checked" in tag:
            fields[attributes.get("name")] = attributes.get("value", "")
    note = re.search(r'<textarea[^>]*name="note"[^>]*>\s*([^<]*)</textarea>', html)
    return fields | {"note": note[1]}


@pytest.fixture
def correct(sign_in):
    """correct(batch, role, field=value ...) opens the form, changes fields, and sends it."""

    def made(batch, role="roaster", **changes):
        client = sign_in(role)
        return client.post(f"/batches/{batch.id}/facts", data=form_of(client, batch) | {"reason": "Misread."} | changes)

    return made


def sound(bench):
    assert results.rebuild(bench.db) == []
    assert list(ledger.faults(bench.db)) == []


def test_it_stores_only_what_is_otherwise(bench, correct):
    batch = bench.batch("A-1")
    assert correct(batch, roasted="10,3", lot="Lot 9").status_code == 303
    [made] = batch_corrections.list_batch_corrections(bench.db, batch.id)
    assert [(c.fact, c.before, c.after) for c in made.facts] == [("lot", "Lot 1", "Lot 9"), ("roasted_g", 10200, 10300)]
    there = batches.get_batch(bench.db, batch.id)
    assert (there.lot, there.roasted_g, there.green_g, there.roasted_at) == ("Lot 9", 10300, 12000, batch.roasted_at)
    sound(bench)


def test_it_shows_what_stood_before_with_who_when_and_why(bench, correct, sign_in):
    batch = bench.batch("A-1")
    correct(batch, lot="Lot 9", note="It smoked.", drop="", reason="Copied from the line above")
    correct(batch, lot="Lot 8")
    html = sign_in("trainee").get(f"/batches/{batch.id}").get_data(as_text=True)
    assert '<span class="struck">Lot 1</span> <span class="struck">Lot 9</span> Lot 8' in html
    assert '<span class="struck">205 °C</span> –' in html
    assert "It smoked." in html
    assert "Corrected by Ravi" in html
    assert "Copied from the line above" in html
    assert "batch corrected" in html
    assert "batch follows its correction" in html
    # Nothing of the result is another one for that.
    assert "data-changed" not in html


def test_it_says_that_nothing_is_otherwise(bench, correct, everything):
    batch = bench.batch("A-1", at=bench.now.replace(second=37, microsecond=421000))
    before = everything()
    for role in ("roaster", "lead"):
        said = correct(batch, role)
        assert said.status_code == 422
        assert "Nothing is different here: the batch stands as it was." in said.get_data(as_text=True)
    assert everything() == before


def test_it_takes_the_ends_of_lines_for_the_same(bench, correct):
    """A tablet sends them as its own, a browser's form as RFC 2046 lines."""
    batch = bench.batch("A-1")
    correct(batch, note="one\ntwo")
    assert correct(batch, note="one\r\ntwo").status_code == 422


@pytest.mark.parametrize(
    ("field", "text", "message"),
    [
        ("roasted", "12.5", "Roasted coffee cannot weigh more than the green it came from."),
        ("development", "12:30", "The development cannot be longer than the whole roast."),
        ("green", "twelve", "This is not a number. Type it like 12.35."),
        ("drop", "999", "Type the temperature in degrees Celsius"),
        ("reason", " ", "Give the reason."),
        ("code", "A-2", "Batch A-2 is there already: Lantern House"),
        ("code", "", "Give the batch a code."),
        ("day", "2999-01-01", "This time is still to come."),
        ("day", "1900-01-01", "Check the year of this day."),
        ("day", "yesterday", "Not a valid date value."),
        ("product", "gone", "Not a valid choice."),
    ],
)
def test_it_refuses_what_a_new_batch_would_be_refused_for(bench, correct, everything, field, text, message):
    """In the same words, with what was typed still there."""
    bench.batch("A-2")
    batch = bench.batch("A-1")
    before = everything()
    said = correct(batch, "lead", **{"lot": "Lot 9"} | {field: text})
    html = said.get_data(as_text=True)
    assert said.status_code == 422
    assert message in html
    assert 'value="Lot 9"' in html
    assert everything() == before


def test_it_lets_two_batches_with_one_code_be_told_apart(bench, correct):
    """Two tablets without a network chose the same; each other fact can still be corrected."""
    first, second = bench.batch("A-1"), bench.batch("A-1")
    assert correct(first, "lead", lot="Lot 9").status_code == 303
    assert correct(second, "lead", code="A-2").status_code == 303
    assert [b.id for b in batches.find_by_code(bench.db, "A-1")] == [first.id]
    assert [b.id for b in batches.find_by_code(bench.db, "A-2")] == [second.id]


def test_it_leaves_code_product_machine_and_time_to_a_lead(bench, correct, sign_in, everything):
    batch, harbour = bench.batch("A-1"), another_product(bench)
    assert {"code", "product", "machine", "day", "clock"} & set(form_of(sign_in("roaster"), batch)) == set()
    before = everything()
    for field, value in (("code", "A-9"), ("product", harbour), ("machine", bench.machine), ("day", "2026-05-01"),
                         ("clock", "06:00")):  # fmt: skip
        said = correct(batch, lot="Lot 9", **{field: value})
        assert said.status_code == 422
        assert "are a lead’s to correct. Nothing was stored." in said.get_data(as_text=True)
    assert everything() == before
    sent = form_of(sign_in("roaster"), batch) | {"lot": "Lot 9", "reason": "Misread."}
    assert sign_in("trainee").get(f"/batches/{batch.id}/facts").status_code == 403
    assert sign_in("trainee").post(f"/batches/{batch.id}/facts", data=sent).status_code == 403
    assert correct(batch, "lead", code="A-9", product=harbour).status_code == 303
    assert batches.get_batch(bench.db, batch.id).product_name == "Harbour"


def test_it_judges_by_the_other_products_target(bench, correct, sign_in):
    harbour, batch = another_product(bench), bench.batch("A-1", at=bench.now - timedelta(minutes=20))
    bench.sample(batch.id, "whole", [46.0, 46.1, 46.0])
    bench.sample(batch.id, "ground", [51.0, 51.1, 51.0])
    assert results.get_batch_result(bench.db, batch.id).verdict == "outside"
    assert correct(batch, "lead", product=harbour, reason="Wrong button").status_code == 303
    assert results.get_batch_result(bench.db, batch.id).verdict == "inside"
    html = sign_in("roaster").get(f"/batches/{batch.id}/result").get_data(as_text=True)
    assert "Changed by a correction on" in html
    assert "The roast’s facts were corrected. Ada: “Wrong button”" in html
    assert "Whole bean: was 46.0, out; now 46.0, in band." in html
    page = sign_in("roaster").get(f"/batches/{batch.id}").get_data(as_text=True)
    assert '<span class="struck">Lantern House</span> Harbour' in page
    assert trend_states.find_state(bench.db, bench.product, "whole") is None
    assert trend_states.find_state(bench.db, harbour, "whole").last_batch_id == batch.id
    sound(bench)


def test_it_puts_a_batch_in_its_place_when_the_time_of_its_roast_is_corrected(bench, correct):
    """Another day, another place in its product's run."""
    first, second = (bench.batch(f"A-{no}", at=bench.now - timedelta(hours=30 - no)) for no in range(2))
    for batch, value in ((first, 56.0), (second, 56.4)):
        bench.sample(batch.id, "whole", [value] * 3, at=bench.now - timedelta(hours=1))
    assert trend_states.find_state(bench.db, bench.product, "whole").last_batch_id == second.id
    site = from_text(first.roasted_at) + timedelta(hours=28)
    local = site.astimezone(ZoneInfo("Europe/Vienna"))
    done = correct(first, "lead", day=local.date().isoformat(), clock=f"{local:%H:%M}")
    assert done.status_code == 303
    there = batches.get_batch(bench.db, first.id)
    assert there.roasted_at == to_text(site.replace(second=0, microsecond=0))
    assert there.day == local.date().isoformat()
    assert trend_states.find_state(bench.db, bench.product, "whole").last_batch_id == first.id
    sound(bench)


def test_it_says_so_when_somebody_else_was_quicker_and_undoes_nothing(bench, sign_in):
    """Both opened the form; the second one's untouched mass must not bring back the old one."""
    batch, client = bench.batch("A-1"), sign_in("roaster")
    opened = form_of(client, batch)
    lead = bench.who("lead")
    batch_corrections.add_batch_correction(
        bench.db, "c-1", batch.id, {"roasted_g": 10300, "lot": "Lot 5"}, "Weighed again.", lead, bench.now
    )
    said = client.post(f"/batches/{batch.id}/facts", data=opened | {"reason": "Misread.", "lot": "Lot 9"})
    html = said.get_data(as_text=True)
    assert said.status_code == 422
    assert "Ada corrected this batch meanwhile." in html
    assert 'name="roasted"' in html
    assert 'value="10.3"' in html
    assert 'value="Lot 9"' in html
    assert 'value="c-1"' in html
    again = opened | {"reason": "Misread.", "lot": "Lot 9", "roasted": "10.3", "seen": "c-1"}
    assert client.post(f"/batches/{batch.id}/facts", data=again).status_code == 303
    there = batches.get_batch(bench.db, batch.id)
    assert (there.roasted_g, there.lot) == (10300, "Lot 9")


def test_it_stores_one_correction_however_often_it_is_sent(bench, sign_in):
    batch, client = bench.batch("A-1"), sign_in("roaster")
    sent = form_of(client, batch) | {"reason": "Misread.", "lot": "Lot 9"}
    for _twice in range(2):
        assert client.post(f"/batches/{batch.id}/facts", data=sent).status_code == 303
    assert len(batch_corrections.list_batch_corrections(bench.db, batch.id)) == 1
    assert client.post(f"/batches/{batch.id}/facts", data=sent | {"reason": "Other."}).status_code == 409


def test_it_refuses_a_fact_that_is_none(bench):
    """The day follows from the time; nothing else of a batch can be corrected."""
    batch = bench.batch("A-1")
    for fact in ("day", "made_at", "person_id"):
        with pytest.raises(ValueError, match="no such fact"):
            batch_corrections.add_batch_correction(
                bench.db, str(uuid.uuid4()), batch.id, {fact: "x"}, "So.", bench.who(), bench.now
            )


def test_it_keeps_frozen_limits_true_that_begin_with_a_batch_of_another_product_by_now(bench):
    """The batch a baseline begins with became another product's, and then its time was corrected as well."""
    made = [bench.batch(f"A-{no:02}", at=bench.now - timedelta(hours=40 - no)) for no in range(22)]
    for batch in made:
        bench.sample(batch.id, "whole", [56.0] * 3, at=from_text(batch.roasted_at))
    place = baselines.Place(bench.product, "whole", bench.scale, bench.versions["whole"].id)
    limits = baselines.Frozen(made[0].id, made[19].id, 20, 56.0, 0.2)
    baselines.add_baseline(bench.db, baselines.NewBaseline("l-1", place, limits, "Steady."), bench.who("lead"),
                           bench.now)  # fmt: skip
    harbour, lead = another_product(bench), bench.who("lead")
    facts = [{"product_id": harbour}, {"roasted_at": to_text(later(bench.now, hours=-2))}]
    for no, fact in enumerate(facts):
        seen = batch_corrections.newest_id(bench.db, made[0].id)
        batch_corrections.add_batch_correction(bench.db, f"c-{no}", made[0].id, fact, "So.", lead, bench.now, seen)
        sound(bench)
