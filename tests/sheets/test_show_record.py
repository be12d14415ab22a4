"""The record of a batch: everything that was read, how, by whom, what it came to, and what was corrected."""

from __future__ import annotations

import re
import uuid

import pytest

from tests.sheets.conftest import text_of
from tests.support.roastery import later
from webapp.store import corrections, ledger, products, results
from webapp.store.connect import write
from webapp.store.products import TargetBand


@pytest.fixture
def record(sign_in):
    return lambda batch_id, role="trainee": sign_in(role).page(f"/batches/{batch_id}/record")


@pytest.fixture
def read(bench):
    """A batch that was read as usual: two samples, two fills and one."""
    bench.check([60.1, 60.0, 60.1], at=later(bench.now, minutes=-30))
    batch = bench.batch("R-1")
    bench.sample(batch.id, "whole", [56.2, 56.3, 56.1], [56.4, 56.2, 56.3])
    bench.sample(batch.id, "ground", [61.0, 61.2, 61.1], at=later(bench.now, minutes=4))
    return batch


def test_it_tells_how_a_batch_was_read_and_what_it_came_to(record, bench, made, read):
    made.decide(read.id, "release", "as ever", "roaster")
    text = text_of(record(read.id))
    for said in (
        "Batch R-1, Lantern House", "In band.", "Machine 1", "Lot 1", "12.0 kg", "10.2 kg", "15.0 %", "205 °C", "11:30",
        "Meter A", "Plate 1, 60.0 ± 0.2", "Grinder 1, 7", "walked step by step", "version 1",
        "Ravi, Bench tablet", "Released", "“as ever”", "it read: In band", "Targets, version 1",
    ):  # fmt: skip
        assert said in text, said
    # JCGM 100:2008, 6.2.1 and 6.3.3: U = k u, k = 2 for about 95 %.
    assert "k = 2 (JCGM 100)" in text
    # JCGM 106:2012, 8.3.3: a guarded rule, with the confidence that the targets ask for.
    assert "Guarded rule (JCGM 106): in band or out is said from a chance of 80 % on." in text


def test_it_shows_terms_that_add_up_to_the_give_or_take(record, read, bench):
    """Law of propagation (JCGM 100:2008, 5.1.2) for independent terms: u² is their sum; with k = 2 U is twice u."""
    text = text_of(record(read.id))
    found = re.findall(r"u² = ([\d. +]+) \(fills.*?u = ([\d.]+), U = 2u = ([\d.]+)", text)
    assert len(found) == 3
    for terms, u, U in found:
        assert sum(map(float, terms.split(" + "))) ** 0.5 == pytest.approx(float(u), abs=5e-4)
        assert float(U) == pytest.approx(2 * float(u), abs=2e-3)
    # Readings 56.2, 56.3, 56.1 and 56.4, 56.2, 56.3: the mean of two fills' means, by hand.
    assert results.get_parts(bench.db, read.id)["whole"].value == pytest.approx(56.25)
    assert "56.2 ± " in text
    assert "mean 56.20" in text
    assert "mean 56.30" in text


def test_it_shows_every_reading_and_strikes_through_what_does_not_count(record, bench, read):
    sample = next(bench.db.query("SELECT id FROM sample WHERE kind = 'ground'"))["id"]
    for value, reason in ((6110, "Read the wrong digit."), (None, "Meter moved after all.")):
        corrections.add_correction(
            bench.db, str(uuid.uuid4()), sample, 1, 2, value, reason, bench.who("lead"), bench.now
        )
    page = record(read.id)
    struck = [element.text for element in page.find("del")]
    assert [text for text in struck if re.fullmatch(r"[0-9.]+", text)] == ["61.2", "61.1"]
    # The rest is what the corrections changed: it says what stood before them.
    assert all("61.1" in text or "61.0" in text for text in struck[2:])
    text = text_of(page)
    assert "fill 1, reading 2: corrected, Ada" in text
    assert "fill 1, reading 2: voided, Ada" in text
    assert "“Read the wrong digit.”" in text
    assert "“Meter moved after all.”" in text
    assert "mean 61.05" in text


