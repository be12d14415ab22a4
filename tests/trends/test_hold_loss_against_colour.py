"""Roast loss as a second witness: who is pointed at, and what is said while nothing can be."""

import random
import uuid
from datetime import timedelta

import pytest

from webapp.store import batches, gear, witnesses
from webapp.store.batches import NewBatch
from webapp.store.times import to_text

SEED = 20260521


@pytest.fixture
def weigh(bench):
    """weigh([(loss, whole), ...]) measures one batch for each, an hour apart; loss None: the mass was not written
    down. `ground`: how much lighter the ground coffee reads, None for not read."""

    def made(pairs, machine=None, name="W", ground=None):
        found = []
        for no, (loss, value) in enumerate(pairs):
            at = bench.now - timedelta(hours=len(pairs) - no)
            roasted = None if loss is None else round(12000 * (1 - loss / 100))
            new = NewBatch(
                str(uuid.uuid4()), f"{name}-{no:02}", bench.product, machine or bench.machine, "Lot 1", 12000, roasted,
                2050, 690, 105, "", to_text(at), to_text(at),
            )  # fmt: skip
            batch = batches.add_batch(bench.db, new, bench.who(), at)
            bench.sample(batch.id, "whole", [round(value, 1)] * 3, at=at + timedelta(minutes=5))
            if ground is not None:
                bench.sample(batch.id, "ground", [round(value + ground, 1)] * 3, at=at + timedelta(minutes=9))
            found.append(batch)
        return found

    return made


def pairs(many, slope=-3.0, seed=SEED):
    print(f"seed {seed}")
    draw = random.Random(seed)
    losses = [draw.gauss(15, 0.3) for _ in range(many)]
    return [(loss, 56 + slope * (loss - 15) + draw.gauss(0, 0.3)) for loss in losses]


def text_of(page):
    return page.find("main")[0].text


@pytest.fixture
def look(sign_in, bench):
    return lambda query="": sign_in("trainee").page(f"/trends/{bench.product}/witness{query}")


def test_it_says_that_loss_and_colour_agree(look, weigh):
    weigh(pairs(30))
    page = look()
    assert "Loss and colour agree." in text_of(page)
    assert "30 batches of Machine 1" in text_of(page)
    assert "disagrees" not in [e.text for e in page.find("strong")]


def test_it_points_at_a_mix_up_and_says_where_to_look(look, bench, db, weigh):
    known = pairs(30)
    known[11] = (known[11][0] + 2, known[11][1])
    there = weigh(known)
    page = look()
    assert "look at what was weighed first" in text_of(page)
    assert "Loss and colour of W-11 disagree: look at the scale, the sampling, or whether two batches were" in (
        text_of(page)
    )
    assert [a.attrs["href"] for a in page.find("a") if a.text == "W-11"][0] == f"/batches/{there[11].id}/result"
    [one] = witnesses.disagreeing(db, bench.product)
    assert (one.point.batch_id, one.kind) == (there[11].id, "whole")


def test_it_prefers_ground_coffee(look, weigh):
    weigh(pairs(20), ground=5.0)
    assert "20 batches of Machine 1 with roast loss and colour, Ground." in text_of(look())
    assert "20 batches of Machine 1 with roast loss and colour, Whole bean." in text_of(look("?kind=whole"))


def test_it_says_how_many_are_missing(look, weigh):
    weigh([*pairs(14), (None, 56.0)])
    text = text_of(look())
    assert "Too few batches with a roast loss." in text
    assert "1 more is needed." in text
    assert "1 batch is left out: its green or roasted mass was not written down." in text


def test_it_says_so_when_the_loss_is_always_the_same(look, weigh):
    weigh([(15.0, value) for _loss, value in pairs(20)])
    assert "The roast loss is always the same, or the colour." in text_of(look())


def test_it_says_so_when_the_loss_tells_nothing(look, bench, db, weigh):
    known = pairs(25, slope=0)
    known[3] = (known[3][0], 60.0)
    weigh(known)
    assert "The roast loss is no witness here." in text_of(look())
    assert witnesses.disagreeing(db, bench.product) == []


def test_it_keeps_machines_apart(look, bench, db, weigh):
    # At the same colour the other machine loses 1.5 % less: in one line, all of them would blur it.
    other = gear.add_machine(db, "Machine 2", bench.who("lead"), bench.now)
    weigh([(loss - 1.5, value) for loss, value in pairs(20, seed=SEED + 1)], machine=other, name="V")
    bench.now += timedelta(minutes=1)
    weigh(pairs(20))
    assert "20 batches of Machine 1" in text_of(look())
    assert "20 batches of Machine 2" in text_of(look(f"?machine={other}"))
    assert witnesses.disagreeing(db, bench.product) == []


def test_it_says_so_when_nothing_was_read(look):
    assert "Nothing read yet." in text_of(look())


def test_it_takes_nothing_unknown_out_of_the_address(look, weigh):
    weigh(pairs(16))
    assert "16 batches of Machine 1" in text_of(look("?machine=none&kind=other"))
