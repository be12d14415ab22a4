"""How the colour answers to the roast: shown from fifteen batches of one machine; a size only where a signal stands."""

import uuid
from datetime import timedelta

import pytest

from webapp.store import batches, gear
from webapp.store.batches import NewBatch
from webapp.store.times import to_text
from webapp.store.trends import ALL
from webapp.trends import roast as answering
from webapp.trends import run


@pytest.fixture
def drop(bench):
    """drop([(temperature, value), ...]) measures one batch for each, an hour apart."""

    def made(pairs, machine=None):
        for no, (degrees, value) in enumerate(pairs):
            at = bench.now - timedelta(hours=len(pairs) - no)
            new = NewBatch(
                str(uuid.uuid4()), f"D-{no:02}", bench.product, machine or bench.machine, "Lot 1", 12000, 10200,
                round(degrees * 10), 690, 105, "", to_text(at), to_text(at),
            )  # fmt: skip
            batch = batches.add_batch(bench.db, new, bench.who(), at)
            bench.sample(batch.id, "whole", [round(value, 1)] * 3, at=at + timedelta(minutes=5))

    return made


def answers(bench):
    return answering.answers(run.look_at(bench.db, bench.product, "whole", ALL, 100))


def line(many, low=203.0):
    """Half a unit darker for each degree, with a scatter that repeats."""
    found = []
    for no in range(many):
        degrees = low + no % 5
        found.append((degrees, 56 - 0.5 * (degrees - 205) + (0.1, -0.1, 0.0)[no % 3]))
    return found


def test_it_says_nothing_before_fifteen_batches(bench, drop):
    drop(line(14))
    assert answers(bench) == []


def test_it_finds_the_slope_and_leaves_out_what_never_changed(bench, drop):
    drop(line(20))
    [one] = answers(bench)
    assert one.what == "drop"
    assert one.line.slope == pytest.approx(-0.5, abs=0.05)
    assert one.line.clear
    # Nothing signals: nothing is to be changed.
    assert one.change is None


def test_it_takes_one_machine_alone(bench, drop):
    other = gear.add_machine(bench.db, "Machine 2", bench.who("lead"), bench.now)
    drop(line(20))
    drop(line(3), machine=other)
    assert answers(bench) == []


def test_it_says_how_much_only_after_a_signal_and_never_from_one_batch(bench, drop):
    # Warmer and warmer at the end, and darker: five batches on the dark side.
    late = [(208.5, 54.2), (208.5, 54.3), (208.4, 54.2), (208.6, 54.1), (208.5, 54.2)]
    drop([*line(25), *late[:1]])
    assert [one.change for one in answers(bench)] == [None]
    bench.now += timedelta(days=1)
    drop(late[1:])
    it = run.look_at(bench.db, bench.product, "whole", ALL, 100)
    assert it.advice.word == "changed"
    [one] = answers(bench)
    # About two units back to 56.0, at half a unit for each degree: about 3.6 degrees less.
    assert one.change.by == pytest.approx(-3.6, abs=0.5)
    assert one.change.known
    low, high = one.change.reads
    assert low < 56.0 < high


def test_it_tells_it_on_the_page(sign_in, bench, drop):
    drop(line(20))
    text = sign_in("trainee").page(f"/trends/{bench.product}/whole").find("main")[0].text
    assert "One degree more at the drop reads 0.5" in text
    assert "darker (0.4" in text
    assert "Machine 1" in text


def test_a_wrong_mass_does_not_turn_the_line_of_the_loss(bench):
    for no in range(20):
        at, more = bench.now - timedelta(hours=20 - no), 0.2 * (no % 5)
        loss = 14 + more + (2.5 if no == 9 else 0)
        new = NewBatch(
            str(uuid.uuid4()), f"L-{no:02}", bench.product, bench.machine, "Lot 1", 12000,
            round(12000 * (1 - loss / 100)), None, None, None, "", to_text(at), to_text(at),
        )  # fmt: skip
        batch = batches.add_batch(bench.db, new, bench.who(), at)
        value = round(56 - 2 * more + (0.1, -0.1, 0.0)[no % 3], 1)
        bench.sample(batch.id, "whole", [value] * 3, at=at + timedelta(minutes=5))
    [one] = answers(bench)
    assert (one.what, one.line.n) == ("loss", 19)
    assert one.line.slope == pytest.approx(-2, abs=0.2)