def test_it_tells_of_the_meters_last_check_before_each_sample(record, bench):
    batch = bench.batch("C-1")
    bench.sample(batch.id, "whole", [56.2, 56.3, 56.1], at=later(bench.now, minutes=-50))
    bench.check([60.1, 60.0, 60.1], at=later(bench.now, minutes=-40))
    bench.sample(batch.id, "ground", [61.0, 61.2, 61.1], at=later(bench.now, minutes=-30))
    bench.check([60.5, 60.4, 60.6], [60.0, 60.1, 60.0], at=later(bench.now, minutes=-20))
    bench.sample(batch.id, "whole", [56.2, 56.3, 56.1], at=later(bench.now, minutes=-10))
    page = record(batch.id)
    said = [e.text for e in page.find("dd") if "as found" in e.text or "before this sample" in e.text]
    # Deviations from the plate's 60.0 by hand: (0.1 + 0.0 + 0.1) / 3, (0.5 + 0.4 + 0.6) / 3, (0.0 + 0.1 + 0.0) / 3.
    assert said[0] == "none before this sample"
    assert said[1].startswith("passed: +0.07 as found, 0.2 allowed (Ravi, ")
    assert said[2].startswith("failed, adjusted: +0.50 as found, +0.03 as left, 0.2 allowed (Ravi, ")
    assert "the check after this reading failed" in text_of(page)


def test_it_names_the_newest_ledger_line_about_the_batch_and_of_all(record, bench, made, read):
    made.decide(read.id, "release")
    about = ledger.history(bench.db, "decision", next(bench.db.query("SELECT id FROM decision"))["id"])[-1]
    bench.batch("later")
    head = ledger.head(bench.db)
    text = text_of(record(read.id))
    assert about["hash"] in text
    # What the command `check` prints, too: the newest line of the chain.
    assert head[1] in text
    assert head[1] != about["hash"]
    assert "4 ledger lines are about this batch" in text


def test_it_shows_what_was_corrected_with_who_and_why(record, made):
    batch = made.everything()
    page = record(batch.id)
    text = text_of(page)
    for said in (
        "Ground: moved out: W-1 W-2", "“wordmovereason”", "Drop temperature: 205 °C 211.1 °C",
        "Green lot: wordlot wordlotafter", "Result, after a reading was corrected: Too close to call, whole bean 56.5 "
        "In band, whole bean 56.2", "Countersigned, wordroastername", "“wordcountersignnote”", "wordleadname (lead)",
        "for wordcustomer", "wordtraineename (trainee), wordtablet",
    ):  # fmt: skip
        assert said in text, said
    struck = [element.text for element in page.find("del")]
    assert {"W-1", "205 °C", "wordlot", "91.3", "On hold"} <= set(struck)
    assert "Released by concession" not in struck
    newest = max(line["seq"] for line in made.db.query("SELECT seq FROM ledger WHERE kind = 'decision'"))
    assert f"the newest one: {newest}," in text


def test_it_tells_a_batch_that_a_sample_came_from(record, made):
    made.everything()
    other = next(made.db.query("SELECT id FROM batch WHERE code = 'W-2'"))["id"]
    assert "Ground: moved here: W-1 W-2" in text_of(record(other))


def test_it_says_that_nothing_was_read(record, bench):
    text = text_of(record(bench.batch("N-1").id))
    assert "Not read yet" in text
    assert "Nothing of this batch has been read." in text
    assert "Nothing was decided yet." in text


def test_it_says_what_is_missing_where_one_kind_was_read(record, bench):
    batch = bench.batch("K-1")
    bench.sample(batch.id, "ground", [61.0, 61.2, 61.1])
    page = record(batch.id)
    assert "Still to read: whole bean." in text_of(page)
    assert [e.text for e in page.find("h3")] == ["Ground", "Ground, " + page.find("h3")[1].text[-5:]]


def test_it_judges_nothing_without_a_target(record, bench):
    product = products.add_product(
        bench.db, "No bands", "NB", bench.scale, "guarded", 0.8, None, None, [], bench.who("lead"), bench.now
    )
    batch = bench.batch("T-1", product=product)
    bench.sample(batch.id, "whole", [56.2, 56.3, 56.1])
    text = text_of(record(batch.id))
    assert "No target" in text
    assert "Chance of being in band" not in text
    assert "JCGM 106" not in text


def test_it_names_the_simple_rule_and_a_single_limit(record, bench):
    product = products.add_product(
        bench.db, "Simple", "SI", bench.scale, "simple", 0.8, None, None, [TargetBand("whole", 5450, 5600, None)],
        bench.who("lead"), bench.now,
    )  # fmt: skip
    batch = bench.batch("S-1", product=product)
    bench.sample(batch.id, "whole", [56.2, 56.3, 56.1], at=later(bench.now, minutes=1))
    text = text_of(record(batch.id))
    assert "Simple rule (JCGM 106)" in text
    assert "from 54.5, target 56.0" in text


def test_it_tells_a_rejected_batch_and_strikes_through_what_was_decided_before(record, made, read):
    made.decide(read.id, "release", role="roaster")
    made.decide(read.id, "reject", "Burnt in the cup.")
    page = record(read.id)
    assert [e.text for e in page.find("del")] == ["Released"]
    text = text_of(page)
    assert "Rejected, Ada (lead)" in text
    assert "“Burnt in the cup.”" in text


