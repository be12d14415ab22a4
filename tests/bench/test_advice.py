"""The advice beside a batch's verdict: of the newest batch alone, in one sentence, with what the log shows."""

import uuid
from datetime import timedelta

import pytest

from tests.support.pages import Page
from webapp.store import grinder_log, products, signal_notes
from webapp.store.products import TargetBand

STEADY = [
    56.2, 55.9, 56.1, 56.0, 55.8, 56.2, 56.0, 55.9, 56.1, 55.8, 56.2, 56.0, 56.1, 55.9, 56.0, 56.2, 55.8, 56.1, 55.9,
    56.0, 56.1, 55.9, 56.2, 55.8,
]  # fmt: skip


@pytest.fixture
def roast(bench):
    """roast(values) measures one batch for each value, an hour apart; ground five points lighter if wanted."""

    def made(values, ground=None):
        found = []
        for no, value in enumerate(values):
            at = bench.now - timedelta(hours=len(values) - no)
            batch = bench.batch(f"A-{no:03}", at=at)
            bench.sample(batch.id, "whole", [value] * 3, at=at + timedelta(minutes=5))
            if ground:
                bench.sample(batch.id, "ground", [ground[no]] * 3, at=at + timedelta(minutes=9))
            found.append(batch)
        return found

    return made


def advice(client, batch):
    """(class, text, address of the trend) of the advice on a batch's result; None without any."""
    page = Page(client.get(f"/batches/{batch.id}/result").text)
    there = next((e for e in page.elements if "data-advice" in e.attrs), None)
    if there is None:
        return None
    links = [e.attrs["href"] for e in page.elements if e.attrs.get("href", "").startswith("/trends/")]
    return there.attrs["class"].split()[-1], " ".join(there.text.split()), links


def test_it_leaves_a_steady_roast_alone(roast, sign_in, bench):
    look, text, links = advice(sign_in("roaster"), roast(STEADY)[-1])
    assert (look, text.split(":")[0]) == ("leave", "Leave the roast alone")
    assert links == [f"/trends/{bench.product}/whole"]


def test_it_says_it_to_a_trainee_too(roast, sign_in):
    assert advice(sign_in("trainee"), roast(STEADY)[-1])[0] == "leave"


def test_it_says_nothing_of_how_the_product_stands_beside_an_older_batch(roast, sign_in):
    made = roast(STEADY)
    assert advice(sign_in("roaster"), made[-2]) is None


def test_it_says_quietly_how_many_are_missing(roast, sign_in):
    look, text, links = advice(sign_in("roaster"), roast(STEADY[:17])[-1])
    assert (look, links) == ("early", [])
    assert "after 3 more batches" in text


def test_it_says_what_changed_and_what_the_log_shows_of_that_time(roast, sign_in, bench, db):
    made = roast([*STEADY, 56.0], [*(value + 5 for value in STEADY), 58.9])
    when = bench.now - timedelta(hours=1.5)
    grinder_log.add_event(db, str(uuid.uuid4()), bench.grinder, "burrs", None, "", bench.who("lead"), when)
    look, text, links = advice(sign_in("roaster"), made[-1])
    assert look == "changed"
    assert "Something changed: darker since A-024." in text
    assert "before you touch the roast" in text
    assert "New burrs: Grinder 1" in text
    assert links == [f"/trends/{bench.product}/ground"]


def test_it_says_what_is_known_so_that_nobody_hunts_it_twice(roast, sign_in, bench, db):
    made = roast([*STEADY, 54.2])
    note = signal_notes.NewNote(
        str(uuid.uuid4()), bench.product, "whole", made[-1].id, 1, "darker", "coffee", "New crop.", "", True
    )
    signal_notes.add_note(db, note, bench.who(), bench.now)
    look, text, _links = advice(sign_in("roaster"), made[-1])
    assert look == "known"
    assert "it is known" in text
    assert "another coffee" in text


def test_it_sends_to_whoever_is_looking_into_it(roast, sign_in, bench, db):
    made = roast([*STEADY, 54.2])
    note = signal_notes.NewNote(
        str(uuid.uuid4()), bench.product, "whole", made[-1].id, 1, "darker", "unknown", "Burner?", "", False
    )
    signal_notes.add_note(db, note, bench.who(), bench.now)
    look, text, _links = advice(sign_in("roaster"), made[-1])
    assert look == "changed"
    assert "Ask them before you touch the roast." in text
    assert "Look for what it was" not in text


def test_it_says_that_a_process_cannot_hold_its_band(roast, sign_in, bench, db):
    products.add_target_version(
        db, bench.product, bench.scale, "guarded", 0.8, None, None, [TargetBand("whole", 5590, 5600, 5610)], "Strict.",
        bench.who("lead"), bench.now - timedelta(days=3),
    )  # fmt: skip
    look, text, _links = advice(sign_in("roaster"), roast(STEADY)[-1])
    assert look == "off"
    assert "This process cannot hold this band." in text


def test_it_warns_from_chasing_one_batch(roast, sign_in, bench, db):
    """Out of a narrow band, within what chance explains, and twenty-four batches are too few to blame the process."""
    products.add_target_version(
        db, bench.product, bench.scale, "simple", 0.8, None, None, [TargetBand("whole", 5550, 5600, 5615)], "Other.",
        bench.who("lead"), bench.now - timedelta(days=3),
    )  # fmt: skip
    made = roast([*STEADY[:-1], 56.2])
    client = sign_in("roaster")
    assert "Out, lighter" in client.get(f"/batches/{made[-1].id}/result").text
    look, text, _links = advice(client, made[-1])
    assert look in ("leave", "off")
    assert ("One batch is no reason to move the roast" in text) == (look == "leave")