def test_it_knows_that_a_lead_took_an_older_decision_that_says_no_role(record, made, read):
    made.decide(read.id, "concession", "As agreed.", role=None)
    assert "Released by concession, Ada (lead)" in text_of(record(read.id))


def test_it_names_the_parts_of_a_blend_and_what_was_expected_of_it(record, bench, made, read):
    dark = bench.batch("R-2")
    mixed = made.blend("MIX-1", {read.id: 7500, dark.id: 2500}, "Two of last week.", {"whole": (56.5, 0.4)})
    bench.sample(mixed, "whole", [56.6, 56.5, 56.7])
    text = text_of(record(mixed))
    assert "A blend of other batches" in text
    # 7.5 of 10.0 kg.
    assert re.search(r"Mixed from: R-1 \(7\.5 kg, 75.%\), R-2 \(2\.5 kg, 25.%\)", text)
    assert "“Two of last week.”" not in text
    assert "Two of last week." in text
    # U = 2 u (JCGM 100:2008, 6.2.1): 2 * 0.4.
    assert re.search(r"56\.5.±.0\.8 was expected of the blend", text)


def test_it_says_from_which_file_and_row_a_batch_was_taken(record, made):
    batch_id = made.imported("history 2024.csv", 17, code="OLD-1")
    assert re.search(r"Taken in from a file ?history 2024\.csv, row 17, Ada, ", text_of(record(batch_id)))


def test_it_says_what_a_blend_that_was_decided_on_became(record, made, read, bench):
    mixed = made.blend("MIX-2", {read.id: 1000}, "Alone.")
    blend_id = next(bench.db.query("SELECT id FROM blend WHERE batch_id = ?", (mixed,)))["id"]
    made.decide(read.id, "remeasure", "Once more.")
    made.decide(read.id, "blend", "It fits.", blend_id=blend_id)
    text = text_of(record(read.id))
    assert "To be read again" in text
    assert "Went into a blend, Ada (lead)" in text
    assert "blend MIX-2" in text


def test_it_waits_for_a_countersignature(record, bench):
    batch = bench.batch("H-1")
    bench.sample(batch.id, "whole", [56.2, 56.3, 56.1], role="trainee")
    assert "Read by a trainee, and not countersigned yet." in text_of(record(batch.id))


def test_it_shows_four_fills_of_ten_readings(record, bench):
    batch = bench.batch("L-1")
    bench.sample(batch.id, "whole", *[[56 + no / 10 for no in range(10)] for _fill in range(4)])
    page = record(batch.id)
    assert len(page.find("span", class_="one")) == 4 * 11
    assert "4 fills, 40 readings" in text_of(page)


def test_it_writes_numbers_as_a_german_bench_does(record, app, bench, read, monkeypatch):
    monkeypatch.setattr(app.extensions["babel"], "locale_selector", lambda: "de")
    text = text_of(record(read.id))
    for said in ("15,0 %", "12,0 kg", "56,2 ± ", "54,5", "mean 56,30", "+0,07 as found"):
        assert said in text, said
    # No number with a point is left: of what stands there one is the version of the software, the rest are times.
    body = text.split("Made on")[0]
    assert re.findall(r"(?<![\w.:])\d+\.\d+(?![\w.:])", body) == []


def test_it_shows_a_trainee_no_way_to_a_copy(record, read):
    copies = f"/batches/{read.id}/record/choose"
    assert copies not in {e.attrs.get("href") for e in record(read.id).find("a")}
    assert copies in {e.attrs.get("href") for e in record(read.id, "roaster").find("a")}


def test_it_knows_no_batch_that_is_not_there(sign_in):
    assert sign_in("lead").get(f"/batches/{uuid.uuid4()}/record").status_code == 404
    assert sign_in("lead").get(f"/batches/{uuid.uuid4()}/record/copy").status_code == 404


def test_it_is_linked_from_the_batch(sign_in, read):
    links = {e.attrs.get("href") for e in sign_in("trainee").page(f"/batches/{read.id}").find("a")}
    assert f"/batches/{read.id}/record" in links


def test_it_keeps_what_people_have_typed_from_running(record, bench, made):
    batch = made.batch("<b>x</b>", note="<script>alert(1)</script>")
    with write(bench.db):
        bench.db.conn.execute("UPDATE product SET name = '<i>Long</i>'")
    page = record(batch.id)
    assert "<script>alert(1)</script>" in text_of(page)
    assert not page.find("b")
    assert not page.find("i")
